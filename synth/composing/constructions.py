"""The constructions that compete, as a table."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from synth.composing.canvas import Unbuildable
from synth.composing.folded import FlatSheet, FoldedSheet
from synth.composing.order import Order
from synth.composing.quick import QuickSheet
from synth.composing.sheet import Sheet
from synth.composing.slices import SlimSlice
from synth.composing.slim import Slim
from synth.layout import Layout

MOST_PAINTED, MOST_CHOSEN = 6, 2
"""The most networks of one function that are painted, and of those that are rated before."""


@dataclass(frozen=True)
class Construction:
    """A way to make a layout of a network.

    Attributes:
        name: its name, as attempts show it.
        build: paints it; raises ``Unbuildable`` if it cannot.
        rate: if painting takes long, an estimate of the room that it will take: only the best few
            networks are painted then. Raises ``Unbuildable`` as well.
    """

    name: str
    build: Callable[[Order], Layout]
    rate: Callable[[Order], float] | None = None

    def chosen(self, orders: Sequence[Order]) -> list[Order]:
        """Of orders that differ only in their networks those that are worth painting."""
        if self.rate is None:
            return [*orders[:MOST_PAINTED]]
        rated: list[tuple[float, int, Order]] = []
        for order in orders:
            try:
                rated.append((self.rate(order), len(rated), order))
            except Unbuildable:
                rated.append((math.inf, len(rated), order))
        return [order for _, _, order in sorted(rated)[:MOST_CHOSEN]]


CONSTRUCTIONS = (
    Construction("folded sheet", lambda order: FoldedSheet(order).layout(), FoldedSheet.rate),
    Construction("flat sheet", lambda order: FlatSheet(order).layout(), FlatSheet.rate),
    Construction("slim", lambda order: Slim(order).layout()),
    Construction("sheet", lambda order: Sheet(order).layout()),
    Construction("sheet, outputs apart", lambda order: Sheet(order, apart=True).layout()),
    Construction("quick sheet", lambda order: QuickSheet(order).layout()),
)
"""In the order in which they are tried."""

OF_SLICES = (Construction("slim slice", lambda order: SlimSlice(order).layout()),)
"""Those for a chain (section 11)."""
