"""The static choices of a window: variables in free cells, constants around them."""

from __future__ import annotations

from collections.abc import Iterable

from synth.encoding.decode import _block
from synth.encoding.statics import Statics
from synth.encoding.windows.known import KnownFormula
from synth.encoding.windows.window import Window
from synth.layout import Layout, Pin, Stack
from synth.medium import CLEAR, LEDGE, LEVEL_DIRECTIONS, Block, Cell, Direction, Part


class WindowStatics(Statics):
    """Declares choices in free cells only; the rules are those of every question.

    Args:
        formula: holds the constants.
        window: the question.
        near: the fixed cells, not empty, that a rule may ask for.
    """

    def __init__(self, formula: KnownFormula, window: Window, near: Iterable[Cell]) -> None:
        self.formula = formula
        self.question = window.question
        self.geometry = self.question.geometry
        self.window = window
        self.slots = {name: list(slots) for name, slots in window.pins.items()}
        linked = {slot.cell for link in window.spec.chain for slot in self.slots[link.output]}
        self.cells = sorted({*window.free, *near, *(linked & window.cells.keys())})
        self.delays = {cell: self.delay_of(cell) for cell in self.cells}
        self._declare_parts()
        self._declare_pins()

    def delay_of(self, cell: Cell) -> int:
        """Ticks of the buffer that stands fixed in ``cell``, or else as in every question."""
        block = self.window.cells.get(cell)
        if block is not None and block.part is Part.BUFFER:
            return block.delay
        return super().delay_of(cell)

    def state(self) -> None:
        """State every static rule, and that what is fixed may stand where it does."""
        super().state()
        for cell in self.cells:
            block = self.window.cells.get(cell)
            if block is not None:
                self.formula.add("what is fixed may stand", [self.holds(cell, block)])

    def layout(self, model: Iterable[int]) -> Layout:
        """The layout that a model describes: fixed cells as they are, the free ones as chosen.

        A fixed clear cube under a buffer that was chosen becomes a ledge: they are one here.
        """
        window, true = self.window, {literal for literal in model if literal > 0}
        cells: dict[Cell, Block] = dict(window.cells)
        for cell in window.free:
            block = _block(self, cell, true)
            if block is not None:
                cells[cell] = block
        for cell in window.free:
            below = Direction.NZ.step(cell)
            bears = any(self.buffer(cell, to) in true for to in LEVEL_DIRECTIONS)
            if bears and cells.get(below) == CLEAR:
                cells[below] = LEDGE
        pins = []
        for name, slots in self.slots.items():
            place = next(slot for slot in slots if self.pin(name, slot) in true)
            spec = window.spec
            pins.append(Pin(name, spec.role(name), place.cell, place.face, spec.joint(name)))
        geometry = self.geometry
        return Layout(
            size=window.size,
            cells=cells,
            pins=tuple(pins),
            stack=None
            if geometry.axis is None
            else Stack(geometry.axis, geometry.pitch, window.spec.chain),
            ground=geometry.ground,
            name=window.spec.name,
        )
