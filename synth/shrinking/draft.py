"""A draft: a layout from which something was cut out, or into which room was put, not yet healed.

A **seam** says for every line of cells along an axis which cell of it goes. A straight seam is a
slice; a jagged one takes other cells from other lines, where less is broken. Whatever is broken, by
the cut itself or because lines beside each other moved apart, is noted as *hurt*; a window around
what is hurt may heal it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from synth.encoding.geometry import Slot
from synth.layout import Layout, Pin
from synth.medium import AXES, Block, Cell, Part, Size
from synth.shrinking.aim import Aim, Pinning

ACTIVE = frozenset((Part.WIRE, Part.INVERTER, Part.BUFFER))
"""Parts that pass a signal on."""

INSULATORS = frozenset((Part.CLEAR, Part.LEDGE))
"""Parts that only carry others."""

Line = tuple[int, int]
"""The coordinates of a line of cells across its axis, in the order of axes."""

Seam = Mapping[Line, int]
"""Which cell of every line along an axis goes."""


@dataclass(frozen=True)
class Draft:
    """Cells and pins in a box, right or not.

    Attributes:
        size: the box.
        cells: what it holds.
        pins: where each pin sits.
        hurt: cells at which something is broken.
        fresh: cells that were put in and hold nothing yet.
        starts: where each pin sat in the layout.
        origin: for each cell the cell of the layout that it was, where it was one.
    """

    size: Size
    cells: Mapping[Cell, Block]
    pins: Mapping[str, Slot]
    hurt: frozenset[Cell] = frozenset()
    fresh: frozenset[Cell] = frozenset()
    starts: Mapping[str, Slot] = field(default_factory=dict)
    origin: Mapping[Cell, Cell] = field(default_factory=dict)

    @staticmethod
    def of(layout: Layout) -> Draft:
        """A layout as it is."""
        pins = {pin.name: Slot(pin.at, pin.face) for pin in layout.pins}
        origin = {cell: cell for cell in layout.cells}
        return Draft(layout.size, layout.cells, pins, starts=pins, origin=origin)

    @property
    def volume(self) -> int:
        """Cells of the box."""
        return self.size[0] * self.size[1] * self.size[2]

    def layout(self, aim: Aim, like: Layout) -> Layout:
        """The draft as a layout with the joints, stacking and ground of another."""
        stack = like.stack
        if stack is not None:
            asked = aim.spec.stack
            pitch = None if asked is None else asked.pitch
            stack = replace(stack, pitch=pitch or self.size[AXES.index(stack.axis)])
        pins = tuple(
            Pin(pin.name, pin.role, self.pins[pin.name].cell, self.pins[pin.name].face, pin.joint)
            for pin in like.pins
        )
        return Layout(self.size, self.cells, pins, stack, like.ground, like.name)


def lines_of(size: Size, axis: int) -> list[Line]:
    """Every line along an axis."""
    first, second = (cells for index, cells in enumerate(size) if index != axis)
    return [(a, b) for a in range(first) for b in range(second)]


def cell_at(line: Line, axis: int, at: int) -> Cell:
    """The cell of a line."""
    found = [*line]
    found.insert(axis, at)
    return (found[0], found[1], found[2])


def line_of(cell: Cell, axis: int) -> Line:
    """The line along an axis that a cell lies on."""
    first, second = (at for index, at in enumerate(cell) if index != axis)
    return (first, second)


def resized(size: Size, axis: int, by: int) -> Size:
    """A box longer or shorter along an axis."""
    found = [*size]
    found[axis] += by
    return (found[0], found[1], found[2])


def cut(draft: Draft, axis: int, seam: Seam, aim: Aim) -> Draft | None:
    """The draft without the cells of a seam; None if a pin then has no place."""
    size = resized(draft.size, axis, -1)

    def moved(cell: Cell) -> Cell:
        at = cell[axis]
        shift = at > seam[line_of(cell, axis)]
        return cell_at(line_of(cell, axis), axis, min(at - shift, size[axis] - 1))

    kept = _kept(draft, axis, seam)
    pins, hurt = {}, {moved(cell) for cell in draft.hurt}
    for name, slot in draft.pins.items():
        place = _pin_after(name, slot, axis, size, moved(slot.cell), aim)
        if place is None:
            return None
        if place.cell != moved(slot.cell) or slot.cell[axis] == seam[line_of(slot.cell, axis)]:
            hurt.add(place.cell)
        pins[name] = place
    hurt |= hurt_by(draft, axis, seam)
    return Draft(
        size=size,
        cells={new: draft.cells[old] for old, new in kept.items()},
        pins=pins,
        hurt=frozenset(hurt),
        fresh=frozenset(moved(c) for c in draft.fresh if c[axis] != seam[line_of(c, axis)]),
        starts=draft.starts,
        origin={new: draft.origin[old] for old, new in kept.items() if old in draft.origin},
    )


def _kept(draft: Draft, axis: int, seam: Seam) -> dict[Cell, Cell]:
    """Where the parts that stay are after a cut, by where they were."""
    one, other = (at for at in range(3) if at != axis)
    dx, dy, dz = (int(at == axis) for at in range(3))
    found = {}
    for cell in draft.cells:
        gone, at = seam[cell[one], cell[other]], cell[axis]
        if at < gone:
            found[cell] = cell
        elif at > gone:
            found[cell] = (cell[0] - dx, cell[1] - dy, cell[2] - dz)
    return found


def _pin_after(name: str, slot: Slot, axis: int, size: Size, moved: Cell, aim: Aim) -> Slot | None:
    """Where a pin sits once the box is another: at the face, and where it may."""
    cell = moved
    if aim.pinning is Pinning.FIXED and AXES[axis] != slot.face.axis:
        # It keeps its place on the face, whatever moved there.
        cell = slot.cell
    face_axis = AXES.index(slot.face.axis)
    edge = size[face_axis] - 1 if slot.face.vector[face_axis] > 0 else 0
    place = Slot(cell_at(line_of(cell, face_axis), face_axis, edge), slot.face)
    inside = all(0 <= at < side for at, side in zip(place.cell, size, strict=True))
    return place if inside and aim.admits_slot(name, place, size) else None


def hurt_by(draft: Draft, axis: int, seam: Seam) -> set[Cell]:
    """What a cut breaks, as cells of the smaller box."""
    size = draft.size
    last = size[axis] - 2
    hurt: set[Cell] = set()
    for line, at in seam.items():
        if line_hurts(draft.cells, axis, line, at):
            hurt |= {cell_at(line, axis, place) for place in (at - 1, at) if 0 <= place <= last}
        for other in ((line[0] + 1, line[1]), (line[0], line[1] + 1)):
            if other in seam:
                one, beside = (line, at), (other, seam[other])
                for place in sheared(draft.cells, axis, one, beside):
                    hurt.add(cell_at(line, axis, place))
                    hurt.add(cell_at(other, axis, place))
                for place in parted(draft.cells, axis, one, beside):
                    for own, gone in (one, beside):
                        hurt.add(cell_at(own, axis, place - (place > gone)))
    return hurt


def line_hurts(cells: Mapping[Cell, Block], axis: int, line: Line, at: int) -> bool:
    """Whether taking one cell out of a line breaks anything along the line itself."""
    gone = cells.get(cell_at(line, axis, at))
    before = cells.get(cell_at(line, axis, at - 1))
    after = cells.get(cell_at(line, axis, at + 1))
    if gone is None:
        return before is not None and after is not None
    alike = gone in (before, after)
    return not alike or gone.part is Part.INVERTER


def sheared(
    cells: Mapping[Cell, Block], axis: int, one: tuple[Line, int], other: tuple[Line, int]
) -> list[int]:
    """Where two lines beside each other meet anew because a seam takes other cells of them."""
    (line, at), (beside, place) = one, other
    if at == place:
        return []
    low, high = min(at, place), max(at, place)
    early, late = (line, beside) if at < place else (beside, line)
    return [
        new
        for new in range(low, high)
        if cell_at(early, axis, new + 1) in cells and cell_at(late, axis, new) in cells
    ]


def parted(
    cells: Mapping[Cell, Block], axis: int, one: tuple[Line, int], other: tuple[Line, int]
) -> list[int]:
    """Where two lines beside each other no longer meet because a seam takes other cells of them.

    Only where the parts may have to do with each other (``joined``).
    """
    (line, at), (beside, place) = one, other
    upright = axis != 2 and line[1] != beside[1]
    found = []
    for between in range(min(at, place) + 1, max(at, place)):
        block = cells.get(cell_at(line, axis, between))
        if block is None:
            continue
        next_to = cells.get(cell_at(beside, axis, between))
        if next_to is not None and joined(block, next_to, upright=upright):
            found.append(between)
    return found


def joined(block: Block, other: Block, *, upright: bool) -> bool:
    """Whether two parts that are neighbours may have to do with each other: carry, host, link.

    Args:
        block: one.
        other: the other.
        upright: whether one lies above the other.
    """
    if block.part not in ACTIVE and other.part not in ACTIVE:
        return False
    return upright or not INSULATORS & {block.part, other.part}


def widened(draft: Draft, axis: int, at: int, aim: Aim) -> Draft | None:
    """The draft with an empty slice put in before place ``at``; None if a pin has no place."""
    size = resized(draft.size, axis, 1)

    def moved(cell: Cell) -> Cell:
        return cell_at(line_of(cell, axis), axis, cell[axis] + (cell[axis] >= at))

    pins = {}
    hurt = {moved(cell) for cell in draft.hurt}
    for name, slot in draft.pins.items():
        place = _pin_after(name, slot, axis, size, moved(slot.cell), aim)
        if place is None:
            return None
        if place.cell != moved(slot.cell):
            hurt.add(place.cell)
        pins[name] = place
    fresh = {cell_at(line, axis, at) for line in lines_of(size, axis)}
    return Draft(
        size=size,
        cells={moved(cell): block for cell, block in draft.cells.items()},
        pins=pins,
        hurt=frozenset(hurt),
        fresh=frozenset(fresh | {moved(cell) for cell in draft.fresh}),
        starts=draft.starts,
        origin={moved(new): old for new, old in draft.origin.items()},
    )


def emptied(draft: Draft, size: Size, aim: Aim) -> Draft | None:
    """An empty box with the pins of a draft somewhere on its faces; None if one has no place."""
    pins = {}
    for name, slot in draft.pins.items():
        at = [min(own, side - 1) for own, side in zip(slot.cell, size, strict=True)]
        axis = AXES.index(slot.face.axis)
        at[axis] = size[axis] - 1 if slot.face.vector[axis] > 0 else 0
        pins[name] = Slot((at[0], at[1], at[2]), slot.face)
        if not aim.admits_slot(name, pins[name], size):
            return None
    return Draft(size, {}, pins, starts=draft.starts)
