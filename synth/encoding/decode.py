"""From a model of the formula back to a layout."""

from __future__ import annotations

from collections.abc import Iterable

from synth.encoding.question import Question
from synth.encoding.statics import Statics
from synth.layout import Layout, Pin, Stack
from synth.medium import (
    CLEAR,
    HOST_DIRECTIONS,
    LEDGE,
    LEVEL_DIRECTIONS,
    SOLID,
    WIRE,
    Block,
    Cell,
    Direction,
    Part,
    buffer,
    inverter,
)


def decode(question: Question, statics: Statics, model: Iterable[int]) -> Layout:
    """The layout that a model (DIMACS literals) describes.

    An insulator becomes a ledge under a buffer, what the specification fixes it to, and a
    clear cube elsewhere.
    """
    true = {literal for literal in model if literal > 0}
    cells: dict[Cell, Block] = {}
    for cell in statics.cells:
        block = _block(statics, cell, true)
        if block is not None:
            cells[cell] = block
    for cell, block in question.spec.fixed.items():
        if block.part in (Part.CLEAR, Part.LEDGE):
            cells[cell] = block
    pins = []
    for name, slots in statics.slots.items():
        place = next(slot for slot in slots if statics.pin(name, slot) in true)
        joint = question.spec.joint(name)
        pins.append(Pin(name, question.spec.role(name), place.cell, place.face, joint))
    geometry = question.geometry
    return Layout(
        size=question.size,
        cells=cells,
        pins=tuple(pins),
        stack=None
        if geometry.axis is None
        else Stack(geometry.axis, geometry.pitch, question.spec.chain),
        ground=geometry.ground,
        name=question.spec.name,
    )


def _block(statics: Statics, cell: Cell, true: set[int]) -> Block | None:
    if statics.solid(cell) in true:
        return SOLID
    if statics.wire(cell) in true:
        return WIRE
    if statics.insulator(cell) in true:
        return insulator_of(statics, cell, true)
    for on in HOST_DIRECTIONS:
        if statics.inverter(cell, on) in true:
            return inverter(on)
    for to in LEVEL_DIRECTIONS:
        if statics.buffer(cell, to) in true:
            return buffer(to, statics.delays[cell])
    return None


def insulator_of(statics: Statics, cell: Cell, true: set[int]) -> Block:
    """Section 2: an insulator is named by what rests on it: a buffer needs a ledge.

    Medium: 2 supports.
    """
    above = Direction.PZ.step(cell)
    bears = any(statics.buffer(above, to) in true for to in LEVEL_DIRECTIONS)
    return LEDGE if bears else CLEAR


def literals_of(question: Question, statics: Statics, layout: Layout) -> list[int]:
    """The static literals, each true or negated, that pin the formula to one layout.

    Raises:
        ValueError: if the layout lies outside what the formula can describe (another size, a
            part where none may be, a pin where the specification admits none).
    """
    if layout.size != question.size or layout.ground != question.geometry.ground:
        raise ValueError("the layout has another box than the question")
    chosen: set[int] = set()
    for cell, block in layout.cells.items():
        chosen.add(_literal_of(statics, cell, block))
    for pin in layout.pins:
        place = next(
            (
                slot
                for slot in statics.slots.get(pin.name, [])
                if (slot.cell, slot.face) == (pin.at, pin.face)
            ),
            None,
        )
        if place is None:
            raise ValueError(f"pin {pin.name} may not sit at {pin.at} on {pin.face}")
        chosen.add(statics.pin(pin.name, place))
    return [literal if literal in chosen else -literal for literal in statics.choices()]


def _literal_of(statics: Statics, cell: Cell, block: Block) -> int:
    if block.part is Part.BUFFER and block.delay != statics.delays[cell]:
        raise ValueError(f"the buffer at {cell} has a delay that the formula does not use")
    literal = statics.holds(cell, block)
    if literal < 0:
        raise ValueError(f"no {block} may stand at {cell}")
    return literal
