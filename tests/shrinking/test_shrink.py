"""Shrinking never returns what is worse, wrong or breaks a limit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from synth.composing import compose
from synth.composing.constructions import OF_SLICES
from synth.errors import InputError
from synth.layout import Layout, MadeFor
from synth.layout.made_for import Table
from synth.medium import LEDGE, SOLID, WIRE, Direction, buffer, inverter
from synth.questions.measures import measured
from synth.shrinking import Shrunk, own_spec, shrink
from synth.shrinking.events import Gained, MoveEnded, ShrinkingEnded, ShrinkingStarted
from synth.simulator import check
from synth.simulator.rows import check_row
from synth.spec import BooleanFunction, Limits, Spec
from synth.spec.targets import load_target
from tests.shrinking.layouts import NOT, XOR, padded
from tests.waiting import Log

RECORDS = Path(__file__).parents[2] / "benchmarks" / "records"

LITTLE = 2_000
"""Effort for a few windows of a small layout."""


def holds(done: Shrunk, spec: Spec, delay: int) -> None:
    """What comes out is right, and as good as what went in."""
    verdict = check(done.layout, spec, delay=delay)
    assert verdict.passes, verdict.faults
    assert verdict == done.verdict
    assert done.layout.volume <= done.start.volume


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(padded(XOR), st.sampled_from(["fixed", "face", "free"]), st.integers(0, 9))
def test_padded_layouts_come_back_small(layout: Layout, pins: str, seed: int) -> None:
    """Junk on top and beside goes by the simulator alone; what junk spoilt is refused."""
    if not check(layout).passes:
        with pytest.raises(InputError, match="not right"):
            shrink(layout, pins=pins, effort=LITTLE)
        return
    if any("x" in column for column in (check(layout).outputs or {}).values()):
        with pytest.raises(InputError, match="stays unknown"):
            shrink(layout, pins=pins, effort=LITTLE)
        return
    spec = own_spec(layout)
    delay = check(layout, spec).delay
    assert delay is not None
    done = shrink(layout, pins=pins, effort=LITTLE, seed=seed)
    holds(done, spec, delay)
    if pins == "free":
        assert done.layout.volume <= XOR.volume
        assert done.layout.part_count <= XOR.part_count
    scores = [gain.judged.score for gain in done.gains]
    assert scores == sorted(set(scores), reverse=True)


@pytest.mark.parametrize("pins", ["fixed", "free"])
def test_pins_stay_where_they_must(pins: str) -> None:
    tall = XOR.replace(size=(XOR.length, XOR.width, XOR.height + 2))
    tall = tall.with_cells({(0, 0, XOR.height + 1): SOLID, (3, 1, XOR.height): SOLID})
    done = shrink(tall, pins=pins, effort=6_000)
    before = {pin.name: pin for pin in tall.pins}
    assert done.layout.height <= XOR.height
    for pin in done.layout.pins:
        assert pin.joint is before[pin.name].joint
        if pins == "fixed":
            assert pin.face is before[pin.name].face
            assert pin.at[1:] == before[pin.name].at[1:]


def test_on_ground_nothing_needs_to_be_held_up() -> None:
    """A layout that needs no ground stands on it as well, and goes without its lowest layer."""
    layout = Layout.load(RECORDS / "adder_slice_layout.json")
    spec = load_target("full-adder-slice").replace(ground=True)
    done = shrink(layout, spec, pins="free", effort=1)
    assert done.start.volume == layout.volume == 72
    assert done.layout.ground
    assert done.layout.size == (6, 2, 5)
    verdict = check(done.layout, spec)
    assert verdict.passes
    assert verdict.delay is not None
    assert verdict.link_delay is not None
    due = verdict.delay + 7 * verdict.link_delay
    row = check_row(done.layout, spec.function, 8, due=due)
    assert (row.every, row.wrong) == (True, "")


@pytest.mark.parametrize("measure", ["volume", "floor", "length", "width", "height", "parts"])
def test_the_measure_asked_never_gets_worse(measure: str) -> None:
    wide = XOR.replace(stack=None, size=(XOR.length, XOR.width + 1, XOR.height))
    done = shrink(wide, minimize=[measure], pins="face", effort=4_000)
    before, after = (measured(layout, None, measure) for layout in (wide, done.layout))
    assert before is not None
    assert after is not None
    assert after <= before
    if measure in ("volume", "floor", "width"):
        assert after < before


def test_a_smallest_layout_stays_as_large_as_it_is_proven_to_be() -> None:
    """Nothing computes the complement in less than an inverter and its host."""
    done = shrink(NOT, pins="free", time_limit_s=None)
    assert done.layout.volume == 2
    assert done.layout.part_count == 2
    assert done.gains == ()
    assert done.reason == "nothing new is left to try"


def test_limits_and_delay_are_kept() -> None:
    """A trade may not make the box longer than is asked, nor anything slower."""
    spec = own_spec(XOR).replace(limits=Limits(length=4, width=2, height=4, delay=2))
    done = shrink(XOR, spec, pins="free", effort=10_000, seed=3)
    holds(done, spec, 2)
    slower = shrink(XOR, delay=3, pins="free", effort=3_000)
    assert slower.verdict.delay is not None
    assert slower.verdict.delay <= 3


def test_what_breaks_limits_is_brought_within_them_first() -> None:
    """At the price of volume, if need be: a trade of width for length."""
    turned_up = XOR.replace(stack=None, size=(XOR.length, XOR.width, XOR.height + 2))
    spec = own_spec(XOR).replace(stack=None, limits=Limits(height=XOR.height, delay=2))
    done = shrink(turned_up, spec, pins="free", effort=3_000)
    assert done.keeps_limits
    assert check(done.layout, spec).passes
    spec = spec.replace(limits=Limits(height=1))
    done = shrink(turned_up, spec, pins="free", effort=3_000)
    assert not done.keeps_limits
    assert done.layout.height < turned_up.height
    scores = [gain.judged.score for gain in done.gains]
    assert scores == sorted(set(scores), reverse=True)


def test_what_is_too_slow_is_made_quicker_first() -> None:
    """Two buffers behind each other where one does."""
    cells = {(x, 0, 0): SOLID for x in range(4)} | {
        (0, 0, 1): WIRE,
        (1, 0, 1): buffer(Direction.PX, 1),
        (2, 0, 1): buffer(Direction.PX, 1),
        (3, 0, 1): WIRE,
    }
    a = replace(NOT.inputs[0], at=(0, 0, 1))
    q = replace(NOT.outputs[0], at=(3, 0, 1))
    slow = Layout((4, 1, 2), cells, (a, q))
    done = shrink(slow, delay=1, minimize=["parts"], pins="free", effort=20_000)
    assert done.keeps_limits
    assert done.verdict.delay is not None
    assert done.verdict.delay <= 1


def test_cells_that_are_asked_for_stay() -> None:
    cell, block = next((c, b) for c, b in XOR.cells.items() if b == SOLID)
    limits = Limits(length=4, width=2, height=4)
    spec = own_spec(XOR).replace(limits=limits, fixed={cell: block}, empty=frozenset())
    done = shrink(XOR, spec, minimize=["parts"], pins="free", effort=6_000)
    assert done.layout.cells[cell] == block
    assert done.layout.size == XOR.size


def test_the_same_seed_gives_the_same_result() -> None:
    padded_layout = XOR.replace(size=(4, 2, 5)).with_cells({(2, 1, 4): SOLID})
    runs = [shrink(padded_layout, pins="free", effort=8_000, seed=5) for _ in range(2)]
    assert runs[0].layout == runs[1].layout
    assert runs[0].effort == runs[1].effort
    assert [gain.judged for gain in runs[0].gains] == [gain.judged for gain in runs[1].gains]


def test_in_a_large_layout_what_is_idle_is_seen_and_the_rest_kept(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As if the exclusive-or were large: only parts that nothing rests on are tried."""
    from synth.shrinking import loop

    monkeypatch.setattr(loop, "PRUNED_WHOLE", 0)
    # An inverter on the far side of nothing that matters, with its host and a shelf on top.
    size = (XOR.length, XOR.width + 4, XOR.height)
    y = XOR.width + 2
    junk = {
        (1, y, 1): SOLID,
        (2, y, 1): inverter(Direction.NX),
        (2, y, 2): LEDGE,
        (1, y, 2): WIRE,
    }
    done = shrink(XOR.replace(size=size, stack=None).with_cells(junk), pins="free", effort=1)
    assert not any(cell[1] >= XOR.width for cell in done.layout.cells if cell in junk)
    assert done.layout.part_count <= XOR.part_count + 1
    assert check(done.layout, own_spec(XOR).replace(stack=None), delay=2).passes


def test_functions_of_many_rows_are_shrunk_by_some_rows_at_a_time() -> None:
    """Seven inputs beside each other, one of which matters: 128 rows."""
    pins = [
        replace(pin, at=(0, 2 * number, 0), name=name)
        for number, name in enumerate("abcdefg")
        for pin in NOT.inputs
    ]
    q = replace(NOT.outputs[0], at=(1, 0, 0))
    wide = NOT.replace(size=(2, 13, 3), pins=(*pins, q))
    done = shrink(wide, pins="free", effort=6_000)
    assert check(done.layout, own_spec(wide)).passes
    assert done.layout.volume < wide.volume


def test_every_gain_is_told() -> None:
    watching = Log()
    done = shrink(XOR.replace(size=(4, 2, 6)), pins="free", effort=LITTLE, reporter=watching)
    assert isinstance(watching.events[0], ShrinkingStarted)
    assert isinstance(watching.events[-1], ShrinkingEnded)
    gains = [event for event in watching.events if isinstance(event, Gained)]
    assert [event.size for event in gains] == [gain.judged.layout.size for gain in done.gains]
    assert gains[-1].size == done.layout.size
    assert any(isinstance(event, MoveEnded) for event in watching.events)


def test_helpers_side_by_side_shrink_as_well_and_are_gone_afterwards(tmp_path: Path) -> None:
    watching = Log()
    done = shrink(XOR, pins="free", effort=3_000, workers=2, reporter=watching)
    holds(done, own_spec(XOR), 2)
    assert any(isinstance(event, MoveEnded) for event in watching.events)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({"minimize": ["weight"]}, "no measure 'weight'"),
        ({"pins": "loose"}, "no way to hold pins"),
        ({"workers": 0}, "0 workers"),
        ({"solver": "kissat404"}, "cannot be given a budget"),
    ],
)
def test_what_cannot_be_used_is_refused(arguments: dict[str, object], says: str) -> None:
    with pytest.raises(InputError, match=says):
        shrink(XOR, **arguments)  # type: ignore[arg-type]


def test_layouts_that_are_not_right_are_refused() -> None:
    with pytest.raises(InputError, match="not right"):
        shrink(NOT.with_cells({(0, 0, 0): WIRE}))
    with pytest.raises(InputError, match="no outputs"):
        shrink(NOT.replace(pins=NOT.pins[:1]))
    other = replace(own_spec(NOT).function, outputs={"q": "01"})
    with pytest.raises(InputError, match="not right"):
        shrink(NOT, own_spec(NOT).replace(function=other))


@pytest.mark.parametrize("asked", [None, Spec.parse("po = a ^ pi")])
def test_a_slice_stays_a_slice(asked: Spec | None) -> None:
    """With its chain, and links no later than they were, unless that is asked."""
    made = compose(load_target("parity-slice"), constructions=OF_SLICES).layout
    assert made is not None
    before = check(made)
    done = shrink(made, asked, pins="free", effort=LITTLE)
    assert done.layout.volume < made.volume
    assert done.layout.chain == made.chain
    after = check(done.layout, load_target("parity-slice"))
    assert after.passes, after.faults
    assert after.link_delay is not None
    assert before.link_delay is not None
    assert after.link_delay <= before.link_delay


def test_the_delay_of_links_is_a_measure_of_slices_only() -> None:
    data = Path(__file__).resolve().parents[1] / "data"
    slice_ = Layout.load(data / "and_slice.json")
    done = shrink(slice_, minimize=("link", "volume"), effort=4_000, time_limit_s=None)
    before = check(slice_).link_delay
    assert before is not None
    assert done.verdict.link_delay is not None
    assert done.verdict.link_delay <= before
    assert done.layout.volume <= slice_.volume
    with pytest.raises(InputError, match="the layout has no chain"):
        shrink(Layout.load(data / "xor2.json"), minimize=("link",))


ROOMY = NOT.replace(size=(2, 1, 4)).with_cells({(0, 0, 3): SOLID})

GAP = MadeFor(Table(("a",), ("q",), ("0 1", "1 -")), 3)


def test_what_it_was_made_for_stays() -> None:
    """With don't-cares, the delay that it allows, and its name."""
    given = ROOMY.replace(name="gap", made_for=GAP)
    done = shrink(given, effort=LITTLE)
    assert done.layout.volume < given.volume
    assert (done.layout.name, done.layout.made_for) == ("gap", GAP)
    assert done.gains[-1].judged.layout.made_for == GAP
    assert shrink(given, delay=2, effort=LITTLE).layout.made_for == replace(GAP, delay=2)
    least = shrink(given, minimize=("delay",), effort=LITTLE)
    assert least.layout.made_for == replace(GAP, delay=least.verdict.delay)


def test_what_is_asked_is_what_the_result_was_made_for() -> None:
    asked = shrink(ROOMY, Spec.parse("q = ~a"), effort=LITTLE)
    assert asked.layout.made_for == MadeFor("q = ~a", 1)
    asked = shrink(ROOMY.replace(made_for=GAP), Spec.parse("q = ~a", delay=2), effort=LITTLE)
    assert asked.layout.made_for == MadeFor("q = ~a", 2)


def test_a_layout_that_does_not_do_what_it_was_made_for_is_refused() -> None:
    with pytest.raises(InputError, match="not right"):
        shrink(NOT.replace(made_for=MadeFor("q = a")))


def test_the_order_of_inputs_makes_no_other_function() -> None:
    given = XOR.replace(made_for=MadeFor("q = a & ~b | ~a & b", 9))
    turned = Spec(BooleanFunction(("b", "a"), {"q": "0110"}))
    done = shrink(given, turned, effort=1)
    assert done.layout.made_for == given.made_for


def test_a_delay_that_is_asked_and_not_kept_is_what_was_asked() -> None:
    done = shrink(XOR, delay=1, minimize=("delay",), effort=1)
    assert not done.keeps_limits
    assert done.layout.made_for is not None
    assert done.layout.made_for.delay == 1


@pytest.mark.parametrize("measure", ["volume", "delay"])
def test_a_file_that_says_too_little_delay_is_put_right(measure: str) -> None:
    given = XOR.replace(made_for=MadeFor("q = a ^ b", 1))
    done = shrink(given, minimize=(measure,), effort=1)
    assert done.layout.made_for == MadeFor("q = a ^ b", done.verdict.delay)
    assert done.verdict.delay == 2
