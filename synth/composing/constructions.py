"""The constructions that compete, as a table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from synth.composing.folded import FlatSheet, FoldedSheet
from synth.composing.order import Order
from synth.composing.sheet import Sheet
from synth.composing.slices import SlimSlice
from synth.composing.slim import Slim
from synth.layout import Layout


@dataclass(frozen=True)
class Construction:
    """A way to make a layout of a network.

    Attributes:
        name: its name, as attempts show it.
        build: paints it; raises ``Unbuildable`` if it cannot.
    """

    name: str
    build: Callable[[Order], Layout]


CONSTRUCTIONS = (
    Construction("folded sheet", lambda order: FoldedSheet(order).layout()),
    Construction("flat sheet", lambda order: FlatSheet(order).layout()),
    Construction("slim", lambda order: Slim(order).layout()),
    Construction("sheet", lambda order: Sheet(order).layout()),
    Construction("sheet, outputs apart", lambda order: Sheet(order, apart=True).layout()),
)
"""In the order in which they are tried."""

OF_SLICES = (Construction("slim slice", lambda order: SlimSlice(order).layout()),)
"""Those for a chain (section 11)."""
