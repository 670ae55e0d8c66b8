"""Jobs: the answer of a search, a worker process kept from job to job, and its end."""

from __future__ import annotations

import pickle
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest

from synth.library import jobs
from synth.library.canonical import Canonical
from synth.library.jobs import Job, dismiss, effort, run_job
from synth.questions.box import BoxAnswer
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.search import solve
from synth.search.workers.batches import KeptByThreads
from synth.search.workers.crew import Crew, Stopped
from synth.search.workers.settings import Settings
from synth.spec import Spec
from tests.library.answers import VOLUME
from tests.waiting import GUARD_S, Clock

pytestmark = pytest.mark.own_workers

BATCH = "tests"


@pytest.fixture(autouse=True)
def crews(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Crews of a batch that no other test has dismissed."""
    monkeypatch.setattr(jobs, "_CREWS", KeptByThreads(lambda: Crew(1)))
    yield
    dismiss(BATCH)


def small_job(text: str = "q = ~a", **more: object) -> Job:
    spec = Spec.parse(text, length=2, width=2, height=2, delay=2, stack="y")
    asked, _ = Canonical.of(Problem(spec, VOLUME))
    return Job(asked, text, 3600, batch=BATCH, **more)  # type: ignore[arg-type]


def hard_job(share_s: float = 600) -> Job:
    spec = Spec.parse("q = a ^ b ^ c ^ d", length=5, width=4, height=5, delay=3)
    # A solver without a budget places nothing first: the walk's answers come at once.
    asked = Canonical.of(Problem(spec, VOLUME))[0]
    return Job(asked, "hard", share_s, settings=Settings("lingeling"), batch=BATCH)


def processes() -> list[int]:
    """The worker processes of the batch that wait for work."""
    return [worker.process.pid for crew in jobs._CREWS.of(BATCH) for worker in crew._idle]


def test_a_job_gives_the_answer_of_a_search_and_tells_every_box() -> None:
    job = small_job()
    told: list[BoxAnswer] = []
    began = time.time()
    result = run_job(job, told.append)
    alone = solve(job.asked.spec, workers=1, time_limit_s=job.share_s)
    assert result.outcome.status is Status.FOUND
    assert result.outcome.layout == alone.layout
    assert result.outcome.claim == alone.claim
    assert tuple(told) == result.answers
    # Layouts that are placed first are told besides what is asked.
    assert len([one for one in told if one.layout is None]) <= result.outcome.stats.questions
    assert len(told) >= result.outcome.stats.questions
    assert alone.layout in [one.layout for one in told]
    assert 0 < result.outcome.stats.seconds <= result.seconds
    assert began <= result.started <= time.time()


def test_what_is_known_is_not_asked_again() -> None:
    first = run_job(small_job())
    again = run_job(small_job(known=first.answers))
    assert again.outcome.stats.questions == 0
    assert again.answers == ()
    assert again.outcome.layout == first.outcome.layout
    assert again.outcome.claim == first.outcome.claim


def test_the_seed_and_the_solver_are_the_job_s() -> None:
    outcome = run_job(small_job(settings=Settings("minisat22", seed=5))).outcome
    assert (outcome.stats.seed, outcome.stats.solver) == (5, "minisat22")


def test_jobs_and_results_can_be_sent() -> None:
    job = small_job()
    assert pickle.loads(pickle.dumps(job)) == job
    result = run_job(job)
    assert pickle.loads(pickle.dumps(result)) == result


def test_the_worker_process_is_kept_from_job_to_job() -> None:
    run_job(small_job())
    (first,) = processes()
    run_job(small_job("q = a & b"))
    assert processes() == [first]


def test_each_thread_has_a_worker_process_of_its_own() -> None:
    meeting = threading.Barrier(2)

    def work() -> None:
        meeting.wait(GUARD_S)
        run_job(small_job())

    with ThreadPoolExecutor(2) as threads:
        for future in [threads.submit(work), threads.submit(work)]:
            future.result()
    assert len(set(processes())) == 2


def test_a_job_whose_time_is_up_is_undecided_and_keeps_what_it_found_out(clock: Clock) -> None:
    told: list[BoxAnswer] = []

    def tell(answer: BoxAnswer) -> None:
        told.append(answer)
        if len(told) == 5:
            clock.run_out()

    result = run_job(hard_job(share_s=1.5), tell)
    assert result.outcome.status is Status.UNDECIDED
    assert list(result.answers) == told
    assert [answer.layout for answer in told] == [None] * 5


def test_dismissing_ends_what_is_under_way_and_what_comes_later() -> None:
    told = threading.Event()
    with ThreadPoolExecutor(1) as threads:
        future = threads.submit(run_job, hard_job(), lambda answer: told.set())
        assert told.wait(GUARD_S)
        (crew,) = jobs._CREWS.of(BATCH)
        dismiss(BATCH)
        with pytest.raises((Stopped, RuntimeError)):
            future.result(timeout=GUARD_S)
        assert crew.closed
        with pytest.raises(Stopped):
            run_job(small_job())
    assert not jobs._CREWS.of(BATCH)


def test_dismissing_one_batch_leaves_the_others_at_work() -> None:
    run_job(small_job())
    (process,) = processes()
    dismiss("another")
    run_job(small_job())
    assert processes() == [process]


def test_larger_questions_take_more_effort() -> None:
    def of(text: str, delay: int, length: int) -> int:
        spec = Spec.parse(text, delay=delay)
        return effort(Canonical.of(Problem(spec, VOLUME))[0], (length, 2, 3))

    assert of("q = a & b", 1, 2) < of("q = a & b & c", 1, 2)
    assert of("q = a & b", 1, 2) < of("q = a & b", 2, 2)
    assert of("q = a & b", 1, 2) < of("q = a & b", 1, 3)
