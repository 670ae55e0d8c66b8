"""Rows of whole copies: played as one layout, they do what the slices are judged to do."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings

from synth.errors import InputError
from synth.layout import Layout, Stack
from synth.medium import RuleId
from synth.simulator import check, settle
from synth.simulator.fabric import fabric_of
from synth.simulator.made_for import spec_made_for
from synth.simulator.many import ManyPlay
from synth.simulator.rows import check_row, row_of
from synth.simulator.settling import input_masks
from synth.spec import BooleanFunction, Spec
from synth.spec.targets import load_target
from tests.reading.random_layouts import legal_layouts
from tests.simulator.test_chains import ANY

AND = Layout.load(Path(__file__).resolve().parents[1] / "data" / "and_slice.json")
"""``co = a & ci``, found by the search: three ticks, all of them after its link."""

RECORDS = Path(__file__).resolve().parents[2] / "benchmarks" / "records"

ADDER = Layout.load(RECORDS / "adder_slice_layout.json")
"""The smallest adder slice that is known: 9 x 2 x 5 cells."""

OR = BooleanFunction(("a", "ci"), {"co": "0111"})


def masks(words: np.ndarray) -> list[int]:  # type: ignore[type-arg]
    """A row of words a mask."""
    return [int.from_bytes(row.tobytes(), "little") for row in words]


@settings(max_examples=60)
@given(legal_layouts())
def test_many_assignments_settle_as_few_do(layout: Layout) -> None:
    """Tick by tick, surely and possibly, also where buffers are slow or held."""
    plain = settle(layout)
    count = len(layout.inputs)
    assert count <= 6
    # Every assignment stands in the low bits, in the order of the masks.
    inputs = np.array([[mask] for mask in input_masks(count)], dtype=np.uint64).reshape(count, 1)
    ticks = list(ManyPlay(fabric_of(layout)).play(inputs))
    assert len(ticks) == len(plain.ticks)
    for tick, now in enumerate(ticks):
        for index, pin in enumerate(layout.outputs):
            assert masks(now.sure)[index] & plain.full == plain.surely_reads(pin.name, tick)
            assert masks(now.possible)[index] & plain.full == plain.possibly_reads(pin.name, tick)
        for index, pin in enumerate(layout.inputs):
            assert masks(now.fed_back)[index] & plain.full == plain.fed_back(pin.name, tick)


@pytest.mark.parametrize("copies", range(1, 7))
@pytest.mark.parametrize(("layout", "operator"), [(AND, "&"), (ANY, "|")], ids=["and", "or"])
def test_a_row_is_right_in_time(layout: Layout, operator: str, copies: int) -> None:
    """By the plain simulator, which knows nothing of chains, and by the quick one."""
    verdict = check(layout)
    assert verdict.delay is not None
    assert verdict.link_delay is not None
    due = verdict.delay + (copies - 1) * verdict.link_delay
    row = row_of(layout, copies)
    names = [f"a[{copy}]" for copy in range(copies)]
    assert {pin.name for pin in row.pins} == {*names, "ci", "co"}
    asked = Spec.parse(
        f"co = {f' {operator} '.join(['ci', *names])}", inputs=[p.name for p in row.inputs]
    )
    plain = check(row, asked, delay=due)
    assert plain.passes, plain.faults
    function = BooleanFunction(("a", "ci"), {"co": "0001" if operator == "&" else "0111"})
    quick = check_row(layout, function, copies, due=due)
    assert quick.passes
    assert quick.every
    assert quick.assignments == 2 ** (copies + 1)
    assert quick.delay == plain.delay


def test_a_long_row_is_played_at_random() -> None:
    quick = check_row(ANY, OR, 40, due=40, samples=1000)
    assert quick.passes
    assert (quick.every, quick.assignments) == (False, 1024)
    assert quick.delay is not None
    assert quick.text().startswith("Row of 40 copies: right in random 1,024 assignments within ")


def test_what_is_wrong_in_a_row_is_told() -> None:
    late = check_row(ANY, OR, 3, due=2)
    assert not late.passes
    assert late.wrong == "it takes 3 ticks, more than the 2 in which it is due"
    other = check_row(ANY, BooleanFunction(("a", "ci"), {"co": "0110"}), 2, due=9)
    assert other.wrong.startswith("output 'co' reads ")
    assert other.delay is None


def test_a_dont_care_is_handed_on() -> None:
    """Behind a copy whose link nobody asked for, nothing is asked."""
    function = BooleanFunction(("a", "ci"), {"co": "00-0"})
    assert not check_row(ANY, function, 1, due=9).passes
    never = BooleanFunction(("a", "ci"), {"co": "0---"})
    row = check_row(ANY, never, 3, due=9)
    assert row.passes
    assert (row.assignments, row.unasked) == (16, 15)
    assert row.text().endswith("; 15 of them ask nothing")
    assert check_row(ANY, OR, 3, due=9).unasked == 0


def test_a_row_needs_a_stack() -> None:
    with pytest.raises(InputError, match="does not say along which axis"):
        row_of(ANY.replace(stack=None), 2)
    with pytest.raises(InputError, match="is a bit of a bus already"):
        row_of(row_of(ANY, 2).replace(stack=Stack("z", 2)), 2)


def test_every_change_of_a_slice_is_judged_as_its_rows_are() -> None:
    """A slice that loses or changes a part passes only if its rows of up to three copies do."""
    spec = spec_made_for(AND)
    assert spec is not None
    changes = [{cell: None} for cell in AND.cells]
    passed = 0
    for change in changes:
        mutant = AND.with_cells(change)
        verdict = check(mutant, spec)
        if not verdict.legal:
            continue
        rows = [
            check_row(mutant, spec.function, copies, due=3 + 3 * (copies - 1)).passes
            for copies in (1, 2, 3)
        ]
        if verdict.passes:
            passed += 1
            assert all(rows)
        elif RuleId.FUNCTION in {fault.rule for fault in verdict.faults}:
            assert not all(rows)
    assert passed < len(changes)


@pytest.mark.parametrize("copies", [1, 2, 4])
def test_the_smallest_adder_slice_adds(copies: int) -> None:
    """In every assignment, in the time that its delay and its link delay leave."""
    spec = load_target("full-adder-slice")
    verdict = check(ADDER, spec)
    assert verdict.passes
    assert verdict.delay is not None
    assert verdict.link_delay is not None
    due = verdict.delay + (copies - 1) * verdict.link_delay
    row = check_row(ADDER, spec.function, copies, due=due)
    assert row.every
    assert not row.wrong


def test_the_quickest_adder_slice_adds() -> None:
    """With one carry wire none has less than 3: a row of eight, in every assignment."""
    layout = Layout.load(RECORDS / "adder_slice_link_3_layout.json")
    spec = load_target("full-adder-slice")
    verdict = check(layout, spec)
    assert verdict.passes
    assert verdict.delay is not None
    assert verdict.link_delay == 3
    row = check_row(layout, spec.function, 8, due=verdict.delay + 7 * 3)
    assert (row.every, row.assignments, row.wrong) == (True, 1 << 17, "")


def test_the_adder_slice_with_two_rails_adds() -> None:
    """No link delay is less than 2. A row of eight, wherever its rails mean a carry."""
    layout = Layout.load(RECORDS / "two_rail_adder_slice_layout.json")
    spec = load_target("two-rail-full-adder-slice")
    verdict = check(layout, spec)
    assert verdict.passes
    assert verdict.delay is not None
    assert verdict.link_delay == 2
    row = check_row(layout, spec.function, 8, due=verdict.delay + 7 * 2)
    assert (row.every, row.assignments, row.wrong) == (True, 1 << 18, "")
    assert row.unasked == 1 << 17
