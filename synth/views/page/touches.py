"""What touches what in a layout: asked of the simulator once, however many drawings need it."""

from __future__ import annotations

from synth.medium import Cell, Direction
from synth.simulator import touch
from synth.simulator.row import Row


class Touches:
    """The links and runs of the wires of a row, kept once they are known.

    Attributes:
        row: the row.
    """

    def __init__(self, row: Row) -> None:
        self.row = row
        self._links: dict[Cell, tuple[touch.Link, ...]] = {}
        self._runs: dict[Cell, frozenset[Direction]] = {}

    def links(self, wire: Cell) -> tuple[touch.Link, ...]:
        """The links of the wire in a cell, as ``touch.links`` yields them."""
        known = self._links.get(wire)
        if known is None:
            known = self._links[wire] = tuple(touch.links(self.row, wire))
        return known

    def runs(self, wire: Cell) -> frozenset[Direction]:
        """The level directions that the wire in a cell runs towards."""
        known = self._runs.get(wire)
        if known is None:
            found = touch.runs(self.row, wire, self.links(wire))
            known = self._runs[wire] = frozenset(found)
        return known
