"""Builds: what is asked in which order, how often, and what is left when something goes wrong."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
import tomllib
from collections import Counter
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any

import pytest

from synth.errors import InputError
from synth.library import Canonical, Store, jobs
from synth.library.build import Build
from synth.library.chains import shares, tried_before
from synth.library.events import (
    BuildEnded,
    BuildStarted,
    Event,
    JobEnded,
    JobFailed,
    JobStarted,
    RoundStarted,
)
from synth.library.jobs import Job
from synth.library.recipe import Recipe, read_recipe
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search.walk.questioner import Questioner
from tests.library.answers import found
from tests.library.builds import (
    RECIPE,
    SMALL,
    AtOnce,
    Noting,
    contents,
    hard_recipe,
    identity_found,
    impossible,
    recipe,
    undecided,
)
from tests.waiting import GUARD_S, Clock

TEN = read_recipe(tomllib.loads(RECIPE))


@pytest.fixture
def store(tmp_path: Path) -> Any:
    with Store(tmp_path / "one.sqlite") as opened:
        yield opened


@pytest.fixture(scope="module")
def left_alone(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The store of a build that nothing happened to."""
    path = tmp_path_factory.mktemp("alone") / "alone.sqlite"
    with Store(path) as opened:
        summary = Build(TEN, opened).run()
    assert (summary.found + summary.impossible, summary.undecided) == (10, 0)
    assert (summary.jobs, summary.recalled, summary.stopped) == (10, 0, "")
    return contents(path)


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
    assert [answer.question for answer in executor.jobs[-1].known] == [((1, 1, 2), 4, None)]


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
    assert (summary.undecided, summary.jobs) == (2, 6)
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


# Executors and their failures


def failing(times: int, answer: Any = impossible) -> AtOnce:
    """Fails so many times for each question about exclusive-or."""
    failed: Counter[str] = Counter()

    def run(job: Job) -> Outcome:
        if job.asked.spec.function.outputs["y1"] == "0110" and failed[job.asked.key] < times:
            failed[job.asked.key] += 1
            raise ConnectionError("gone")
        outcome: Outcome = answer(job)
        return outcome

    return AtOnce(run)


def test_a_job_that_fails_is_given_out_again(store: Store) -> None:
    noting = Noting()
    summary = Build(recipe("0110", "0111", delays=(1, 2)), store, failing(2), 1, noting).run()
    failures = noting.of(JobFailed)
    assert [(failure.error, failure.again) for failure in failures] == [
        ("ConnectionError: gone", True)
    ] * 4
    assert (summary.jobs, summary.failed, summary.impossible) == (4, 0, 4)


def test_a_job_that_fails_again_and_again_is_left_and_nothing_else(store: Store) -> None:
    noting = Noting()
    executor = failing(1000)
    given = recipe("0110", "0111", delays=(1, 2), time={"first": 1, "most": 4})
    summary = Build(given, store, executor, 1, noting).run()
    assert [failure.again for failure in noting.of(JobFailed)] == [True, True, False] * 2
    assert (summary.jobs, summary.failed) == (2, 2)
    assert (summary.impossible, summary.undecided) == (2, 2)
    # Built again, it is asked again.
    again = Build(given, store, AtOnce(), 1).run()
    assert (again.jobs, again.recalled, again.impossible) == (2, 2, 4)


def test_a_refused_layout_is_not_kept_and_its_question_left(store: Store) -> None:
    def answer(job: Job) -> Outcome:
        return Outcome(Status.REFUSED, reason="made up")

    executor = AtOnce(answer)
    summary = Build(recipe("0110", time={"first": 1, "most": 4}), store, executor).run()
    assert (summary.refused, summary.undecided, len(executor.jobs)) == (1, 1, 1)
    assert store.count() == 0


class Full(AtOnce):
    """Takes one job and no more."""

    def submit(self, fn: Any, /, *args: Any, **more: Any) -> Future[Any]:
        if self.jobs:
            raise RuntimeError("cannot schedule new futures after shutdown")
        return super().submit(fn, *args, **more)


def test_an_executor_that_takes_no_more_jobs_stops_the_build(store: Store) -> None:
    summary = Build(recipe("0110", "0111", "0001"), store, Full(), 1).run()
    assert summary.stopped.startswith("no more jobs can be given out (RuntimeError: cannot")
    assert (summary.jobs, summary.impossible, summary.undecided) == (1, 1, 2)


def executors() -> list[Any]:
    context = multiprocessing.get_context("spawn")
    return [
        pytest.param(lambda: ThreadPoolExecutor(2), id="threads"),
        pytest.param(lambda: ProcessPoolExecutor(2, mp_context=context), id="processes"),
    ]


@pytest.mark.parametrize("make", executors())
def test_any_executor_will_do(make: Any, left_alone: dict[str, Any], tmp_path: Path) -> None:
    executor: Executor = make()
    with executor, Store(tmp_path / "one.sqlite") as opened:
        summary = Build(TEN, opened, executor).run()
        assert executor.submit(os.getpid).result()  # It is left as it is.
    assert summary.jobs == 10
    assert contents(tmp_path / "one.sqlite") == left_alone


def test_a_pool_of_processes_that_breaks_costs_what_was_under_way(tmp_path: Path) -> None:
    """The standard pool breaks wholly when a process of it dies; the next build goes on."""
    path = tmp_path / "one.sqlite"
    context = multiprocessing.get_context("spawn")

    class Killing(Noting):
        def event(self, event: Event) -> None:
            super().event(event)
            if len(self.of(JobEnded)) == 4:
                for child in multiprocessing.active_children():
                    child.kill()

    with ProcessPoolExecutor(1, mp_context=context) as pool, Store(path) as opened:
        broken = Build(TEN, opened, pool, 1, Killing()).run()
        assert broken.stopped
        assert 4 <= broken.jobs < 10
        with pytest.raises(BrokenProcessPool):
            pool.submit(os.getpid)
        rest = Build(TEN, opened).run()
    assert rest.recalled == broken.jobs
    assert rest.jobs == 10 - broken.jobs


@pytest.mark.own_workers
def test_a_worker_process_that_is_killed_costs_its_job_only(
    left_alone: dict[str, Any], tmp_path: Path
) -> None:
    killed: list[int] = []

    class Killer(Noting):
        def event(self, event: Event) -> None:
            super().event(event)
            if isinstance(event, JobStarted) and len(self.of(JobStarted)) in (3, 7):
                batches = {build._batch}
                for crew in [crew for batch in batches for crew in jobs._CREWS.get(batch, ())]:
                    for worker in (*crew._idle, *crew._busy.values()):
                        os.kill(worker.process.pid, signal.SIGKILL)
                        killed.append(worker.process.pid)

    noting = Killer()
    with Store(tmp_path / "one.sqlite") as opened:
        build = Build(TEN, opened, watcher=noting)
        summary = build.run()
    assert len(killed) >= 2
    assert (summary.jobs, summary.failed, noting.of(JobFailed)) == (10, 0, [])
    assert contents(tmp_path / "one.sqlite") == left_alone


# Stopping


def require_nobody_left(batch: str, crews: list[Any]) -> None:
    assert batch not in jobs._CREWS
    assert crews
    for crew in crews:
        assert crew.closed
        assert (crew._idle, crew._busy) == ([], {})


class KeepingCrews(Noting):
    """Keeps the crews of a build, to see what becomes of them."""

    def __init__(self) -> None:
        super().__init__()
        self.crews: list[Any] = []


def run_out_once_told(
    build: Build, opened: Store, clock: Clock, crews: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Let the time of a build of a hard question run out once a box of it has been ruled out."""
    write = build._write_told

    def then_run_out() -> None:
        write()
        if not crews and opened.ruled_out(build.chains[0].questions[0]):
            crews.extend(jobs._CREWS[build._batch])
            clock.run_out()

    monkeypatch.setattr(build, "_write_told", then_run_out)


@pytest.mark.own_workers
def test_a_build_stops_at_its_time_limit_and_goes_on_from_there(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "one.sqlite"
    with Store(path) as opened:
        build = Build(hard_recipe(), opened, slots=1, time_limit_s=2)
        crews: list[Any] = []
        run_out_once_told(build, opened, clock, crews, monkeypatch)
        summary = build.run()
        assert summary.stopped == "the time limit of 2 seconds is up"
        assert (summary.jobs, summary.undecided) == (0, 1)
        require_nobody_left(build._batch, crews)
        asked = build.chains[0].questions[0]
        told = opened.ruled_out(asked)
        assert told
        executor = AtOnce()
        Build(hard_recipe(), opened, executor).run()
        assert list(executor.jobs[0].known) == told


class RunsOutAfterAJob(Noting):
    """Lets the time run out when a second job is given out."""

    def __init__(self, clock: Clock) -> None:
        super().__init__()
        self.clock = clock

    def event(self, event: Event) -> None:
        super().event(event)
        if len(self.of(JobStarted)) == 2:
            self.clock.run_out()


def test_what_was_answered_when_the_time_is_up_is_kept(tmp_path: Path, clock: Clock) -> None:
    easy = {"inputs": [1], "delays": [1], **SMALL}
    hard = {"inputs": [4], "delays": [3], "length": 5, "width": 4, "height": 5}
    both = recipe("10", "0110100110010110", asks=[easy, hard], solver="lingeling")
    with Store(tmp_path / "one.sqlite") as opened:
        summary = Build(both, opened, None, 1, RunsOutAfterAJob(clock), time_limit_s=1).run()
        known = [entry for entry in opened.entries() if entry.proven]
        assert summary.jobs == len(known) == 1
        assert summary.stopped


def test_a_build_that_is_done_in_time_was_not_stopped(store: Store) -> None:
    """Its time is up in the moment in which its last job ends."""
    noting = Noting()

    def answer(job: Job) -> Outcome:
        build._deadline = time.monotonic()
        return impossible(job)

    build = Build(recipe("0110"), store, AtOnce(answer), 1, noting, time_limit_s=600)
    summary = build.run()
    assert summary.stopped == ""
    assert noting.events[-1] == BuildEnded(summary)


@pytest.mark.own_workers
def test_stopped_by_a_key_nothing_told_is_lost_and_nobody_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The key comes as an exception at any moment; here, once a box has been ruled out."""
    with Store(tmp_path / "one.sqlite") as opened:
        build = Build(hard_recipe(), opened, slots=1)
        crews: list[Any] = []
        write = build._write_told

        def then_stop() -> None:
            write()
            if not crews and opened.ruled_out(build.chains[0].questions[0]):
                crews.extend(jobs._CREWS[build._batch])
                raise KeyboardInterrupt

        monkeypatch.setattr(build, "_write_told", then_stop)
        with pytest.raises(KeyboardInterrupt):
            build.run()
        require_nobody_left(build._batch, crews)


def test_a_layout_found_on_the_way_is_kept(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A search that goes on after it has found one is stopped: found again, it costs nothing."""
    given = recipe("01", delays=(1,), time={"first": 300})
    with Store(tmp_path / "one.sqlite") as opened:
        build = Build(given, opened, slots=1)
        settled = Questioner.keep

        def hold(walk: Questioner, *arguments: Any) -> None:
            settled(walk, *arguments)
            clock.run_out()
            over.wait(GUARD_S)

        over = threading.Event()
        end = build._end

        def end_then_go_on(*arguments: Any) -> None:
            over.set()
            end(*arguments)

        with monkeypatch.context() as patch:
            patch.setattr(Questioner, "keep", hold)
            patch.setattr(build, "_end", end_then_go_on)
            patch.setattr(build, "time_limit_s", 1.5)
            assert build.run().stopped
        clock.over = False
        (entry,) = opened.entries()
        assert (entry.status, entry.proven) == ("undecided", False)
        assert entry.delay is not None
        noting = Noting()
        Build(given, opened, slots=1, watcher=noting).run()
        (ended,) = noting.of(JobEnded)
        assert ended.outcome.status is Status.FOUND
        # One question at most, about the only box that is smaller.
        ruled_out = ended.outcome.stats.boxes_ruled_out
        assert ended.outcome.stats.questions <= len(ruled_out) == 1


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
