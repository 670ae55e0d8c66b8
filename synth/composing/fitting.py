"""Fits painted layouts to the specification: sides, turns, stacking, the box.

Constructions paint with pins on the sides -x and +x and stack along y or z. A *frame* says how
such a layout is turned, and which sides that leaves for each pin.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import islice, product

from synth.composing.order import Side
from synth.composing.slices import linked_side
from synth.layout import Layout, Stack
from synth.layout.transform import ALL_SYMMETRIES, IDENTITY, mirrored, turned
from synth.medium import AXES, LEDGE, Direction, Role, Size, shifted
from synth.spec import Spec

MOST_PLACES = 64
"""The most ways in which a layout is put into a box whose cells are asked."""


@dataclass(frozen=True)
class Frame:
    """A way to turn what a construction paints.

    Attributes:
        quarters: quarter turns about z, +x to +y.
        stack: the axis of stacking before the turn.
        sides: for each pin the sides it may be on before the turn, the better one first.
    """

    quarters: int
    stack: str | None
    sides: Mapping[str, tuple[Side, ...]]

    def places(self, spec: Spec) -> dict[str, tuple[int, int]]:
        """For pins whose cell is asked: its x before the turn, and its height."""
        along = 1 if self.quarters else 0
        asked = {name: ask.at for name, ask in spec.pins.items()}
        return {name: (at[along], at[2]) for name, at in asked.items() if at is not None}

    def end(self, spec: Spec) -> int:
        """The place of the right side before the turn, if the exact size of the box is asked."""
        limits = spec.limits
        asked = limits.width if self.quarters else limits.length
        return asked - 1 if asked is not None and (spec.empty or spec.fixed) else 0

    def choices(self, most: int = 4) -> list[dict[str, Side]]:
        """Sides for all pins: the better one for each, then other combinations."""
        first = {name: sides[0] for name, sides in self.sides.items()}
        found = [first]
        free = [name for name, sides in self.sides.items() if len(sides) > 1]
        for mask in islice(product((False, True), repeat=len(free)), 1, 1 << 10):
            if len(found) == most:
                break
            turned_round = {name for name, turn in zip(free, mask, strict=True) if turn}
            found.append(
                {name: side.other if name in turned_round else side for name, side in first.items()}
            )
        return found


def frames(spec: Spec) -> list[Frame]:
    """Every frame in which each pin has a side; the one without a turn comes first."""
    if spec.chain:
        return _chained_frames(spec)
    asked = spec.stack.axis if spec.stack else None
    found = []
    for quarters in (0, 1):
        stack = asked
        if asked in ("x", "y"):
            stack = asked if quarters == 0 else {"x": "y", "y": "x"}[asked]
            if stack == "x":
                continue
        faces = {side: _turned_face(side.face, quarters) for side in Side}
        sides = {}
        for name in spec.pin_names:
            better = Side.LEFT if spec.role(name) is Role.INPUT else Side.RIGHT
            both = (better, better.other)
            sides[name] = tuple(side for side in both if faces[side] in spec.faces(name))
        if all(sides.values()):
            found.append(Frame(quarters, stack, sides))
    return found


def _chained_frames(spec: Spec) -> list[Frame]:
    """Of a chain along x before the turn; all pins but those of links are on one face across."""
    assert spec.stack is not None
    quarters = 1 if spec.stack.axis == "y" else 0
    across = Direction.PX if quarters else Direction.NY
    sides = {}
    for name in spec.pin_names:
        linked = linked_side(spec.chain, name)
        if linked is None and not {across, across.opposite} & set(spec.faces(name)):
            return []
        plain = Side.LEFT if spec.role(name) is Role.INPUT else Side.RIGHT
        sides[name] = (linked or plain,)
    return [Frame(quarters, "x", sides)]


def _turned_face(face: Direction, quarters: int) -> Direction:
    return {Direction.NX: Direction.NY, Direction.PX: Direction.PY}[face] if quarters else face


def fitted(layout: Layout, spec: Spec, frame: Frame) -> Iterator[Layout]:
    """A painted layout as asked: turned, stacked, and in the box that its cells require.

    There may be several, if cells are asked to be empty or fixed, or pins to be on certain cells.
    """
    own = turned(layout, frame.quarters) if frame.quarters else layout
    if spec.chain and any(pin.face not in spec.faces(pin.name) for pin in own.pins):
        own = mirrored(own, "x" if frame.quarters else "y")
    if not (spec.empty or spec.fixed or any(ask.at for ask in spec.pins.values())):
        yield _stacked(_on_the_ground(own) if own.ground else own, spec)
        return
    yield from islice(_placed(own, spec), MOST_PLACES)


def _on_the_ground(layout: Layout) -> Layout:
    """The layout without its lowest ledges, if nothing else is as low: ground does as well."""
    lowest = [block for cell, block in layout.cells.items() if cell[2] == 0]
    if any(block != LEDGE for block in lowest) or any(pin.at[2] == 0 for pin in layout.pins):
        return layout
    length, width, height = layout.size
    return layout.replace(
        size=(length, width, height - 1),
        cells={(x, y, z - 1): block for (x, y, z), block in layout.cells.items() if z},
        pins=tuple(replace(pin, at=(*pin.at[:2], pin.at[2] - 1)) for pin in layout.pins),
    )


def _stacked(layout: Layout, spec: Spec) -> Layout:
    """The layout with the stacking asked, the name, and pins in the specification's order."""
    names = spec.pin_names
    pins = tuple(sorted(layout.pins, key=lambda pin: names.index(pin.name)))
    stack = None
    if spec.stack is not None:
        if spec.stack.axis == "z":
            layout = _high_enough(layout)
        size = layout.size[AXES.index(spec.stack.axis)]
        stack = Stack(spec.stack.axis, spec.stack.pitch or size, spec.stack.chain)
    return layout.replace(pins=pins, stack=stack, name=spec.name)


def _high_enough(layout: Layout) -> Layout:
    """The layout, so high that pins of copies on top of it are two cells apart (section 6)."""
    heights = [pin.at[2] for pin in layout.pins]
    length, width, height = layout.size
    return layout.replace(size=(length, width, max(height, max(heights) - min(heights) + 2)))


def _placed(layout: Layout, spec: Spec) -> Iterator[Layout]:
    """The layout in the box asked, in every place where pins and cells are as asked."""
    exact = bool(spec.empty or spec.fixed)
    for symmetry in (IDENTITY, *(item for item in ALL_SYMMETRIES if item != IDENTITY)):
        image = symmetry(layout)
        if not all(pin.face in spec.faces(pin.name) for pin in image.pins):
            continue
        for offset in _offsets(image, spec, exact):
            cells = {shifted(cell, offset): block for cell, block in image.cells.items()}
            if any(cell in spec.empty for cell in cells):
                continue
            if any(cells.get(cell, block) != block for cell, block in spec.fixed.items()):
                continue
            cells |= dict(spec.fixed)
            moved = [(pin, shifted(pin.at, offset)) for pin in image.pins]
            if any(spec.pins[pin.name].at not in (None, at) for pin, at in moved):
                continue
            size = _box(image, spec, offset, exact)
            try:
                made = image.replace(
                    size=size,
                    cells=cells,
                    pins=tuple(
                        type(pin)(pin.name, pin.role, at, pin.face, pin.joint) for pin, at in moved
                    ),
                )
            except ValueError:
                continue  # A pin's face no longer leads out of the box.
            yield _stacked(made, spec)


def _box(image: Layout, spec: Spec, offset: tuple[int, int, int], exact: bool) -> Size:
    if exact:
        limits = spec.limits
        assert limits.length is not None
        assert limits.width is not None
        assert limits.height is not None
        return (limits.length, limits.width, limits.height)
    length, width, height = (side + step for side, step in zip(image.size, offset, strict=True))
    return (length, width, height)


def _offsets(image: Layout, spec: Spec, exact: bool) -> Iterator[tuple[int, int, int]]:
    """How far the layout may be moved: to the cells asked of its pins, or anywhere in the box."""
    for pin in image.pins:
        at = spec.pins[pin.name].at
        if at is not None:
            x, y, z = (to - own for to, own in zip(at, pin.at, strict=True))
            if min(x, y, z) >= 0:
                yield (x, y, z)
            return
    if not exact:
        yield (0, 0, 0)
        return
    sides = (spec.limits.length, spec.limits.width, spec.limits.height)
    room = [(side or own) - own for side, own in zip(sides, image.size, strict=True)]
    if min(room) < 0:
        return
    for z, y, x in product(range(room[2] + 1), range(room[1] + 1), range(room[0] + 1)):
        yield (x, y, z)
