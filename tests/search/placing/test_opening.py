"""Chains opened and closed again: slices that are right, alone and in rows, in boxes that fit."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from synth.encoding.windows import Window
from synth.layout import Layout
from synth.medium import ChainLink, Direction, Joint, Part, Size
from synth.questions.problem import Problem
from synth.search.placing import opening
from synth.search.placing.opening import TICKS, chained, opened
from synth.search.placing.starts import PlacedStarts
from synth.search.placing.windowed import Answer
from synth.simulator import check
from synth.simulator.rows import row_verdict
from synth.spec import Limits, PinDemand, Spec
from tests.search.placing.tries import returned
from tests.stored import stored_layout

CHAIN = {"stack": "x", "chain": [("co", "ci")], "joint": "buffer"}
ADDER = Spec.parse("s = a ^ b ^ ci; co = a & b | a & ci | b & ci", delay=10, **CHAIN)
SMALL = {
    "or": Spec.parse("co = a | ci", delay=4, **CHAIN),
    "kill": Spec.parse("co = ~a & ci", delay=6, **CHAIN),
    "two outputs": Spec.parse("q = ~ci; co = a & ci", delay=6, **CHAIN),
}


def open_problem(spec: Spec) -> tuple[Problem, Limits]:
    made = opened(Problem.of(spec)[0], spec.limits)
    assert made is not None
    return made


def below(volume: float) -> Callable[[Size], bool]:
    return lambda size: math.prod(size) < volume


ANY = below(math.inf)


def closed(layout: Layout, spec: Spec, fits: Callable[[Size], bool] = ANY) -> Layout | None:
    return returned(chained(layout, Problem.of(spec)[0], spec.limits, fits, TICKS))


def test_an_open_chain_asks_for_its_link_at_the_ends() -> None:
    problem, own = open_problem(ADDER)
    spec = problem.spec
    assert not spec.chain
    assert spec.stack is not None
    assert spec.stack.axis == "y"
    assert spec.faces("ci") == (Direction.NX,)
    assert spec.faces("co") == (Direction.PX,)
    assert set(spec.faces("a")) == {Direction.NX, Direction.PX}
    assert all(spec.joint(name) is Joint.BUFFER for name in spec.pin_names)
    assert spec.function == ADDER.function
    assert (own.delay, own.link_delay) == (TICKS, None)


@pytest.mark.parametrize(
    ("limits", "ticks"),
    [
        (Limits(delay=10), TICKS),
        (Limits(delay=4), 3),
        (Limits(delay=10, link_delay=3), 2),
        (Limits(delay=3, link_delay=3), 2),
    ],
)
def test_the_buffer_of_a_link_has_a_tick_left(limits: Limits, ticks: int) -> None:
    problem, _ = open_problem(ADDER.replace(limits=limits))
    assert problem.limits.delay == ticks
    assert problem.limits.link_delay is None


@pytest.mark.parametrize(
    "spec",
    [
        ADDER.replace(limits=Limits(delay=1)),
        ADDER.replace(limits=Limits(delay=10, width=1)),
        ADDER.replace(pins={**ADDER.pins, "a": PinDemand(None, (0, 0, 0), Joint.BUFFER)}),
        Spec.parse("co = a | ci", stack="y", chain=[("co", "ci")], delay=4),
        Spec.parse("q = a | b", stack="x", delay=4),
    ],
)
def test_what_does_not_suit_is_not_opened(spec: Spec) -> None:
    assert opened(Problem.of(spec)[0], spec.limits) is None


@pytest.mark.parametrize("name", SMALL)
def test_a_closed_slice_is_right_alone_and_in_a_row(name: str) -> None:
    spec = SMALL[name]
    problem, own = open_problem(spec)
    layout = next(found for found in PlacedStarts(problem, own).tries() if found is not None)
    found = closed(layout, spec)
    assert found is not None
    assert found.stack is not None
    assert found.stack.chain == (ChainLink("co", "ci"),)
    verdict = check(found, spec)
    assert verdict.passes, verdict.faults
    row = row_verdict(found, verdict, spec.replace(limits=Limits()), 4, (None, None))
    assert row.passes, row.wrong


def named(layout: Layout, names: dict[str, str]) -> Layout:
    """The layout, some of its pins under other names."""
    pins = (replace(pin, name=names.get(pin.name, pin.name)) for pin in layout.pins)
    return replace(layout, pins=tuple(pins))


def test_an_adder_of_70_cells_becomes_a_slice_of_80() -> None:
    """The carry comes out at the height at which one input goes in, in the other lane."""
    layout = named(stored_layout("open_adder"), {"b": "ci", "c": "b"})
    found = closed(layout, ADDER, lambda size: size[0] == 8)
    assert found is not None
    assert found.size == (8, 2, 5)
    verdict = check(found, ADDER)
    assert verdict.passes, verdict.faults
    assert verdict.link_delay is not None
    assert verdict.link_delay <= 6
    row = row_verdict(found, verdict, ADDER.replace(limits=Limits()), 8, (None, None))
    assert row.passes, row.wrong
    kept = {cell: block for cell, block in layout.cells.items() if cell[0] < 5}
    assert kept == {cell: block for cell, block in found.cells.items() if cell[0] < 5}
    assert found.cells[next(pin.at for pin in found.pins if pin.name == "co")].part is Part.BUFFER


@pytest.mark.parametrize("link_delay", [5, 6])
def test_a_limit_on_the_link_delay_is_kept(link_delay: int) -> None:
    spec = ADDER.replace(limits=Limits(delay=10, link_delay=link_delay))
    layout = named(stored_layout("open_adder"), {"b": "ci", "c": "b"})
    found = closed(layout, spec, fits=lambda size: size[0] == 9)
    assert found is not None
    verdict = check(found, spec)
    assert verdict.passes, verdict.faults
    assert verdict.link_delay is not None
    assert verdict.link_delay <= link_delay


def test_what_is_too_slow_for_the_links_is_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """A slice that is right within 6 ticks may hand its carry on within 5, or not."""
    spec = ADDER.replace(limits=Limits(delay=10, link_delay=5))
    layout = named(stored_layout("open_adder"), {"b": "ci", "c": "b"})
    asked: list[int] = []
    real = opening.asked_window

    def too_slow(window: Window, conflicts: int) -> Layout | Answer:
        asked.append(window.delay)
        found = real(window, conflicts)
        too_late = isinstance(found, Layout) and window.delay != 5
        return replace(found, cells={}) if too_late else found

    monkeypatch.setattr(opening, "asked_window", too_slow)
    found = closed(layout, spec, fits=lambda size: size[0] == 9)
    assert found is not None
    assert asked == [6, 5]
    assert check(found, spec).passes


def asked_in_vain(monkeypatch: pytest.MonkeyPatch) -> list[Window]:
    """The windows that are asked from now on, each undecided."""
    asked: list[Window] = []

    def in_vain(window: Window, conflicts: int) -> Answer:
        asked.append(window)
        return Answer.UNDECIDED

    monkeypatch.setattr(opening, "asked_window", in_vain)
    return asked


def test_any_input_at_the_end_that_is_alike_may_be_the_links(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    layout = named(stored_layout("open_adder"), {"b": "ci", "c": "b"})
    asked = asked_in_vain(monkeypatch)
    assert closed(layout, ADDER) is None
    assert {window.pins["ci"][0].cell for window in asked} == {(0, 0, 2), (0, 0, 4)}
    asked.clear()
    unlike = Spec.parse("s = a ^ b ^ ci; co = ~a & b | ci & b", delay=10, **CHAIN)
    assert closed(layout, unlike) is None
    assert {window.pins["ci"][0].cell for window in asked} == {(0, 0, 4)}


def test_the_smallest_box_that_fits_comes_first_and_outputs_of_links_lie_opposite(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    layout = named(stored_layout("open_adder"), {"b": "ci", "c": "b"})
    asked = asked_in_vain(monkeypatch)
    closed(layout, ADDER, below(91))
    lengths = [window.size[0] for window in asked]
    assert {*lengths} == {7, 8, 9}
    assert lengths[0] == 7
    for window in asked:
        assert {slot.cell[0] for slot in window.pins["co"]} == {window.size[0] - 1}
        (entry,) = window.pins["ci"]
        assert {slot.cell[1:] for slot in window.pins["co"]} == {entry.cell[1:]}
        kept = window.size[0] - len(window.free) // 10
        assert window.cells == {c: b for c, b in layout.cells.items() if c[0] < kept}


def test_nothing_is_asked_where_no_box_fits() -> None:
    layout = stored_layout("open_adder")
    tries = chained(layout, Problem.of(ADDER)[0], ADDER.limits, lambda size: False, 4)
    with pytest.raises(StopIteration):
        next(tries)
