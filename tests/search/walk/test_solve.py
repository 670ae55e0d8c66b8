"""The search: outcomes, smallness, determinism, limits, events."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from synth.encoding import ACCELERATIONS
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import LEDGE, SOLID, Direction, Joint, Rules, buffer
from synth.questions.events import BoxEnded, BoxStarted, SearchEnded, SearchStarted
from synth.questions.measures import boxes
from synth.questions.problem import Problem
from synth.search import Outcome, Status, solve, solve_box
from synth.search.workers.crew import Crew
from synth.search.workers.solvers import SOLVERS
from synth.search.workers.tidy import SUPPORTS, tidy
from synth.simulator import check, legality
from synth.simulator.verdict import Fault, Verdict
from synth.spec import Limits, Spec
from tests.encoding.every_layout import held, legal_layouts, pin_places
from tests.encoding.test_implied import SHAPING
from tests.stored import stored_layout, stored_spec
from tests.waiting import Clock, Log, RunsOut, TooHard

NOR = "q = ~(a | b)"
XOR = "q = a ^ b"
STACKED: dict[str, Any] = {"width": 2, "height": 4, "length": 4, "stack": "y"}


@cache
def solved(text: str, **options: Any) -> Outcome:
    """The answer of a plain search under ``STACKED``, within 2 ticks."""
    return solve(Spec.parse(text, **STACKED, delay=2), **options)


def found(outcome: Outcome) -> Layout:
    assert outcome.status is Status.FOUND, outcome.reason
    assert outcome.layout is not None
    assert outcome.verdict is not None
    assert outcome.verdict.passes
    return outcome.layout


@pytest.mark.parametrize("text", ["q = ~a", "q = a"])
def test_the_smallest_is_what_trying_everything_finds(text: str) -> None:
    """All layouts of all boxes below the volume found, played by the simulator: none works."""
    spec = Spec.parse(text, joint="buffer", length=2, width=1, height=3, delay=1)
    layout = found(solve(spec, workers=1))
    free = spec.replace(limits=Limits(delay=1))
    roles = {name: spec.role(name) for name in spec.pin_names}
    joints = dict.fromkeys(roles, Joint.BUFFER)
    smaller = [size for size in boxes(spec.limits) if size[0] * size[2] < layout.volume]
    for size in smaller:
        for bare in legal_layouts(size):
            for pins in pin_places(size, roles, joints, {"+x", "-x", "+y", "-y"}):
                tried = bare.replace(pins=pins)
                if not legality(tried) and not held(tried):
                    assert not check(tried, free).passes


def test_the_least_gates_of_two_inputs_stack_at_known_volumes() -> None:
    """Measured by this search and shown impossible below; the figures guard against change."""
    volumes = {"q = ~(a | b)": 6, "q = ~(a & b)": 8, "q = a | b": 6, "q = ~a | b": 6}
    for text, volume in volumes.items():
        layout = found(solved(text))
        assert layout.volume == volume, text
        assert layout.stack is not None


def test_impossible_within_one_tick() -> None:
    outcome = solve(Spec.parse(XOR, length=3, width=2, height=3, delay=1), workers=1)
    assert outcome.status is Status.IMPOSSIBLE
    assert outcome.layout is None
    assert "length at most 3, width at most 2, height at most 3" in outcome.reason
    assert "reach 15" in outcome.reason
    assert "1 tick cannot be had by any layout: q must be 1 at a=1 b=0" in outcome.reason
    without = ["least-delay", "tallest"]
    asked = solve(Spec.parse(XOR, length=3, width=2, height=3, delay=1), without=without)
    assert asked.status is Status.IMPOSSIBLE
    assert len(asked.stats.boxes_ruled_out) == outcome.stats.questions_too_fast
    assert asked.stats.questions_too_fast == outcome.stats.questions == 0
    assert not outcome.stats.boxes_ruled_out


def test_one_box_is_one_question() -> None:
    spec = Spec.parse(NOR, stack="y")
    layout = found(solve_box(spec, (1, 2, 3), 1))
    assert layout.size == (1, 2, 3)
    assert solve_box(spec, (1, 1, 3), 1).status is Status.IMPOSSIBLE


def test_the_same_question_gives_the_same_layout_however_many_workers() -> None:
    spec = Spec.parse("q = a & ~b", **STACKED, delay=2)
    first, second = (solved("q = a & ~b", workers=workers) for workers in (1, 2))
    assert found(first) == found(second)
    assert first.claim == second.claim
    other = solve(spec, workers=2, seed=7)
    assert found(other).volume == found(first).volume
    assert found(other) == found(solve(spec, workers=1, seed=7))


def test_measures_are_minimised_in_the_order_given() -> None:
    spec = Spec.parse("q = a & b", length=2, width=1, height=4, delay=3)
    small = found(solve(spec, minimize=["volume", "delay", "parts"]))
    fast = solve(spec, minimize=["delay", "volume"])
    few = found(solve(spec, minimize=["parts"]))
    assert fast.verdict is not None
    assert small.volume <= found(fast).volume
    assert few.part_count <= small.part_count
    tighter = spec.replace(limits=Limits(2, 1, 4, parts=few.part_count - 1, delay=3))
    assert solve(tighter).status is Status.IMPOSSIBLE
    quicker = Limits(2, 1, 4, delay=(fast.verdict.delay or 0) - 1)
    assert solve(spec.replace(limits=quicker)).status is Status.IMPOSSIBLE


def test_several_outputs_dont_cares_and_constants() -> None:
    found(solve(Spec.parse("q = ~a; r = a", length=2, width=2, height=3, delay=1)))
    found(solve(Spec.parse("q = 1'b1; r = 1'b0", length=2, width=1, height=3, delay=1)))
    loose = stored_spec("loose")
    layout = found(solve(loose))
    verdict = check(layout, loose)
    assert verdict.outputs is not None
    assert verdict.outputs["q"][0] == "0"
    assert verdict.outputs["q"][3] == "1"


def test_cells_are_kept_as_asked() -> None:
    spec = stored_spec("cells")
    layout = found(solve(spec))
    assert layout.size == (3, 2, 3)
    assert layout.cells[(0, 0, 0)] == SOLID
    assert layout.cells[(1, 1, 1)] == LEDGE
    assert (2, 0, 0) not in layout.cells


@pytest.mark.parametrize(
    "asked",
    [
        {"ground": True, "length": 2, "width": 2, "height": 2},
        {"stack": "x", "length": 2, "width": 3, "height": 3},
        {"stack": "z", "length": 2, "width": 2, "height": 4, "joint": "buffer"},
        {"stack": "y", "pitch": 3, "length": 3, "width": 2, "height": 3},
        {"input_faces": "-x", "output_faces": "+x", "length": 3, "width": 2, "height": 3},
    ],
    ids=str,
)
def test_what_is_asked_of_pins_ground_and_stacks_is_kept(asked: dict[str, Any]) -> None:
    spec = Spec.parse("q = ~a", delay=1, **asked)
    layout = found(solve(spec))
    assert layout.ground == asked.get("ground", False)
    if "stack" in asked:
        assert layout.stack is not None
        assert layout.stack.axis == asked["stack"]
        assert layout.stack.pitch == asked.get("pitch", layout.stack.pitch)
    if "input_faces" in asked:
        assert {pin.face for pin in layout.inputs} == {Direction.NX}
        assert {pin.face for pin in layout.outputs} == {Direction.PX}


def test_a_rule_table_of_the_user_is_kept() -> None:
    slow = Rules(reach=2, buffer_delays=(2,))
    outcome = solve(
        Spec.parse("q = a", length=5, width=1, height=2, delay=6, joint="wire"), rules=slow
    )
    assert check(found(outcome), rules=slow).passes
    assert "reach 2 and buffer delays 2" in outcome.claim


def test_nothing_can_be_taken_from_a_tidy_layout() -> None:
    spec = Spec.parse("q = a & ~b", **STACKED, delay=2)
    layout = found(solved("q = a & ~b", workers=2))
    for cell in layout.cells:
        assert not check(layout.with_cells({cell: None}), spec).passes, cell


@pytest.mark.parametrize(
    "names", [*((name,) for name in ACCELERATIONS if name not in SHAPING), SHAPING], ids=str
)
def test_an_acceleration_left_out_changes_no_answer(names: tuple[str, ...]) -> None:
    """Those that shape a formula go together: each keeps its layouts (``test_implied``)."""
    for text in (NOR, "q = a & b"):
        without = solve(Spec.parse(text, **STACKED, delay=2), workers=2, without=names)
        assert found(without).volume == found(solved(text)).volume
    hopeless = Spec.parse(XOR, length=2, width=2, height=3, delay=2)
    assert solve(hopeless, without=names).status is Status.IMPOSSIBLE


@pytest.mark.parametrize("prefer", SUPPORTS)
def test_supports_are_of_the_kind_preferred(prefer: str) -> None:
    """A cube or shelf of another kind is there only where the preferred kind would not do."""
    spec = Spec.parse(XOR, width=2, stack="y", delay=2)
    right = stored_layout("xor2")
    layout, verdict = tidy(right, spec, delay=2, prefer=prefer)
    assert verdict.passes
    assert SUPPORTS[prefer] in layout.cells.values()
    for cell, block in layout.cells.items():
        if block in SUPPORTS.values() and block != SUPPORTS[prefer]:
            assert check(layout.with_cells({cell: SUPPORTS[prefer]}), spec) != verdict, cell


@pytest.mark.parametrize("solver", SOLVERS)
def test_every_solver_of_the_table_answers_both_ways(solver: str) -> None:
    spec = Spec.parse(NOR, stack="y")
    assert solve_box(spec, (1, 2, 3), 1, solver=solver).status is Status.FOUND
    assert solve_box(spec, (1, 2, 2), 1, solver=solver).status is Status.IMPOSSIBLE


def test_a_time_limit_stops_and_is_not_impossible() -> None:
    log = Log()
    spec = Spec.parse("s = a ^ b ^ c; q = a & b | c & (a ^ b)", length=6, width=2, height=6)
    # No solver decides it within hours.
    outcome = solve_box(spec.replace(limits=Limits()), (6, 2, 6), 4, time_limit_s=0.1, reporter=log)
    assert outcome.status is Status.UNDECIDED
    assert "time limit of 0.1 seconds" in outcome.reason
    assert_balanced(log)
    assert log.events[-1] == SearchEnded("undecided", log.events[-1].seconds)  # type: ignore[union-attr]


def test_what_is_hard_is_left_open_and_returned_to(clock: Clock) -> None:
    """Too small a share for the box before the smallest: a layout is found all the same, the
    box is asked again with more time, and the answer is that of a search without a limit.
    """
    before = (3, 2, 1)
    log = TooHard(clock, before, share_s=100.0)
    left_out = ("structure", "above")
    spec = Spec.parse("q = a & b", **STACKED, delay=2)
    options: dict[str, Any] = {"without": left_out, "fewest_parts": False}
    outcome = solve(spec, time_limit_s=1000, reporter=log, workers=1, **options)
    ends = [event for event in log.events if isinstance(event, BoxEnded)]
    assert [event.size for event in ends if event.answer == "undecided"] == [before]
    assert {event.answer for event in ends if event.size == before} == {"undecided", "impossible"}
    assert ends[-1].size == before
    assert_balanced(log)
    assert found(outcome).volume == found(solved("q = a & b")).volume == 8


@pytest.mark.parametrize(
    ("waited_s", "answers"), [(100.0, {"impossible"}), (300.0, {"undecided", "impossible"})]
)
def test_a_question_that_others_keep_from_the_processor_gets_its_share_later(
    waited_s: float, answers: set[str], clock: Clock
) -> None:
    """By the clock its share of 62.5 seconds is over, and it has had none of it. It is given up
    only once it has waited for four times as long.
    """
    waits = (3, 2, 1)
    log = TooHard(clock, waits, share_s=waited_s)
    spec = Spec.parse("q = a & b", **STACKED, delay=2)
    options: dict[str, Any] = {"without": ("structure", "above"), "fewest_parts": False}
    # The clock has patched this as well: what is patched last must be undone first.
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Crew, "processor_seconds", lambda crew, future: 0.0)
        outcome = solve(spec, time_limit_s=1000, reporter=log, workers=1, **options)
    ends = [event for event in log.events if isinstance(event, BoxEnded)]
    assert {event.answer for event in ends if event.size == waits} == answers
    assert found(outcome).volume == 8


def test_an_undecided_search_gives_its_bound(clock: Clock) -> None:
    """The time is over after fifteen boxes: the first of those left open is the bound."""
    spec = Spec.parse("s = a ^ b; c = a & b", length=5, width=2, height=5, delay=3, stack="y")
    log = RunsOut(clock, 15)
    left_out = ("structure", "above", "tallest")
    outcome = solve(spec, time_limit_s=100, workers=2, without=left_out, reporter=log)
    assert outcome.status is Status.UNDECIDED
    told = re.search(r"no layout of volume below (\d+)", outcome.reason)
    assert told is not None
    assert int(told[1]) == outcome.stats.bound > 1
    assert "open: " in outcome.reason


def test_every_start_has_its_end() -> None:
    log = Log()
    found(solve(Spec.parse(NOR, **STACKED, delay=1), reporter=log, workers=2))
    assert isinstance(log.events[0], SearchStarted)
    assert_balanced(log)


def assert_balanced(log: Log | TooHard) -> None:
    started = Counter(
        (event.number, event.size, event.delay)
        for event in log.events
        if isinstance(event, BoxStarted)
    )
    ended = Counter(
        (event.number, event.size, event.delay)
        for event in log.events
        if isinstance(event, BoxEnded)
    )
    assert started == ended
    assert sum(isinstance(event, SearchEnded) for event in log.events) == 1


def test_a_layout_that_the_simulator_rejects_is_refused_and_kept(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from synth.medium import RuleId

    def reject(layout: Layout, *_: object, **__: object) -> tuple[Layout, Verdict]:
        fault = Fault(RuleId.FUNCTION, (0, 0, 0), "output 'q' reads 0")
        return layout, Verdict(True, False, None, None, {"q": "0000"}, (fault,))

    monkeypatch.setattr("synth.search.workers.judged.tidy", reject)
    log = Log()
    outcome = solve(Spec.parse(NOR, **STACKED, delay=1), reporter=log, workers=1)
    assert outcome.status is Status.REFUSED
    assert outcome.layout is not None
    assert "output 'q' reads 0" in outcome.reason
    assert_balanced(log)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"solver": "cadical"}, "no solver 'cadical'; did you mean cadical"),
        ({"prefer": "wood"}, "no support 'wood'"),
        ({"workers": 0}, "0 workers"),
        ({"minimize": ["size"]}, "no measure 'size'"),
        ({"without": ["speed"]}, "no acceleration 'speed'; use one of symmetry, order, monotone"),
    ],
)
def test_what_cannot_be_used_is_refused(arguments: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=message):
        solve(Spec.parse(NOR), **arguments)


def test_a_signal_that_would_fade_is_no_layout() -> None:
    """Too long a wire: the first answer runs beyond the reach, the second counts its links."""
    spec = Spec.parse("q = a", input_faces="-x", output_faces="+x", joint="wire")
    near, far = (solve_box(spec, (length, 1, 2), 0) for length in (13, 14))
    assert found(near).length == 13
    assert far.status is Status.IMPOSSIBLE


def test_a_formula_beyond_all_bounds_is_undecided_not_tried() -> None:
    outcome = solve_box(Spec.parse("q = a ^ b ^ c ^ d ^ e"), (60, 60, 60), 20)
    assert outcome.status is Status.UNDECIDED
    assert "clauses" in outcome.reason


def test_a_plain_script_can_search() -> None:
    """No main guard, no notebook trick: the workers start in any program."""
    script = (
        "import synth\n"
        "spec = synth.Spec.parse('q = ~a', length=2, width=1, height=2, delay=1)\n"
        "print(synth.solve(spec).status)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "found"
    assert done.stderr == ""


def test_layouts_that_are_given_are_answers_as_well_and_are_shrunk() -> None:
    """One that is wrong, or has other joints, counts for nothing."""
    spec = Spec.parse(XOR, **STACKED, delay=2, joint="buffer")
    right = found(solve(spec, time_limit_s=100, workers=1))
    wrong = right.replace(cells={})
    wired = right.replace(pins=tuple(replace(pin, joint=Joint.WIRE) for pin in right.pins))
    log = Log()
    short: dict[str, Any] = {"time_limit_s": 0.1, "workers": 1, "reporter": log}
    outcome = solve(spec, starts=[wrong, wired, right], **short)
    assert outcome.layout is not None
    assert outcome.layout.volume == right.volume
    for starts in ([], [wrong, wired]):
        best = solve(spec, starts=starts, **short).layout
        assert best is None or best.volume > right.volume


def test_a_layout_with_other_pins_is_refused_as_a_start() -> None:
    spec = Spec.parse(NOR, **STACKED, delay=2)
    other = found(solved("y = ~(p | r)"))
    with pytest.raises(InputError, match="no input 'a'"):
        solve(spec, starts=[other], time_limit_s=1)


def test_a_buffer_that_no_rule_knows_is_refused() -> None:
    spec = Spec.parse("q = ~a", length=3, width=1, height=2, delay=1)
    spec = spec.replace(fixed={(1, 0, 0): buffer(Direction.PX, 7)})
    with pytest.raises(InputError, match=r"\[1, 0, 0\] is to hold a buffer of 7 ticks") as refused:
        solve(spec)
    assert refused.value.place == "cells.fixed"
    known = spec.replace(fixed={(1, 0, 0): buffer(Direction.PX, 4)})
    assert solve(known).status in (Status.FOUND, Status.IMPOSSIBLE)


def test_a_chain_needs_buffers_of_one_tick() -> None:
    chain = Spec.parse("co = a | ci", stack="x", chain=[("co", "ci")], joint="buffer")
    with pytest.raises(InputError, match="a link is a buffer of 1 tick"):
        solve(chain, rules=Rules(buffer_delays=(2,)))


def test_a_box_that_is_assumed_has_the_cells_that_pins_need() -> None:
    spec = Spec.parse("q = a", width=1, height=2, delay=3)
    spec = spec.replace(pins={**spec.pins, "a": replace(spec.pins["a"], at=(7, 0, 0))})
    problem, assumed = Problem.of(spec)
    assert problem.limits.length == 8
    assert "length at most 8 cells" in assumed
