"""Tidies a layout: removes parts that are not needed, and makes supports of the preferred kind."""

from __future__ import annotations

from collections.abc import Iterator

from synth.layout import Layout
from synth.medium import CLEAR, DEFAULT_RULES, LEDGE, SOLID, Block, Cell, Part, Rules
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import Spec

SUPPORTS = {"solid": SOLID, "clear": CLEAR, "ledge": LEDGE}
"""The parts that a builder may prefer for cells that only hold a part up."""


def tidy(
    layout: Layout,
    spec: Spec,
    *,
    delay: int,
    prefer: str = "solid",
    rules: Rules = DEFAULT_RULES,
) -> tuple[Layout, Verdict]:
    """Remove parts that are not needed, and choose the kind of supports.

    A part is removed if the layout then still passes and is no slower. A cube or shelf becomes the
    preferred kind if the verdict stays the same. Both are repeated until nothing changes, with
    cells in a fixed order, so that the result is the same in every run. What the specification
    fixes stays. If the layout does not pass at all (a fault of the encoding), it is returned as it
    is.

    Args:
        layout: the layout, as decoded.
        spec: what it is meant to do.
        delay: the ticks that it must meet.
        prefer: ``solid``, ``clear`` or ``ledge``.
        rules: the rule table.

    Returns:
        The tidy layout and the simulator's verdict on it.
    """
    verdict = check(layout, spec, delay=delay, rules=rules)
    if not verdict.passes:
        return layout, verdict
    while True:
        before = layout
        for change in _removals(layout, spec):
            layout, verdict = _try(layout, change, verdict, spec, delay, rules)
        for change in _namings(layout, spec, SUPPORTS[prefer]):
            layout, verdict = _try(layout, change, verdict, spec, delay, rules)
        if layout == before:
            return layout, verdict


def _removals(layout: Layout, spec: Spec) -> Iterator[tuple[Cell, Block | None]]:
    # From the top down, so that a support is tried after the parts on it are gone.
    for cell in sorted(layout.cells, key=lambda cell: (-cell[2], cell)):
        if cell not in spec.fixed:
            yield cell, None


def _namings(layout: Layout, spec: Spec, preferred: Block) -> Iterator[tuple[Cell, Block | None]]:
    for cell, block in layout.cells.items():
        cube = block.part in (Part.SOLID, Part.CLEAR, Part.LEDGE)
        if cube and block != preferred and cell not in spec.fixed:
            yield cell, preferred


def _try(
    layout: Layout,
    change: tuple[Cell, Block | None],
    verdict: Verdict,
    spec: Spec,
    delay: int,
    rules: Rules,
) -> tuple[Layout, Verdict]:
    """The changed layout if it is as good, or else the layout as it was."""
    cell, block = change
    changed = layout.with_cells({cell: block})
    found = check(changed, spec, delay=delay, rules=rules)
    if not found.passes or found.delay is None or verdict.delay is None:
        return layout, verdict
    as_good = found.delay <= verdict.delay if block is None else found == verdict
    return (changed, found) if as_good else (layout, verdict)
