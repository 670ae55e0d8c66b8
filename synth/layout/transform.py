"""Turning, mirroring, moving and repeating a layout.

The medium treats the four level directions alike and nothing in it has a hand, so every turn
about z and every mirror along x or y gives a layout that behaves the same (section 3 to 7). It
does not treat up and down alike, so there is no more than these eight symmetries. A chain hands
its signals on along +x or +y (section 11): of it only those images are layouts in which it still
does, ``images_of``.

Every function returns a new layout; names and order of pins stay unless stated.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from synth.errors import InputError
from synth.layout.documents import check_size
from synth.layout.layout import Layout
from synth.layout.made_for import MadeFor
from synth.layout.pins import Pin
from synth.medium import AXES, Block, Cell, Direction, Role, Size, shifted, with_place

MOST_INPUTS = 8
"""Most inputs of a function that a layout says it was made for: those of a specification."""

_TURN = {
    Direction.PX: Direction.PY,
    Direction.PY: Direction.NX,
    Direction.NX: Direction.NY,
    Direction.NY: Direction.PX,
}
_TURNED_AXIS = {"x": "y", "y": "x", "z": "z"}


@dataclass(frozen=True, slots=True, order=True)
class Symmetry:
    """One of the eight: first mirrored along x, if so, then turned ``quarters`` quarter turns."""

    quarters: int
    mirror: bool

    def __call__(self, layout: Layout) -> Layout:
        """The image of ``layout``."""
        return turned(mirrored(layout, "x") if self.mirror else layout, self.quarters)

    def way(self, way: Direction) -> Direction:
        """Where a direction goes."""
        if self.mirror and way.axis == "x":
            way = way.opposite
        for _ in range(self.quarters):
            way = _TURN.get(way, way)
        return way


IDENTITY = Symmetry(0, False)
ALL_SYMMETRIES = tuple(
    Symmetry(quarters, mirror) for mirror in (False, True) for quarters in range(4)
)


def turned(layout: Layout, quarters: int = 1) -> Layout:
    """The layout turned about z by quarter turns, counterclockwise seen from above: +x to +y.

    Negative numbers turn the other way. The axis it stacks along turns with it.
    """
    for _ in range(quarters % 4):
        layout = _turned_once(layout)
    return layout


def mirrored(layout: Layout, axis: str) -> Layout:
    """The layout mirrored along ``axis``: its cells counted from the other end.

    Raises:
        InputError: for z: upside down the medium does not behave the same (sections 2 and 3).
    """
    if axis == "z":
        raise InputError(
            "no mirror along z: up and down differ in the medium, parts rest on what lies below "
            "them and a wire descends only from a solid",
            way_out="mirror along x or y",
        )
    index = _axis_index(axis, "xy")
    last = layout.size[index] - 1

    def flip_cell(cell: Cell) -> Cell:
        return with_place(cell, index, last - cell[index])

    def flip(way: Direction) -> Direction:
        return way.opposite if way.axis == axis else way

    return _mapped(layout, layout.size, flip_cell, flip)


def moved(layout: Layout, offset: Cell, size: Size | None = None) -> Layout:
    """The layout with every part and pin moved by ``offset`` cells, in a box of ``size``.

    ``size`` is the layout's own when left out. A pitch grows with the box, if it must, so that
    it is never less than the box's size on its axis (section 7).

    Raises:
        InputError: if a part or pin leaves the box, or the face of a pin no longer leads out.
    """
    box = layout.size if size is None else size
    check_size(box)
    stack = layout.stack
    if stack is not None:
        stack = replace(stack, pitch=max(stack.pitch, box[AXES.index(stack.axis)]))
    return _mapped(layout, box, lambda cell: shifted(cell, offset), _same, stack=stack)


def trimmed(layout: Layout) -> Layout:
    """The layout in the smallest box around its parts and the cells of its pins.

    A pin's face still leads out: its cell is the outermost of the old box, and counts. The
    pitch stays, so that a stack of it is the same stack. A layout on ground keeps its lowest
    level, since the height above ground matters to it (section 8). An empty layout without
    pins becomes one empty cell.
    """
    occupied = [*layout.cells, *(pin.at for pin in layout.pins)] or [(0, 0, 0)]
    x, y, z = (min(cell[axis] for cell in occupied) for axis in range(3))
    if layout.ground:
        z = 0
    ends = [max(cell[axis] for cell in occupied) for axis in range(3)]
    size = (ends[0] - x + 1, ends[1] - y + 1, ends[2] - z + 1)
    return _mapped(layout, size, lambda cell: shifted(cell, (-x, -y, -z)), _same)


def numbered(name: str, copy: int) -> str:
    """``a_3``: what pin ``a`` of copy 3 of a row is called."""
    return f"{name}_{copy}"


def bus_bit(name: str, copy: int) -> str:
    """``a[3]``: pin ``a`` of copy 3 of a row as a bit of a bus.

    Raises:
        InputError: if it is a bit of a bus already.
    """
    if name.endswith("]"):
        raise InputError(
            f"pin {name!r} is a bit of a bus already", place="pins", way_out="make a row of slices"
        )
    return f"{name}[{copy}]"


def repeated(
    layout: Layout,
    axis: str,
    copies: int,
    pitch: int | None = None,
    named: Callable[[str, int], str] = numbered,
    longest: int | None = None,
) -> Layout:
    """One layout of ``copies`` copies along ``axis``, one every ``pitch`` cells.

    ``pitch`` is, when left out, that of the layout's own stack if it is along ``axis``, else
    the box's size. The result's own ``stack`` is None.

    Pin ``a`` of copy 3, counted from 0, becomes ``a_3``; pins come copy by copy. Names cannot
    clash: a new name ends in ``_`` and decimal digits without leading zeros, which hold no
    ``_``; cut at its last ``_`` it gives back the old name and the number of the copy. So
    equal new names come from the same pin of the same copy. ``named`` may say otherwise. What a
    layout was made for is said of every copy, as far as that can be said of so many inputs.

    A chain along the axis (section 11) is joined: only the first copy has the inputs of its links,
    and the last one the outputs, under their own names; nothing is said of what that was made for.

    ``longest`` cells it may be along the axis; None: as long as a layout document may say.

    Raises:
        InputError: if the result would be larger than a layout may be, the pitch is less than
            the box's size, a pin faces along the axis, or a layout on ground is to be
            repeated along z (section 7).
    """
    index = _axis_index(axis, "xyz")
    side = layout.size[index]
    if copies < 1:
        raise InputError(f"{copies} copies", way_out="use 1 or more")
    if pitch is None:
        own = layout.stack is not None and layout.stack.axis == axis
        pitch = layout.stack.pitch if layout.stack is not None and own else side
    if pitch < side:
        raise InputError(
            f"a pitch of {pitch} is less than the box's {side} cells along {axis}",
            way_out=f"use {side} or more",
        )
    if layout.ground and axis == "z" and copies > 1:
        raise InputError(
            "a layout on ground does not stack along z (section 7)", way_out="stack along x or y"
        )
    stack = layout.stack if layout.stack is not None and layout.stack.axis == axis else None
    linked = {pin.name for pin in layout.pins if stack is not None and stack.linked(pin.name)}
    for pin in layout.pins:
        if pin.face.axis == axis and copies > 1 and pin.name not in linked:
            raise InputError(
                f"pin {pin.name!r} faces {pin.face}, along the stacking axis (section 7)",
                way_out="put it on another face or stack along another axis",
            )
    size = with_place(layout.size, index, pitch * (copies - 1) + side)
    if longest is None:
        check_size(size)
    elif size[index] > longest:
        raise InputError(
            f"a row of {size[index]:,} cells", way_out=f"use at most {longest // pitch:,} copies"
        )
    cells: dict[Cell, Block] = {}
    pins: list[Pin] = []
    for copy in range(copies):
        offset = with_place((0, 0, 0), index, copy * pitch)
        cells |= {shifted(cell, offset): block for cell, block in layout.cells.items()}
        for pin in layout.pins:
            if pin.name not in linked:
                name = named(pin.name, copy)
            elif copy == (0 if pin.role is Role.INPUT else copies - 1):
                name = pin.name
            else:
                continue
            pins.append(Pin(name, pin.role, shifted(pin.at, offset), pin.face, pin.joint))
    return layout.replace(
        size=size,
        cells=cells,
        pins=tuple(pins),
        stack=None,
        made_for=None if linked else _repeated_purpose(layout, copies, named),
    )


def _repeated_purpose(
    layout: Layout, copies: int, named: Callable[[str, int], str]
) -> MadeFor | None:
    """What a row of copies was made for; None where no function has so many inputs."""
    kept = layout.made_for
    if kept is None or not isinstance(kept.function, str):
        return None
    if len(layout.inputs) * copies > MOST_INPUTS:
        return None
    rows = [
        kept.renamed({pin.name: named(pin.name, copy) for pin in layout.pins}).function
        for copy in range(copies)
    ]
    return MadeFor("; ".join(map(str, rows)), kept.delay)


def canonical(layout: Layout) -> Layout:
    """The representative of all turns, mirrors and moves of a layout; names are kept.

    It is trimmed, and the least of its images. Moves are those that keep the pitch: with
    another pitch it would be another stack.
    """
    small = trimmed(layout)
    return min((symmetry(small) for symmetry in images_of(small)), key=_order)


def images_of(layout: Layout) -> tuple[Symmetry, ...]:
    """The symmetries whose image is the same layout to a builder, those of a chain forwards."""
    stack = layout.stack
    if stack is None or not stack.chain:
        return ALL_SYMMETRIES
    return tuple(
        symmetry
        for symmetry in ALL_SYMMETRIES
        if symmetry.way(stack.forwards).value.startswith("+")
    )


def same_up_to_symmetry(first: Layout, second: Layout) -> bool:
    """Whether turns, mirrors and moves make one layout of the other, pins included."""
    return canonical(first) == canonical(second)


def symmetries(layout: Layout) -> tuple[Symmetry, ...]:
    """The symmetries that leave the layout as it is, box and pins included; the first is none."""
    return tuple(symmetry for symmetry in images_of(layout) if symmetry(layout) == layout)


def _turned_once(layout: Layout) -> Layout:
    length, width, height = layout.size
    stack = layout.stack
    if stack is not None:
        stack = replace(stack, axis=_TURNED_AXIS[stack.axis])
    return _mapped(
        layout,
        (width, length, height),
        lambda cell: (width - 1 - cell[1], cell[0], cell[2]),
        lambda way: _TURN.get(way, way),
        stack=stack,
    )


def _mapped(
    layout: Layout,
    size: Size,
    cell_to: Callable[[Cell], Cell],
    way_to: Callable[[Direction], Direction],
    **changes: Any,
) -> Layout:
    """The layout with every cell and direction carried over to a box of ``size``."""
    return layout.replace(
        size=size,
        cells={cell_to(cell): _facing(block, way_to) for cell, block in layout.cells.items()},
        pins=tuple(
            Pin(pin.name, pin.role, cell_to(pin.at), way_to(pin.face), pin.joint)
            for pin in layout.pins
        ),
        pieces=tuple(piece.moved(cell_to) for piece in layout.pieces),
        **changes,
    )


def _facing(block: Block, way_to: Callable[[Direction], Direction]) -> Block:
    if block.facing is None:
        return block
    return Block(block.part, way_to(block.facing), block.delay)


def _same(way: Direction) -> Direction:
    return way


def _axis_index(axis: str, allowed: str) -> int:
    if axis not in tuple(allowed):
        raise InputError(f"no axis {axis!r}", way_out=f"use one of {', '.join(allowed)}")
    return AXES.index(axis)


def _order(layout: Layout) -> tuple[Any, ...]:
    """A key that orders the images of one layout; images with equal keys are equal."""
    return (
        layout.size,
        tuple((cell, block.order) for cell, block in layout.cells.items()),
        tuple((pin.at, pin.face) for pin in layout.pins),
        layout.stack.axis if layout.stack else "",
    )
