"""Layouts beyond the limits: kept with open questions, replaced by better ones, never answers."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.errors import InputError
from synth.layout import Layout, Pin
from synth.library import Canonical, Query, Store
from synth.library.answer import Answer
from synth.library.beyond import Beyond
from synth.library.build import Build
from synth.library.events import LookedBeyond
from synth.library.jobs import Job, run_job
from synth.library.merge import merge
from synth.library.similar import implied, matches
from synth.library.starting import starts
from synth.library.verify import verify
from synth.medium import LEDGE, Block, Direction, Joint, Part, Role
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search.workers.judged import Found
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.library.answers import VOLUME, best_so_far, impossible, solved
from tests.library.builds import AtOnce, Noting, recipe, undecided

SMALLEST = {"length": 1, "width": 1, "height": 1, "delay": 1}
"""Limits that an inverter does not keep: it needs two cells."""

OPEN = Spec.parse("q = ~a", **SMALLEST)  # type: ignore[arg-type]


def asked(spec: Spec = OPEN) -> Canonical:
    return Canonical.of(Problem(spec, VOLUME))[0]


def inverter(height: int = 2) -> Layout:
    """A right layout, in canonical names, with room to spare above."""
    spec, outcome = solved("q = ~a", length=1, width=1, height=2, delay=1)
    assert outcome.layout is not None
    small = Canonical.of(Problem(spec, VOLUME))[1].to_canonical(outcome.layout)
    return small.replace(size=(1, 1, height))


@pytest.fixture
def open_one(store: Store) -> Store:
    """A store with one open question, and a layout beyond its limits."""
    assert store.keep_answer(asked(), best_so_far(None, 1), "inverter")
    assert store.keep_beyond(asked(), Beyond(inverter(3), 1, 2.0))
    return store


@given(st.lists(st.tuples(st.integers(2, 6), st.floats(0, 9)), min_size=1, max_size=6))
def test_the_best_is_kept_in_whatever_order_they_come(found: list[tuple[int, float]]) -> None:
    with Store(":memory:") as store:
        store.keep_answer(asked(), best_so_far(None, 1))
        best = 99
        for height, seconds in found:
            better = store.keep_beyond(asked(), Beyond(inverter(height), 1, seconds))
            assert better is (height < best)
            best = min(best, height)
        kept = store.beyond(1)
        assert (kept.layout, kept.delay) == (inverter(best), 1)
        assert kept.seconds == pytest.approx(sum(seconds for _, seconds in found))
        (entry,) = store.entries()
        assert entry.beyond is not None
        assert (entry.beyond.size, entry.beyond.volume) == ((1, 1, best), best)
        assert verify(store).wrong == []


def test_time_without_a_layout_is_noted(store: Store) -> None:
    store.keep_answer(asked(), best_so_far(None, 1))
    assert not store.keep_beyond(asked(), Beyond(seconds=3.0))
    assert store.beyond(1) == Beyond(seconds=3.0)
    assert store.entry(1).beyond is None
    assert store.keep_beyond(asked(), Beyond(inverter(), 1, 1.0))
    assert not store.keep_beyond(asked(), Beyond(seconds=1.0))
    assert store.beyond(1) == Beyond(inverter(), 1, 5.0)
    assert verify(store).wrong == []


def test_it_never_serves_as_an_answer_within_the_limits(open_one: Store) -> None:
    entry = open_one.entry(1)
    assert (entry.status, entry.proven, entry.volume) == ("undecided", False, None)
    problem = Problem(OPEN, VOLUME)
    assert open_one.recall(problem) is None
    known = open_one.known(problem)
    assert known is not None
    assert (known.layout, known.bound) == (None, 1)
    assert list(matches(open_one, problem)) == []
    assert implied(open_one, problem) is None
    answer = open_one.answer(asked().key)
    assert answer is not None
    assert answer.layout is None
    assert list(open_one.entries(Query(volume=99))) == []


def test_it_serves_where_its_room_is_allowed(open_one: Store) -> None:
    """And there it proves nothing either."""
    wider = Problem(OPEN.replace(limits=Limits(1, 1, 3, delay=1)), VOLUME)
    (match,) = matches(open_one, wider)
    assert (match.beyond, match.entry.number, match.layout.size) == (True, 1, (1, 1, 3))
    assert match.verdict.passes
    assert implied(open_one, wider) is None
    quicker = Problem(OPEN.replace(limits=Limits(1, 1, 3, delay=0)), VOLUME)
    assert list(matches(open_one, quicker)) == []


def test_a_layout_within_the_limits_takes_its_place() -> None:
    two_cells = OPEN.replace(limits=Limits(1, 1, 2, delay=1))
    with Store(":memory:") as store:
        store.keep_answer(asked(two_cells), best_so_far(None, 1))
        assert store.keep_beyond(asked(two_cells), Beyond(inverter(4), 1, 2.0))
        within = replace(best_so_far(None, 1), layout=inverter(2))
        assert store.keep_answer(asked(two_cells), within)
        assert store.entry(1).beyond is None
        assert store.beyond(1) == Beyond()
        assert not store.keep_beyond(asked(two_cells), Beyond(inverter(3), 1, 2.0))
        assert store.beyond(1) == Beyond()


def test_it_stays_where_the_question_turns_out_impossible(open_one: Store) -> None:
    assert open_one.keep_answer(asked(), impossible())
    entry = open_one.entry(1)
    assert (entry.status, entry.volume) == ("impossible", None)
    assert entry.beyond is not None
    assert open_one.layout_beyond(1).size == (1, 1, 3)
    assert verify(open_one).wrong == []


def test_verify_plays_it_again(open_one: Store) -> None:
    done = verify(open_one)
    assert (done.layouts, done.beyond, done.wrong) == (1, 1, [])
    assert done.document()["beyond"] == 1


def without_a_part(text: str) -> str:
    document = json.loads(text)
    document["parts"] = document["parts"][:1]
    return json.dumps(document)


def as_small_as_asked(store: Store) -> None:
    """The question asks for two cells: now the layout would be an answer."""
    layout = json.dumps(inverter(2).document())
    store.connection.execute("UPDATE beyond SET layout = ?, height = 2", (layout,))
    wider = asked(OPEN.replace(limits=Limits(1, 1, 2, delay=1)))
    document = json.dumps(wider.document(), separators=(",", ":"))
    store.connection.execute("UPDATE results SET asked = ?, key = ?", (document, wider.key))


def with_its_own_answer(store: Store) -> None:
    layout = json.dumps(inverter(2).document())
    store.connection.execute("INSERT INTO layouts VALUES (1, ?)", (layout,))


def forged(store: Store) -> None:
    ((text,),) = store.connection.execute("SELECT layout FROM beyond").fetchall()
    store.connection.execute("UPDATE beyond SET layout = ?", (without_a_part(text),))


def by_statement(statement: str) -> Callable[[Store], None]:
    def spoil(store: Store) -> None:
        store.connection.execute(statement)

    return spoil


SPOILT = {
    "does not pass the simulator": forged,
    "which is within them: it would be an answer": as_small_as_asked,
    "a layout beyond its limits, and one within them": with_its_own_answer,
    "has a delay of 1, and 0 is listed": by_statement("UPDATE beyond SET delay = 0"),
    "are listed as others": by_statement("UPDATE beyond SET parts = 9"),
    "is no whole number": by_statement("UPDATE beyond SET length = 'x'"),
    "entry 7, which does not exist": by_statement("UPDATE beyond SET number = 7"),
    "a box that the store rules out": by_statement(
        f"INSERT INTO ruled_out VALUES ('{asked().box_key}', 1, 1, 3, 1, -1)"
    ),
}


@pytest.mark.parametrize("said", SPOILT)
def test_verify_finds_what_was_forged(open_one: Store, said: str) -> None:
    open_one.connection.execute("PRAGMA foreign_keys = OFF")
    SPOILT[said](open_one)
    assert any(said in finding.text for finding in verify(open_one).wrong)


def test_a_forged_one_is_neither_shown_nor_merged(open_one: Store, tmp_path: Path) -> None:
    forged(open_one)
    with pytest.raises(InputError, match="does not pass the simulator"):
        open_one.layout_beyond(1)
    with Store(tmp_path / "ours.sqlite") as ours:
        done = merge(ours, open_one)
        assert (done.taken, done.beyond, len(done.refused)) == (1, 0, 1)
        assert "does not pass the simulator" in done.refused[0].text
        assert ours.entry(1).beyond is None


def test_merging_takes_the_better_one_and_again_changes_nothing(
    open_one: Store, tmp_path: Path
) -> None:
    with Store(tmp_path / "ours.sqlite") as ours:
        done = merge(ours, open_one)
        assert (done.taken, done.beyond, done.refused) == (1, 1, [])
        assert ours.beyond(1) == open_one.beyond(1)
        assert merge(ours, open_one).beyond == 0
        assert ours.beyond(1) == open_one.beyond(1)
        assert ours.keep_beyond(asked(), Beyond(inverter(2), 1, 0.5))
        assert merge(ours, open_one).beyond == 0
        assert merge(open_one, ours).beyond == 1
        assert open_one.beyond(1).layout == inverter(2)


# Builds

NO_ROOM = [{"delays": [1], "length": 1, "width": 1, "height": 1}]


def looked(height: int) -> Callable[[Job], Found]:
    def beyond(job: Job) -> Found:
        spec = job.asked.spec.replace(limits=Limits(delay=job.asked.spec.limits.delay))
        layout = inverter(height)
        return Found(layout, check(layout, spec))

    return beyond


def test_a_build_keeps_what_lies_beyond_and_goes_on_from_there(store: Store) -> None:
    asks = recipe("10", asks=NO_ROOM, time={"first": 1, "most": 1})
    executor, noting = AtOnce(undecided, looked(4)), Noting()
    summary = Build(asks, store, executor, watcher=noting).run()
    assert (summary.undecided, summary.beyond, summary.without_layout) == (1, 1, 0)
    (event,) = noting.of(LookedBeyond)
    assert (event.size, event.delay, event.within) == ((1, 1, 4), 1, False)
    assert store.beyond(1) == Beyond(inverter(4), 1, 1.0)
    # The share is spent; with more time the next build begins with what is there.
    again = AtOnce(undecided, looked(3))
    Build(asks, store, again).run()
    assert again.jobs_beyond == []
    Build(recipe("10", asks=NO_ROOM, time={"first": 1, "most": 4}), store, again).run()
    assert [(job.share_s, job.starts) for job in again.jobs_beyond] == [(4, (inverter(4),) * 2)]
    assert store.beyond(1) == Beyond(inverter(3), 1, 5.0)
    assert store.entry(1).volume is None


def test_what_fits_after_all_is_the_best_known_answer(store: Store) -> None:
    asks = [{"delays": [1], "length": 1, "width": 1, "height": 2}]
    executor, noting = AtOnce(undecided, looked(2)), Noting()
    summary = Build(recipe("10", asks=asks), store, executor, watcher=noting).run()
    assert (summary.undecided, summary.beyond, summary.without_layout) == (1, 0, 0)
    (event,) = noting.of(LookedBeyond)
    assert (event.size, event.within) == ((1, 1, 2), True)
    entry = store.entry(1)
    assert (entry.status, entry.volume, entry.beyond) == ("undecided", 2, None)


def test_only_what_lies_beyond_is_sought_if_that_is_asked(store: Store) -> None:
    asks = recipe("10", asks=NO_ROOM, time={"first": 1, "most": 1})
    store.keep_answer(asked(), best_so_far(None, 1))
    executor = AtOnce(undecided, looked(4))
    Build(asks, store, executor, only_beyond=True).run()
    assert executor.jobs == []
    assert [job.asked.key for job in executor.jobs_beyond] == [asked().key]
    assert store.beyond(1).layout == inverter(4)


def test_of_what_is_decided_or_found_nothing_is_sought_beyond(store: Store) -> None:
    executor = AtOnce()
    Build(recipe("10", asks=NO_ROOM), store, executor).run()
    assert len(executor.jobs) == 1
    assert executor.jobs_beyond == []


def test_a_job_composes_one_at_once(store: Store) -> None:
    """By a real job, in a time in which nothing can be shrunk."""
    spec = Spec.parse("q = a ^ b ^ c", length=2, width=2, height=2, delay=9)
    question = asked(spec)
    told: list[Found] = []
    result = run_job(Job(question, "", 1.0, batch="a batch", beyond=True), tell_beyond=told.append)
    assert result.beyond is not None
    assert result.beyond == told[-1]
    free = question.spec.replace(limits=Limits(delay=9))
    assert check(result.beyond.layout, free, delay=9).passes
    store.keep_answer(question, best_so_far(None, 1))
    assert store.keep_beyond(question, Beyond(result.beyond.layout, result.beyond.verdict.delay))
    assert verify(store).wrong == []


def test_the_file_is_changed_by_whole_transactions(tmp_path: Path) -> None:
    path = tmp_path / "one.sqlite"
    with Store(path) as store:
        store.keep_answer(asked(), best_so_far(None, 1))
        store.keep_beyond(asked(), Beyond(inverter(3), 1, 2.0))
    with closing(sqlite3.connect(path)) as connection:
        row = connection.execute("SELECT length, width, height, parts, delay FROM beyond")
        assert row.fetchall() == [(1, 1, 3, 2, 1)]


def kept_and_known(spec: Spec, layout: Layout, store: Store) -> tuple[bool, Layout | None]:
    """Keep a layout that a search from above came to; whether more is known, and what."""
    problem = Problem.of(spec)[0]
    verdict = check(layout, spec)
    assert verdict.passes
    outcome = Outcome(Status.UNDECIDED, layout, verdict, "made up", measures=VOLUME)
    better = store.keep(problem, outcome)
    known = store.known(problem)
    assert known is not None
    assert verify(store).wrong == []
    return better, known.layout


def test_what_exceeds_assumed_limits_is_kept_beside_the_question(store: Store) -> None:
    """No limit on the height is asked, so whatever was assumed does not bind a search from above;
    but it is part of the question in the store.
    """
    asked = Spec.parse("q = ~a", length=1, width=1, delay=1)
    assumed = Problem.of(asked)[0].limits.height
    assert assumed is not None
    named = Canonical.of(Problem.of(asked)[0])[1]
    tall, taller = (named.to_asked(inverter(assumed + more)) for more in (1, 2))
    assert kept_and_known(asked, taller, store) == (True, None)
    assert kept_and_known(asked, tall, store) == (True, None)
    assert store.layout_beyond(1).size == tall.size
    assert kept_and_known(asked, taller, store)[1] is None
    small = named.to_asked(inverter(2))
    better, known = kept_and_known(asked, small, store)
    assert better
    assert known is not None
    assert known.cells == small.cells


def test_what_is_slower_than_was_assumed_answers_a_slower_question(store: Store) -> None:
    """A buffer of 4 ticks, where at most 3 were assumed."""
    asked = Spec.parse("q = a", length=1, width=1, height=2)
    ends = {"a": (Role.INPUT, Direction.NX), "q": (Role.OUTPUT, Direction.PX)}
    pins = [Pin(name, role, (0, 0, 1), face, Joint.WIRE) for name, (role, face) in ends.items()]
    cells = {(0, 0, 0): LEDGE, (0, 0, 1): Block(Part.BUFFER, Direction.PX, 4)}
    slow = Layout((1, 1, 2), cells, tuple(pins))
    assumed, delay = Problem.of(asked)[0].limits.delay, check(slow, asked).delay
    assert assumed is not None
    assert delay is not None
    assert delay > assumed
    assert kept_and_known(asked, slow, store) == (True, None)
    known = store.known(Problem.of(asked.replace(limits=replace(asked.limits, delay=delay)))[0])
    assert known is not None
    assert known.layout is not None
    assert known.layout.cells == slow.cells
    assert f"within {assumed} ticks; nothing was ruled out here" in known.reason
    assert known.stats.bound is None
    (start,) = starts(store, Problem.of(asked)[0], asked.limits)
    assert start == slow


def test_a_store_of_an_earlier_version_that_kept_it_as_an_answer_is_mended(store: Store) -> None:
    wide = Answer(Status.UNDECIDED, proven=False, layout=inverter(3), delay=1, bound=1)
    with store.writing():
        store._write(asked(), wide, "")
    problem = asked().problem
    known = store.known(problem)
    assert known is not None
    assert known.layout is None
    assert store.keep_answer(asked(), best_so_far(None, 2))
    assert verify(store).wrong == []
    assert next(store.entries()).bound == 2
