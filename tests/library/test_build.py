"""Builds: what is asked in which order, how often, and what is known to the next question."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest

from synth.errors import InputError
from synth.library import Canonical, Store
from synth.library.build import Build
from synth.library.chains import shares, tried_before
from synth.library.events import BuildStarted, JobEnded, RoundStarted
from synth.library.jobs import Job
from synth.library.recipe import Recipe, read_recipe
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search.workers.settings import Settings
from tests.library.answers import found
from tests.library.builds import (
    SMALL,
    TEN,
    AtOnce,
    Noting,
    contents,
    identity_found,
    impossible,
    recipe,
    undecided,
)
from tests.waiting import GUARD_S


def delays(executor: AtOnce) -> list[int | None]:
    return [job.asked.spec.limits.delay for job in executor.jobs]


# The order of questions


def test_the_longest_delay_comes_first_and_what_it_rules_out_is_known_to_the_next(
    store: Store,
) -> None:
    executor = AtOnce()
    Build(recipe("0110", delays=(1, 4, 2)), store, executor).run()
    assert delays(executor) == [4, 2, 1]
    assert [len(job.known) for job in executor.jobs] == [0, 1, 2]


def test_small_questions_come_first(store: Store) -> None:
    executor = AtOnce()
    asks = [
        {"delays": [2], "length": 3, "width": 2, "height": 2},
        {"delays": [1], **SMALL, "stack": "x"},
    ]
    Build(recipe("00010111", "0110", asks=asks), store, executor).run()
    sizes = [
        (len(job.asked.spec.function.inputs), job.asked.spec.limits.delay) for job in executor.jobs
    ]
    assert sizes == [(2, 1), (3, 1), (2, 2), (3, 2)]


def test_a_layout_serves_all_questions_that_it_would_do_for(store: Store) -> None:
    """Found within 4 ticks and fast enough for 2: the next question starts from it."""
    executor = AtOnce(identity_found)
    Build(recipe("01", delays=(4, 2)), store, executor).run()
    first, second = executor.jobs
    assert first.known == ()
    (known,) = second.known
    assert known.layout is not None
    assert known.question == ((1, 1, 2), 2, None)


def test_a_fast_layout_bounds_the_questions_that_were_left_open(store: Store) -> None:
    """Nothing was found within 4 ticks in time, but within 2: returned to, 4 starts from that."""

    def answer(job: Job) -> Outcome:
        return identity_found(job) if job.asked.spec.limits.delay == 2 else undecided(job)

    executor = AtOnce(answer)
    Build(recipe("01", delays=(4, 2), time={"first": 1, "most": 4}), store, executor).run()
    assert delays(executor) == [4, 2, 4]
    assert {answer.question for answer in executor.jobs[-1].known} == {((1, 1, 2), 4, None)}


def test_a_fast_layout_is_the_best_known_where_more_ticks_are_allowed(store: Store) -> None:
    """There is no time to return to 4 ticks: what was found within 2 is kept there all the same."""

    def answer(job: Job) -> Outcome:
        return identity_found(job) if job.asked.spec.limits.delay == 2 else undecided(job)

    once = recipe("01", delays=(4, 2, 0), time={"first": 1, "most": 1})
    for _ in range(2):
        Build(once, store, AtOnce(answer)).run()
        known = {asked.spec.limits.delay: store.answer(asked.key) for asked in _questions(once)}
        slow, fast, none = known[4], known[2], known[0]
        assert slow is not None
        assert fast is not None
        assert none is not None
        assert slow.layout == fast.layout is not None
        assert (slow.status, slow.proven, slow.bound) == (Status.UNDECIDED, False, 1)
        assert fast.proven
        assert none.layout is None


def _questions(asked: Recipe) -> list[Canonical]:
    return [
        Canonical.of(Problem(spec, asked.minimize))[0]
        for _, specs in asked.chains()
        for spec in specs
    ]


def test_layouts_that_do_not_keep_the_limits_are_not_passed_on(store: Store) -> None:
    asks = [
        {"delays": [4], "length": 1, "width": 1, "height": 1, "volume": 1},
        {"delays": [4], "length": 2, "width": 2, "height": 2},
    ]
    twice = recipe("01", asks=asks)
    small, large = (chain[1][0] for chain in twice.chains())

    def answer(job: Job) -> Outcome:
        return undecided(job)

    Build(twice, store, AtOnce(answer)).run()
    small_key, large_key = (Canonical.of(Problem(spec))[0].key for spec in (small, large))
    store.keep_answer(Canonical.of(Problem(large))[0], found(2))
    executor = AtOnce(undecided)
    longer = recipe("01", asks=asks, time={"first": 900, "most": 900})
    Build(longer, store, executor).run()
    assert [job.asked.key for job in executor.jobs] == [small_key]
    assert small_key != large_key
    assert executor.jobs[0].known == ()


def test_questions_about_the_same_boxes_are_never_under_way_together(store: Store) -> None:
    """Under other limits the boxes are the same: two jobs would ask them twice."""
    asks = [
        {"delays": [2, 1], "length": 2, "width": 2, "height": 2},
        {"delays": [3, 2], "length": 3, "width": 2, "height": 2},
        {"delays": [2], "length": 2, "width": 2, "height": 2},
    ]
    build = Build(recipe("0110", asks=asks), store, AtOnce())
    assert len(build.chains) == 1
    assert build.total == 4
    assert build.run().impossible == 4


def test_a_function_that_is_met_twice_is_asked_once_and_keeps_its_name(store: Store) -> None:
    twice = read_recipe(
        {
            "functions": {"classes_of": 2, "all_of": 2, "tables": ["11010111"], "targets": ["or2"]},
            "asks": [{"delays": [1], **SMALL}],
        }
    )
    executor = AtOnce()
    Build(twice, store, executor).run()
    # 8 P-classes of two inputs depend on both: of the 12 of A003180, 2 are constant and 2 are
    # of one input; or2 is one of them.
    assert len(executor.jobs) == 9
    assert "or2" in {entry.name for entry in store.entries()}


# What is decided stays


def test_what_is_decided_is_not_asked_again(store: Store) -> None:
    first = Build(recipe("0110", "0111", delays=(1, 2)), store, AtOnce()).run()
    assert (first.jobs, first.recalled, first.impossible) == (4, 0, 4)
    executor, noting = AtOnce(), Noting()
    again = Build(recipe("0110", "0111", delays=(1, 2, 3)), store, executor, 2, noting).run()
    assert (again.jobs, again.recalled, again.impossible) == (2, 4, 6)
    assert delays(executor) == [3, 3]
    assert noting.of(BuildStarted) == [BuildStarted(total=6, known=4)]


def test_an_answer_of_another_process_is_taken_over_while_the_build_runs(tmp_path: Path) -> None:
    path = tmp_path / "one.sqlite"
    pair = recipe("0110", delays=(2, 1))
    _, specs = next(iter(pair.chains()))
    later, _ = Canonical.of(Problem(specs[1], ("volume",)))

    def answer(job: Job) -> Outcome:
        with Store(path) as other:
            other.keep_answer(later, found(3))
        return impossible(job)

    with Store(path) as opened:
        executor = AtOnce(answer)
        with pytest.raises(InputError, match="impossible"):
            # That answer is at odds with this one, but only verifying could tell.
            Build(recipe("0110", delays=(1,)), opened, AtOnce(answer)).run()
        Build(pair, opened, executor).run()
        assert delays(executor) == [2]


def test_what_one_job_told_serves_the_next(left_alone: dict[str, Any], tmp_path: Path) -> None:
    """The second question of a chain asks about no box that the first has ruled out."""
    noting = Noting()
    with Store(tmp_path / "one.sqlite") as opened:
        Build(TEN, opened, watcher=noting).run()
    asked: dict[int | None, int] = Counter()
    for event in noting.of(JobEnded):
        asked[event.asked.spec.limits.delay] += event.outcome.stats.questions
    assert asked[2] > 10
    assert asked[1] < 5
    assert contents(tmp_path / "one.sqlite") == left_alone


@pytest.mark.parametrize("slots", [1, 3])
def test_the_number_of_workers_changes_nothing(
    slots: int, left_alone: dict[str, Any], tmp_path: Path
) -> None:
    with Store(tmp_path / "one.sqlite") as opened:
        Build(TEN, opened, slots=slots).run()
    assert contents(tmp_path / "one.sqlite") == left_alone


def test_an_answer_that_contradicts_the_store_stops_the_build(store: Store) -> None:
    """One of the two is wrong, and nothing that is built on them would be worth anything."""
    wrong: Recipe = recipe("01", delays=(2,))
    asked, _ = Canonical.of(Problem(next(iter(wrong.chains()))[1][0]))

    def answer(job: Job) -> Outcome:
        store.keep_answer(asked, found(4))
        return identity_found(job)

    with pytest.raises(InputError, match="is claimed to be smallest") as caught:
        Build(wrong, store, AtOnce(answer)).run()
    assert caught.value.file == str(store.path)
    assert caught.value.way_out


# Rounds


def test_shares_grow_fourfold_up_to_the_most() -> None:
    assert shares(10, 160) == [10, 40, 160]
    assert shares(10, 100) == [10, 40, 100]
    assert shares(7, 7) == [7]
    assert [tried_before([10, 40, 160], number) for number in range(3)] == [5, 30, 130]


def test_undecided_questions_are_returned_to_with_four_times_the_time(store: Store) -> None:
    executor, noting = AtOnce(undecided), Noting()
    time_given = {"first": 1, "most": 16}
    open_ones = recipe("0110", "0111", time=time_given)
    summary = Build(open_ones, store, executor, 1, noting).run()
    assert [job.share_s for job in executor.jobs] == [1, 1, 4, 4, 16, 16]
    assert noting.of(RoundStarted) == [RoundStarted(share, 2) for share in (1, 4, 16)]
    assert (summary.undecided, summary.without_layout) == (2, 2)
    assert summary.jobs == 12
    assert [job.share_s for job in executor.jobs_beyond] == [1, 1, 4, 4, 16, 16]
    assert {entry.seconds for entry in store.entries()} == {21}


def test_time_that_a_question_has_had_is_not_given_again(store: Store) -> None:
    Build(recipe("0110", time={"first": 1, "most": 4}), store, AtOnce(undecided)).run()
    executor = AtOnce(undecided)
    Build(recipe("0110", time={"first": 1, "most": 4}), store, executor).run()
    assert executor.jobs == []
    Build(recipe("0110", time={"first": 1, "most": 64}), store, executor).run()
    assert [job.share_s for job in executor.jobs] == [16, 64]


def test_only_undecided_questions_are_returned_to(store: Store) -> None:
    def answer(job: Job) -> Outcome:
        return undecided(job) if job.asked.spec.limits.delay == 2 else impossible(job)

    executor = AtOnce(answer)
    Build(recipe("0110", delays=(3, 2, 1), time={"first": 1, "most": 4}), store, executor).run()
    assert delays(executor) == [3, 2, 1, 2]


class Held(AtOnce):
    """Answers at once but for one job, which is under way until another is returned to twice."""

    def __init__(self) -> None:
        super().__init__(undecided)
        self.held: list[tuple[Future[Any], Job]] = []

    def submit(self, fn: Any, /, *args: Any, **more: Any) -> Future[Any]:
        (job,) = args
        if job.beyond:
            return super().submit(fn, *args, **more)
        if job.asked.spec.function.outputs["y1"] == "0110" and job.share_s == 1:
            future: Future[Any] = Future()
            self.jobs.append(job)
            self.held.append((future, job))
            return future
        if job.share_s == 16:
            for future, job_held in self.held:
                answered = AtOnce(undecided).submit(None, job_held)
                future.set_result(answered.result())
            self.held.clear()
        return super().submit(fn, *args, **more)


def test_no_worker_waits_for_the_end_of_a_round(store: Store) -> None:
    """While one job of the first round is under way, another question is returned to."""
    executor = Held()
    slow = recipe("0110", "0111", time={"first": 1, "most": 16})
    Build(slow, store, executor, 2, time_limit_s=GUARD_S).run()
    shares_of = [(job.asked.spec.function.outputs["y1"], job.share_s) for job in executor.jobs]
    first = shares_of.index(("0111", 16))
    assert ("0110", 4) not in shares_of[:first]
    assert Counter(shares_of) == Counter((t, s) for t in ("0110", "0111") for s in (1, 4, 16))


def test_settings_reach_every_job(store: Store) -> None:
    executor = AtOnce()
    settings = Settings(without=("order", "above"))
    Build(recipe("0110", delays=(1, 2)), store, executor, settings=settings).run()
    assert [job.settings for job in executor.jobs] == [settings] * 2
