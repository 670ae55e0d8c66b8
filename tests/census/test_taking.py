"""The census: what it finds, against every layout of tiny boxes and against single questions."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

import synth
from synth.census.journal import CensusJournal
from synth.census.result import Census
from synth.census.taking import run_census
from synth.encoding.free_table import FreeTable
from synth.errors import InputError
from synth.medium import Size
from synth.questions.census import CensusQuestion, free_spec, shown
from synth.questions.census_ledger import Complete, Found, Ledger
from synth.questions.events import BoxEnded, BoxStarted, FunctionFound, SearchEnded
from synth.questions.outcome import Status
from synth.search import solve, solve_box
from synth.search.workers.settings import Settings
from synth.spec.classes import Columns, members
from synth.spec.demands import with_limits
from tests.census.in_process import HelpersHere, here
from tests.encoding.tiny_boxes import BOXES, Box, classes_of_layouts, fits, read_by_layouts
from tests.waiting import Log

__all__ = ["here"]

SMALL = {"length": 2, "width": 2, "height": 3, "delay": 2, "stack": "y", "joint": "buffer"}
TINY = SMALL | {"length": 1, "height": 4, "delay": 1}
ONE = Settings(workers=1)


def question(
    inputs: int = 2,
    *,
    box: Size | None = None,
    sought: tuple[Columns, ...] = (),
    matters: bool = True,
    measures: tuple[str, ...] = ("volume",),
    **limits: object,
) -> CensusQuestion:
    spec = with_limits(free_spec(inputs), **(limits or SMALL))
    asked, _ = CensusQuestion.of(
        spec, box=box, sought=sought, every_input_matters=matters, measures=measures
    )
    return asked


def of_box(box: Box, sought: tuple[Columns, ...] = ()) -> CensusQuestion:
    """What a census asks of one of the tiny boxes."""
    spec = box.question(FreeTable()).spec
    limits = replace(spec.limits, delay=box.delay)
    return CensusQuestion.of(spec.replace(limits=limits), box=box.size, sought=sought)[0]


def tables(census: Census) -> dict[Columns, tuple[Size, bool]]:
    return {one.columns: (one.place.size, one.smallest) for one in census.classes}


def assert_right(census: Census) -> None:
    """Each layout is in its place, and the simulator passes it as its class."""
    for one in census.classes:
        assert one.layout.size == one.place.size
        verdict = census.asked.judged(one.layout, one.columns, one.place.delay)
        assert verdict.passes
        assert verdict.delay == one.delay


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("box", [BOXES[1], BOXES[4], BOXES[6]], ids=str)
def test_census_of_a_tiny_box_is_what_its_layouts_compute(box: Box) -> None:
    census = run_census(of_box(box), ONE)
    assert census.complete
    assert set(tables(census)) == classes_of_layouts(box)
    assert census.without_layout is not None
    assert len(census.classes) + len(census.without_layout) == len(census.asked.counted or ())
    assert_right(census)


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("box", [BOXES[1], BOXES[4]], ids=str)
def test_census_of_what_is_sought_in_a_tiny_box(box: Box) -> None:
    """Every column with don't cares: those with a layout that need not settle elsewhere."""
    columns = ((one,) for one in map("".join, product("01-", repeat=1 << box.inputs)))
    sought = tuple(one for one in columns if set(one[0]) != {"-"})
    census = run_census(of_box(box, sought), ONE)
    assert census.complete
    expected = {
        one
        for one in census.asked.sought
        if any(fits(read, member) for read in read_by_layouts(box) for member in members(one))
    }
    assert set(tables(census)) == expected
    assert set(census.without_layout or ()) == set(census.asked.sought) - expected
    assert_right(census)


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("delay", [1, 2])
def test_census_of_a_box_gives_the_answers_of_single_questions(delay: int) -> None:
    asked = question(box=(2, 2, 2), delay=delay, stack="y", joint="buffer")
    census = run_census(asked, ONE)
    found = tables(census)
    assert asked.counted is not None
    for columns in asked.counted:
        single = solve_box(asked.spec_of(columns), (2, 2, 2), delay)
        assert (columns in found) == (single.status is Status.FOUND), columns


@pytest.mark.usefixtures("here")
def test_each_function_gets_the_size_that_a_search_finds() -> None:
    asked = question(**TINY)
    census = run_census(asked, ONE)
    assert census.complete
    assert asked.counted is not None
    for columns in asked.counted:
        single = solve(asked.spec_of(columns), fewest_parts=False, workers=1)
        own = next((one for one in census.classes if one.columns == columns), None)
        assert (own is not None) == (single.status is Status.FOUND)
        if own is not None and single.layout is not None:
            assert own.smallest
            assert own.layout.volume == single.layout.volume
    assert_right(census)


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize(("workers", "measures"), [(2, ("volume",)), (5, ("delay", "height"))])
def test_more_workers_find_the_same(workers: int, measures: tuple[str, ...]) -> None:
    asked = question(measures=measures, **TINY)
    alone = run_census(asked, ONE)
    together = run_census(asked, Settings(workers=workers))
    assert tables(together) == tables(alone)
    assert together.without_layout == alone.without_layout
    assert_right(together)


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("workers", [2, 9])
def test_helpers_share_a_box_in_cubes_and_find_the_same(workers: int) -> None:
    asked = question(**(TINY | {"delay": 2}), box=(1, 2, 4))
    told = Log()
    together = run_census(asked, Settings(workers=workers), reporter=told)
    cubes = {event.cube for event in told.events if isinstance(event, BoxStarted)}
    assert cubes == set(map(str, asked.cubes_of(asked.candidates[0])))
    assert len(cubes) > 1
    assert together.complete
    assert tables(together) == tables(run_census(asked, ONE))
    assert_right(together)


def test_boxes_of_several_outputs_have_no_cubes() -> None:
    """Held in place, one output would no longer be asked as the others are."""
    spec = with_limits(free_spec(2, 2), **TINY)
    asked, _ = CensusQuestion.of(spec)
    assert not any(asked.cubes_of(candidate) for candidate in asked.candidates)


@pytest.mark.parametrize(("seed", "solver"), [(0, "glucose42"), (3, "cadical195")])
@pytest.mark.usefixtures("here")
def test_another_seed_or_solver_finds_the_same_classes(seed: int, solver: str) -> None:
    asked = question(**TINY)
    plain = run_census(asked, ONE)
    assert tables(run_census(asked, Settings(solver, seed))) == tables(plain)


@pytest.mark.own_workers
def test_in_processes_of_its_own() -> None:
    census = run_census(question(), Settings(workers=2))
    assert census.complete
    assert_right(census)


@pytest.mark.usefixtures("here")
def test_functions_that_ignore_inputs_are_counted_where_that_is_asked() -> None:
    limits = {"length": 1, "width": 1, "height": 3, "delay": 1, "joint": "buffer"}
    census = run_census(question(matters=False, **limits), ONE)
    found = {shown(columns) for columns in tables(census)}
    assert {"0000", "1010"} <= found
    assert census.asked.counted is not None
    assert len(census.asked.counted) == 12  # OEIS A003180


def test_what_is_counted() -> None:
    """OEIS A003180 has 4, 12, 80, 3984 classes of 1 to 4 inputs; those of n inputs that need fewer
    are the classes of n - 1 inputs, so that differences are left.
    """
    counts = [len(question(inputs).counted or ()) for inputs in (1, 2, 3, 4)]
    assert counts == [4 - 2, 12 - 4, 80 - 12, 3984 - 80]
    pairs = CensusQuestion.of(free_spec(2, 2), every_input_matters=False)[0].counted
    assert pairs is not None
    assert len(pairs) == 88  # Orbits of pairs: tests/spec/test_classes.py
    # Of one input there are 16 pairs, 4 of which no exchange of outputs changes: (16 + 4) / 2.
    assert len(CensusQuestion.of(free_spec(2, 2))[0].counted or ()) == 88 - (16 + 4) // 2
    assert CensusQuestion.of(free_spec(4, 2))[0].counted is None


@pytest.mark.usefixtures("here")
def test_once_everything_has_its_place_larger_boxes_are_not_asked_about() -> None:
    nor = (("1000",),)
    census = run_census(question(sought=nor), ONE)
    assert census.complete
    assert [one.columns for one in census.classes] == list(nor)
    assert not census.boxes[-1].complete
    assert not census.boxes[-1].open


# Any time


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("box", [None, (1, 2, 4)], ids=["every box", "one box in cubes"])
def test_a_census_that_is_stopped_at_any_moment_goes_on_to_the_same(
    box: Size | None, here: type[HelpersHere], tmp_path: Path
) -> None:
    asked = question(**(TINY | {"height": 4 if box else 3}), box=box)
    steps: list[int] = []
    here.watch = steps.append
    whole = run_census(asked, Settings(workers=2))
    path = tmp_path / "journal.jsonl"
    for moment in range(steps[-1] + 1):
        path.unlink(missing_ok=True)

        def stop(step: int, moment: int = moment) -> None:
            if step == moment:
                raise KeyboardInterrupt

        here.watch = stop
        with pytest.raises(KeyboardInterrupt):
            run_census(asked, Settings(workers=2), journal=CensusJournal(asked, path))
        here.watch = None
        kept = CensusJournal(asked, path)
        ledger = kept.ledger
        assert not moment or ledger.found or ledger.complete or ledger.cubes
        assert tables(run_census(asked, Settings(workers=2), journal=kept)) == tables(whole)


@pytest.mark.usefixtures("here")
def test_a_line_cut_short_is_found_out_again(tmp_path: Path) -> None:
    asked = question(**TINY)
    path = tmp_path / "journal.jsonl"
    whole = run_census(asked, ONE, journal=CensusJournal(asked, path))
    lines = path.read_bytes().splitlines(keepends=True)
    for kept in range(0, len(lines), 4):
        path.write_bytes(b"".join(lines[:kept]) + lines[kept][: len(lines[kept]) // 2])
        again = run_census(asked, ONE, journal=CensusJournal(asked, path))
        assert tables(again) == tables(whole)


@pytest.mark.usefixtures("here")
def test_a_journal_serves_wider_limits_and_another_order(tmp_path: Path) -> None:
    path = tmp_path / "journal.jsonl"
    narrow = question(**(TINY | {"height": 3}))
    run_census(narrow, ONE, journal=CensusJournal(narrow, path))
    for wide in (question(**TINY), question(measures=("height", "length"), **TINY)):
        known = CensusJournal(wide, path)
        assert known.ledger.complete
        again = run_census(wide, ONE, journal=known)
        assert tables(again) == tables(run_census(wide, ONE))
        assert_right(again)


def test_a_journal_of_another_census_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "journal.jsonl"
    CensusJournal(question(), path)
    with pytest.raises(InputError, match="of another census: its spec differs"):
        CensusJournal(question(**(SMALL | {"stack": "x"})), path)
    with pytest.raises(InputError, match="its sought differs"):
        CensusJournal(question(sought=(("0110",),)), path)
    path.write_text('{"format": "gatefit-journal"}\n', encoding="utf-8")
    with pytest.raises(InputError, match="no journal of a census"):
        CensusJournal(question(), path)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"table":"1000"', '"table":"0110"', "does not do what is asked"),
        ('"table":"1000"', '"table":"0100"', "names no class"),
        ('"size":[1,2,1]', '"size":[1,2,2]', "does not do what is asked"),
        ('"delay":2,"parts"', '"delay":-2,"parts"', "too small"),
        ('"part":"inverter"', '"part":"clear"', "layout"),
    ],
)
@pytest.mark.usefixtures("here")
def test_a_journal_that_was_changed_is_refused(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    path = tmp_path / "journal.jsonl"
    asked = question(**(SMALL | {"height": 1}))
    run_census(asked, ONE, journal=CensusJournal(asked, path))
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError, match=said) as raised:
        CensusJournal(asked, path)
    assert "line " in (raised.value.place or "")


@pytest.mark.own_workers
def test_the_time_is_up_before_anything_is_told() -> None:
    census = run_census(question(), ONE, time_limit_s=1e-9)
    assert census.status is Status.UNDECIDED
    assert census.reason == "the time was up"
    assert census.without_layout is None
    assert all(box.open for box in census.boxes)


# What follows from what is known


def test_a_box_is_complete_once_all_its_cubes_are_without_what_came_before() -> None:
    asked = question(box=(1, 2, 2), **(TINY | {"height": 2}))
    (box,) = asked.candidates
    first, *others = asked.cubes_of(box)
    ledger = Ledger(asked)
    for cube in others:
        ledger.note_complete(box, Complete((), 1.0), cube)
    assert ledger.open_boxes() == [box]
    # A cube that was not asked about a class that has no layout says too little.
    ledger.note_complete(box, Complete((("0110",),), 1.0), first)
    assert ledger.open_boxes() == [box]
    assert ledger.cubes_done(box).keys() == set(others)
    ledger.note_complete(box, Complete((), 1.0), first)
    assert ledger.completed(box) == Complete((), 1.0 + len(others))
    assert not ledger.open_boxes()


def test_a_class_is_smallest_only_if_every_box_before_is_complete(tmp_path: Path) -> None:
    asked = question()
    first, second, third = asked.candidates[:3]
    layout = take_layout(asked)
    ledger = Ledger(asked)
    columns = ("1000",)
    ledger.note_found(third, Found(columns, layout, 1, 0.0))
    ledger.note_complete(second, Complete((), 0.0))
    assert not ledger.smallest()
    ledger.note_complete(first, Complete((), 0.0))
    assert ledger.smallest() == {columns}
    # A box that was not asked about that class says nothing of it.
    ledger.note_complete(first, Complete((columns,), 0.0))
    assert not ledger.smallest()
    assert first in ledger.open_boxes()


def take_layout(asked: CensusQuestion) -> object:
    """Any layout; the ledger does not look at it."""
    return None


# Events and errors


@pytest.mark.usefixtures("here")
def test_every_box_that_begins_ends_and_every_function_is_told() -> None:
    told = Log()
    census = run_census(question(), Settings(workers=2), reporter=told)
    events = told.events
    begun = sorted(event.number for event in events if isinstance(event, BoxStarted))
    assert begun == sorted(event.number for event in events if isinstance(event, BoxEnded))
    functions = {event.table for event in events if isinstance(event, FunctionFound)}
    assert functions == {shown(columns) for columns in tables(census)}
    assert isinstance(events[-1], SearchEnded)
    assert events[-1].status == "complete"


def test_a_census_counts_no_parts_and_keeps_to_its_limits() -> None:
    with pytest.raises(InputError, match="counts no parts"):
        question(measures=("parts",))
    with pytest.raises(InputError, match="the height of the box 2 x 2 x 4 is 4, the limit on it 3"):
        question(box=(2, 2, 4))
    with pytest.raises(InputError, match="5 inputs"):
        free_spec(5)


@pytest.mark.usefixtures("here")
def test_a_layout_that_the_simulator_rejects_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        CensusQuestion, "named", lambda self, layout, columns: layout.with_cells({(0, 0, 0): None})
    )
    census = run_census(question(**(SMALL | {"height": 1})), ONE)
    assert census.status is Status.REFUSED
    assert census.refused is not None
    assert not any(
        census.asked.judged(census.refused, columns, 2).passes
        for columns in census.asked.counted or ()
    )


def test_in_one_call(here: type[HelpersHere], tmp_path: Path) -> None:
    folder, journal = tmp_path / "proof", tmp_path / "journal.jsonl"
    census = synth.take_census(**TINY, workers=1, certificate=folder, resume=journal)
    assert census.complete
    assert tables(census) == tables(run_census(question(**TINY), ONE))
    assert synth.audit(folder, symmetry=False, workers=1).passes
    some = synth.take_census(
        **TINY, functions=["1000", "q = a ^ b"], workers=1, reporter=None, time_limit_s=60
    )
    assert [shown(one.columns) for one in some.classes] == ["1000"]
    assert some.without_layout == (("0110",),)
    with pytest.raises(InputError, match="writes no proofs that hold for a census"):
        synth.take_census(**TINY, certificate=folder, solver="cadical195")
