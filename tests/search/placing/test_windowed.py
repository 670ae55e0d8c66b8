"""A window asked once: a layout, no place, or not decided within the conflicts."""

from __future__ import annotations

from dataclasses import replace

from synth.encoding.windows import Window, pins_of
from synth.layout import Layout
from synth.search.placing.windowed import Answer, asked_window
from synth.simulator import check
from synth.spec import Spec
from tests.stored import stored_layout

LAYOUT = stored_layout("open_adder")
ADDER = Spec.parse("s = a ^ b ^ c; co = a & b | a & c | b & c", stack="y", joint="buffer", delay=4)


def freed(columns: int) -> Window:
    """The last columns of an adder of 7 columns are free."""
    kept = 7 - columns
    cells = {cell: block for cell, block in LAYOUT.cells.items() if cell[0] < kept}
    free = frozenset((x, y, z) for x in range(kept, 7) for y in range(2) for z in range(5))
    return Window(ADDER, LAYOUT.size, 4, cells, free, pins_of(LAYOUT))


def test_a_layout_that_fits_what_stands_is_found() -> None:
    window = freed(1)
    found = asked_window(window, 10_000)
    assert isinstance(found, Layout)
    assert check(found, ADDER).passes
    assert {c: b for c, b in found.cells.items() if c not in window.free} == dict(window.cells)


def test_without_its_last_column_there_is_no_place() -> None:
    assert asked_window(replace(freed(1), free=frozenset()), 10_000) is Answer.NO_PLACE


def test_few_conflicts_decide_nothing() -> None:
    assert asked_window(freed(4), 1) is Answer.UNDECIDED
