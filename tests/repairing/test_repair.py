"""Repair finds the fewest changes, keeps what is locked, and says what it ruled out."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import combinations, product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.errors import InputError
from synth.layout import Layout, MadeFor, Stack
from synth.medium import (
    CLEAR,
    HOST_DIRECTIONS,
    LEDGE,
    LEVEL_DIRECTIONS,
    SOLID,
    WIRE,
    Block,
    Cell,
    Direction,
    Part,
    Rules,
    buffer,
    inverter,
)
from synth.questions.outcome import Status
from synth.repairing import naming, repair, repairer, solving
from synth.repairing.asked import Asked
from synth.repairing.naming import Naming
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import Limits, PinDemand, Spec
from tests.reviewing.planted import BUFFERED, GATE, LINE, NOT, SAME, XOR, XOR2, line
from tests.shrinking.layouts import NOT as SMALLEST
from tests.simulator.build import box, enters, leaves, to

TINY = (2, 1, 2)
BLOCKS: tuple[Block | None, ...] = (
    None,
    SOLID,
    CLEAR,
    LEDGE,
    WIRE,
    *map(inverter, HOST_DIRECTIONS),
    *(buffer(way, delay) for way in LEVEL_DIRECTIONS for delay in (1, 2)),
)
CELLS = tuple(product(*map(range, TINY)))


def least_by_trying(layout: Layout, spec: Spec, cells: tuple[Cell, ...] = CELLS) -> int | None:
    """The fewest changed cells, up to 2, by trying all that there are."""
    if check(layout, spec).passes:
        return 0
    for count in (1, 2):
        for chosen in combinations(cells, count):
            for blocks in product(BLOCKS, repeat=count):
                if check(layout.with_cells(dict(zip(chosen, blocks, strict=True))), spec).passes:
                    return count
    return None


@settings(max_examples=12)
@given(
    st.lists(st.sampled_from(BLOCKS), min_size=4, max_size=4),
    st.sampled_from(["q = a", "q = ~a"]),
    st.booleans(),
)
def test_fewest_changes_are_the_fewest(
    blocks: list[Block | None], text: str, locks_one: bool
) -> None:
    cells = {cell: block for cell, block in zip(CELLS, blocks, strict=True) if block is not None}
    pins = (enters("a", (0, 0, 1), "-x"), leaves("q", (1, 0, 1), "+x"))
    layout = box(TINY, cells, *pins)
    spec = Spec.parse(text, delay=2)
    locked = CELLS[:1] if locks_one else ()
    mended = repair(layout, spec, locked=locked)
    least = least_by_trying(layout, spec, CELLS[len(locked) :])
    if least is None:
        assert mended.status is Status.IMPOSSIBLE or mended.changes > 2
    else:
        assert mended.status is Status.FOUND
        assert mended.changes == least
        assert mended.layout is not None
        assert check(mended.layout, spec).passes
        assert all(mended.layout.cells.get(cell) == cells.get(cell) for cell in locked)


def broken_twice() -> Layout:
    """An exclusive-or without two of its inverters."""
    gone = [cell for cell, block in XOR2.cells.items() if block.part is Part.INVERTER][:2]
    return XOR2.with_cells(dict.fromkeys(gone))


def test_no_single_change_does_these_two_do() -> None:
    mended = repair(broken_twice(), XOR)
    assert mended.status is Status.FOUND
    assert mended.changes == 2
    assert mended.ruled_out == 2
    assert "1 or fewer were ruled out by the solver" in mended.claim
    assert mended.layout is not None
    assert check(mended.layout, XOR).passes
    assert len(mended.words()) == 2
    for change in mended.cells:
        assert mended.layout.cells.get(change.at) == change.after
        assert broken_twice().cells.get(change.at) == change.before
    json.dumps(mended.document())


def test_what_is_right_needs_no_change() -> None:
    mended = repair(XOR2, XOR)
    assert (mended.status, mended.changes) == (Status.FOUND, 0)
    assert mended.layout == XOR2


def test_a_window_keeps_all_else() -> None:
    layout = LINE.with_cells({(2, 0, 1): None, (3, 0, 1): None})
    window = [(2, 0, 1), (3, 0, 1)]
    mended = repair(layout, SAME, window=window)
    assert mended.status is Status.FOUND
    assert {change.at for change in mended.cells} == set(window)
    nowhere = repair(layout, SAME, window=[(2, 0, 1)])
    assert nowhere.status is Status.IMPOSSIBLE
    assert "in the 1 cell that might change" in nowhere.reason
    assert repair(layout, SAME, locked=list(product(range(5), (0,), (0, 1)))).status is (
        Status.IMPOSSIBLE
    )


def test_impossible_where_time_is_too_short() -> None:
    mended = repair(GATE.with_cells({(2, 0, 1): None}), NOT, delay=0)
    assert mended.status is Status.IMPOSSIBLE
    assert mended.layout is None
    assert mended.claim == ""


def test_a_slow_buffer_keeps_its_delay_where_it_may() -> None:
    # A buffer of 3 ticks is known off after 5.
    slow = line(5, x1=to("+x", 3)).with_cells({(3, 0, 1): None})
    kept = repair(slow, SAME, delay=5)
    assert kept.changes == 1
    assert kept.layout is not None
    assert kept.layout.cells[1, 0, 1] == to("+x", 3)
    quick = repair(slow, SAME, delay=1)
    assert quick.changes == 2
    assert quick.layout is not None
    assert quick.layout.cells[1, 0, 1] == to("+x", 1)


def test_a_limit_of_time_is_never_an_impossible(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solving.Limits, "reached", property(lambda self: True))
    mended = repair(broken_twice(), XOR, time_limit_s=1e9)
    assert mended.status is Status.UNDECIDED
    assert "time limit" in mended.reason
    assert "no number of changes was ruled out" in mended.reason


def test_it_can_be_stopped() -> None:
    mended = repair(broken_twice(), XOR, stop=lambda: True)
    assert mended.status is Status.UNDECIDED
    assert mended.reason.startswith("it was stopped")


def test_a_large_layout_is_mended_in_a_window(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(repairer, "all_at_once", lambda asked: False)
    said: list[str] = []
    layout = line(9).with_cells({(4, 0, 1): None, (5, 0, 1): None})
    mended = repair(layout, SAME, progress=said.append)
    assert mended.status is Status.FOUND
    assert mended.changes == 2
    assert "around what is at fault" in mended.claim
    assert any("around what is at fault" in text for text in said)


def test_faults_that_trials_mend_one_by_one_are_a_first_answer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(repairer, "all_at_once", lambda asked: False)
    monkeypatch.setattr(repairer, "windows_around", lambda asked, suspects: [])
    layout = line(9).with_cells({(2, 0, 0): None, (6, 0, 0): None})
    mended = repair(layout, SAME)
    assert mended.status is Status.UNDECIDED
    assert mended.changes == 2
    assert mended.layout is not None
    assert check(mended.layout, SAME).passes


def test_a_pitch_that_is_too_small_is_stated_anew() -> None:
    narrow = XOR2.replace(stack=Stack("y", 1))
    mended = repair(narrow, Spec.parse("q = a ^ b", delay=2))
    assert (mended.status, mended.changes) == (Status.FOUND, 0)
    assert mended.words() == ["state a pitch of 2 along y"]


def test_without_a_function_it_keeps_what_is_known() -> None:
    slow = BUFFERED.with_cells({(1, 0, 1): to("+x", 4)})
    assert repair(slow, delay=1).changes == 1
    with pytest.raises(InputError, match="nothing says what the layout should do"):
        repair(BUFFERED.with_cells({(1, 0, 0): None}))


def test_cells_outside_the_box_are_refused() -> None:
    with pytest.raises(InputError, match="outside the box"):
        repair(LINE, SAME, locked=[(9, 9, 9)])


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        ({"length": 4}, "the length of the box is 5, more than the 4 asked"),
        ({"volume": 9}, "the volume of the box is 10, more than the 9 asked"),
        ({"floor": 4}, "the floor of the box is 5, more than the 4 asked"),
    ],
)
def test_a_box_that_breaks_limits_is_refused(limits: dict[str, int], says: str) -> None:
    with pytest.raises(InputError, match=says) as refused:
        repair(LINE, SAME.replace(limits=Limits(**limits)))
    assert refused.value.place == f"limits.{next(iter(limits))}"
    assert repair(LINE, SAME.replace(limits=Limits(length=5, volume=10, floor=5))).changes == 0


def test_cells_asked_for_in_another_box_are_refused() -> None:
    empty = frozenset({(0, 0, 2)})
    asked = SAME.replace(empty=empty, limits=Limits(length=5, width=1, height=3))
    with pytest.raises(InputError, match="in a box whose height is 3; it is 2 here"):
        repair(LINE, asked)


def test_parts_are_counted() -> None:
    """Two clear cubes are more than an inverter and its host; nothing is less than those."""
    loose = box(
        (2, 1, 2),
        {(0, 0, 0): SOLID, (1, 0, 0): inverter(Direction.NX), (1, 0, 1): CLEAR, (0, 0, 1): CLEAR},
        enters("a", (0, 0, 0), "-x"),
        leaves("q", (1, 0, 0), "+x"),
    )
    mended = repair(loose, NOT.replace(limits=Limits(parts=2)))
    assert (mended.status, mended.changes) == (Status.FOUND, 2)
    assert mended.layout is not None
    assert mended.layout.part_count == 2
    assert "within 1 tick with at most 2 parts" in mended.claim
    none = repair(loose, NOT.replace(limits=Limits(parts=1)))
    assert none.status is Status.IMPOSSIBLE
    assert "with at most 1 part" in none.reason
    locked = repair(loose, NOT.replace(limits=Limits(parts=2)), locked=[(1, 0, 1), (0, 0, 0)])
    assert locked.status is Status.IMPOSSIBLE


def test_what_is_claimed_holds_for_pins_that_stay() -> None:
    """Claims say so, where pins had to stay and only there."""
    stays = "with its pins where they are"
    two = repair(broken_twice(), XOR)
    assert f"in the whole box, {stays}, within 2 ticks" in two.claim
    assert stays in str(two.document()["claim"])
    none = repair(LINE, NOT, delay=0)
    assert none.status is Status.IMPOSSIBLE
    assert f"in the whole box, {stays}" in none.reason
    assert "'gatefit solve' looks for a layout with its pins elsewhere" in none.reason
    moved = repair(LINE, Spec.parse("q = a", delay=0, input_faces=["-y"]))
    assert moved.pins
    assert stays not in moved.scope


def test_where_no_cell_may_change_a_pin_may_move() -> None:
    asked = Spec.parse("q = a", input_faces=["-y"])
    moved = repair(LINE, asked, locked=list(product(range(5), (0,), (0, 1))))
    assert moved.status is Status.FOUND
    assert (len(moved.cells), len(moved.pins)) == (0, 1)


FORCED = Spec.parse("q = ~a").replace(
    pins={
        "a": PinDemand(at=(0, 0, 0), faces=(Direction.NX,)),
        "q": PinDemand(at=(1, 0, 0), faces=(Direction.PX,)),
    }
)
"""Each pin has one place to be; that of the input is another one than in ``TURNED``."""

TURNED = SMALLEST.replace(pins=(replace(SMALLEST.pins[0], face=Direction.NY), SMALLEST.pins[1]))


def test_a_pin_with_one_place_to_be_that_is_not_its_own_moves_there() -> None:
    """However few cells may change; the move counts, and nothing is said of pins that stay."""
    locked = repair(TURNED, FORCED, locked=[(0, 0, 0), (1, 0, 0)])
    assert (locked.status, len(locked.cells), len(locked.pins)) == (Status.FOUND, 0, 1)
    both = repair(TURNED.with_cells({(1, 0, 0): None}), FORCED, delay=1)
    assert (both.status, len(both.cells), len(both.pins)) == (Status.FOUND, 1, 1)
    assert both.ruled_out == 2
    assert "in the whole box, within" in both.claim


def test_a_forced_move_of_a_pin_is_counted_by_the_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    """One change is ruled out at once: none of its models is a layout with two."""
    solve, found = solving._Asker.solve, []

    def spied(self: solving._Asker, changes: int | None, conflicts: int | None = None) -> object:
        found.append((changes, solve(self, changes, conflicts)))
        return found[-1][1]

    monkeypatch.setattr(repairer._Work, "_single_change", lambda self: [])
    monkeypatch.setattr(solving, "PROBE_CONFLICTS", 0)
    monkeypatch.setattr(solving._Asker, "solve", spied)
    mended = repair(TURNED.with_cells({(1, 0, 0): None}), FORCED, delay=1)
    assert (mended.status, mended.changes, mended.ruled_out) == (Status.FOUND, 2, 2)
    assert (1, False) in found
    assert (1, True) not in found


def test_the_delay_that_it_was_made_for_is_asked_of_another_function_too() -> None:
    made = LINE.replace(made_for=MadeFor("q = a", 1))
    other = repair(made, Spec.parse("q = ~a"))
    assert other.assumed == ()
    assert "within 1 tick" in (other.reason or other.claim)
    assert repair(made, Spec.parse("q = ~a", delay=0)).status is Status.IMPOSSIBLE
    assert repair(LINE, Spec.parse("q = ~a")).assumed


def test_it_says_that_it_was_made_for_what_was_asked() -> None:
    broken = LINE.with_cells({(2, 0, 1): None}).replace(made_for=MadeFor("q = ~a", 2))

    def purpose(layout: Layout, spec: Spec | None, delay: int | None) -> MadeFor | None:
        mended = repair(layout, spec, delay=delay).layout
        assert mended is not None
        return mended.made_for

    assert purpose(broken, SAME, 1) == MadeFor("q = a", 1)
    assert purpose(broken, SAME, None) == MadeFor("q = a", 2)
    asked = broken.replace(made_for=MadeFor("q = a", 2))
    assert purpose(asked, None, None) == MadeFor("q = a", 2)
    assert purpose(asked, None, 5) == MadeFor("q = a", 5)
    assert purpose(LINE, None, None) is None


WEAK = Rules(reach=3)

LOOSE = Layout.load(Path(__file__).parents[2] / "docs" / "loose_xor.drawing")
"""Right as it is, but not where strength reaches no further than 3 wires."""


def test_layouts_that_only_the_reach_fails_do_not_end_it() -> None:
    """However many of them the solver finds: one with short runs does, and counting goes on."""
    said: list[str] = []
    mended = repair(
        LOOSE,
        rules=WEAK,
        progress=said.append,
        stop=lambda: "asking for 2 or fewer changes in 48 cells" in said,
    )
    assert (mended.status, mended.ruled_out) == (Status.UNDECIDED, 2)
    assert mended.layout is not None
    assert check(mended.layout, Spec.parse("q = a ^ b"), delay=2, rules=WEAK).passes
    assert mended.reason.startswith("it was stopped; 1 or fewer changes were ruled out")


def test_where_nothing_would_end_it_that_is_the_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solving, "OTHER_MODELS", 1)
    mended = repair(LOOSE, rules=WEAK)
    assert mended.status is Status.UNDECIDED
    assert "give a time limit, or cells that may change; no number of changes" in mended.reason


def test_what_a_short_look_leaves_open_is_asked_about_until_it_is_decided(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(solving, "PROBE_CONFLICTS", 0)
    assert repair(LINE, NOT, delay=0).status is Status.IMPOSSIBLE
    monkeypatch.setattr(repairer, "all_at_once", lambda asked: False)
    layout = line(9).with_cells({(4, 0, 1): None, (5, 0, 1): None})
    assert (repair(layout, SAME).status, repair(layout, SAME).changes) == (Status.FOUND, 2)
    none = repair(LINE, NOT, delay=0)
    assert none.status is Status.UNDECIDED
    assert "no window of up to 90 cells around what is at fault has an answer" in none.reason
    assert "say which cells may change; no number of changes was ruled out" in none.reason


ALL = frozenset((x, 0, z) for x in range(14) for z in range(2))


def slow_row(length: int) -> Layout:
    """A row of slow buffers, each of 4 ticks."""
    return line(length, **{f"x{x}": to("+x", 4) for x in range(length)})


def test_few_choices_of_slow_buffers_are_all_tried_and_many_are_not() -> None:
    few, many = slow_row(8), slow_row(14)
    all_of_few = Naming(line(8, **dict.fromkeys((f"x{x}" for x in range(8)), to("+x"))), few, ALL)
    assert len(set(all_of_few.choices(None))) == 2**8
    assert all_of_few.untried is None
    some = Naming(line(14, **dict.fromkeys((f"x{x}" for x in range(14)), to("+x"))), many, ALL)
    assert [len(quick) for quick in some.choices(2)] == [0, *[1] * 14]
    assert some.untried is None
    sizes = [len(quick) for quick in some.choices(None)]
    assert sizes == sorted(sizes)
    assert (len(sizes), sizes[-1], some.untried) == (471, 14, 4)
    assert some.changes(()) == 0


def test_what_is_left_out_of_slow_buffers_is_not_ruled_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(naming, "MOST_CHOICES", 0)
    row = slow_row(4)
    most = check(row, SAME).delay
    assert most is not None
    mended = repair(row, SAME, delay=most - 15, stop=lambda: False)
    assert (mended.status, mended.ruled_out) == (Status.UNDECIDED, 2)
    assert "not every choice of them was tried" in mended.reason
    assert mended.changes == 3
    monkeypatch.undo()
    assert repair(row, SAME, delay=most - 15, stop=lambda: False).ruled_out == 3


def test_of_many_slow_buffers_as_many_stay_slow_as_may_be() -> None:
    said: list[str] = []
    row = slow_row(14)
    most = check(row, SAME).delay
    assert most is not None
    mended = repair(row, SAME, delay=most - 25, progress=said.append, stop=lambda: bool(said))
    assert mended.status is Status.UNDECIDED
    assert mended.changes == 5


def test_the_time_is_asked_for_between_choices_of_slow_buffers(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tried: list[Layout] = []
    judge = Asked.judge

    def counting(self: Asked, layout: Layout) -> Verdict:
        tried.append(layout)
        return judge(self, layout)

    monkeypatch.setattr(Asked, "judge", counting)
    monkeypatch.setattr(repairer._Work, "_single_change", lambda self: [])
    mended = repair(slow_row(14), SAME, delay=16, stop=lambda: len(tried) >= 10)
    assert mended.status is Status.UNDECIDED
    assert mended.reason.startswith("it was stopped")
    assert len(tried) == 10


def test_a_window_that_needs_more_changes_than_are_known_is_not_looked_at_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It is decided, and what it has is an answer, if not a better one."""
    asked_about: list[frozenset[Cell]] = []

    def with_more(asked: Asked, free: frozenset[Cell], *_: object, **__: object) -> solving.Answer:
        asked_about.append(free)
        return solving.Answer(solving.Mended(LINE, check(LINE, SAME), 5), 5)

    monkeypatch.setattr(repairer, "all_at_once", lambda asked: False)
    monkeypatch.setattr(repairer, "windows_around", lambda asked, suspects: [ALL])
    monkeypatch.setattr(repairer, "fewest", with_more)
    mended = repair(line(9).with_cells({(2, 0, 0): None, (6, 0, 0): None}), SAME)
    assert (mended.status, mended.changes) == (Status.UNDECIDED, 2)
    assert asked_about == [ALL]
    assert "has a better answer" in mended.reason
