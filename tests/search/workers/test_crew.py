"""Worker processes: lost ones are replaced, stopped ones end, none outlives its crew."""

from __future__ import annotations

import io
import os
import threading
from concurrent.futures import Future
from typing import IO

import pytest
from pysat.solvers import NoSuchSolverError

from synth.encoding import Question
from synth.machine import process_fields
from synth.search.workers import crew as crew_module
from synth.search.workers.child import CAN_STAND_STILL, LENGTH, receive, send, sendable
from synth.search.workers.crew import MOST_PAUSED, Crew, Stopped, Worker
from synth.search.workers.task import Reply, Task, answer
from synth.spec import Spec
from tests.waiting import GUARD_S, wait_until

pytestmark = pytest.mark.own_workers

pausing = pytest.mark.skipif(not CAN_STAND_STILL, reason="processes cannot stand still here")

EASY = Task(Question(Spec.parse("q = ~a"), (2, 1, 2), 1), "cadical195")
HARD = Task(Question(Spec.parse("q = a ^ b ^ c", stack="y"), (6, 2, 6), 4), "cadical195")


def alive(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    return True


def worker_of(crew: Crew, future: Future[Reply]) -> int:
    """The process id of the worker that is busy with a task."""
    taken: list[int] = []

    def is_taken() -> bool:
        worker = crew._busy.get(future)
        if worker is not None:
            taken.append(worker.process.pid)
        return bool(taken)

    wait_until(is_taken, "no worker took the task")
    return taken[0]


def test_a_lost_worker_costs_nothing_but_time() -> None:
    with Crew(1) as crew:
        future = crew.submit(HARD)
        first = worker_of(crew, future)
        os.kill(first, 9)
        easy = crew.submit(EASY)
        second = first
        while second == first:
            second = worker_of(crew, future)
        crew.stop(future)
        assert easy.result(timeout=GUARD_S).answer == "found"
    assert not alive(first)
    assert not alive(second)


def test_a_task_whose_worker_is_always_lost_is_undecided() -> None:
    with Crew(1) as crew:
        future = crew.submit(HARD)
        seen: set[int] = set()

        def killed() -> bool:
            worker = crew._busy.get(future)
            if worker is not None and worker.process.pid not in seen:
                seen.add(worker.process.pid)
                os.kill(worker.process.pid, 9)
            return future.done()

        wait_until(killed, "the task is given out again and again")
        assert future.result().answer == "undecided"
        assert "lost" in future.result().reason
    assert len(seen) == 3


def test_a_stopped_task_ends_its_worker() -> None:
    with Crew(1) as crew:
        future = crew.submit(HARD)
        process_id = worker_of(crew, future)
        waiting = crew.submit(EASY)
        crew.stop(waiting)
        crew.stop(future)
        with pytest.raises(Stopped):
            future.result(timeout=GUARD_S)
        with pytest.raises(Stopped):
            waiting.result(timeout=GUARD_S)
        assert not alive(process_id)


def test_closing_a_crew_leaves_no_process() -> None:
    with Crew(2) as crew:
        futures = [crew.submit(HARD) for _ in range(3)]
        running = [worker_of(crew, future) for future in futures[:2]]
    assert not any(alive(process_id) for process_id in running)


def test_closing_a_crew_stops_what_has_not_begun() -> None:
    """A task that still waits for a thread is dropped by closing; its future says so."""
    crew, occupied = Crew(1), threading.Event()
    for _ in range(1 + MOST_PAUSED):
        crew._threads.submit(occupied.wait, GUARD_S)
    waiting = crew.submit(EASY)
    closing = threading.Thread(target=crew.close)
    closing.start()
    with pytest.raises(Stopped):
        waiting.result(timeout=GUARD_S)
    occupied.set()
    closing.join(GUARD_S)
    assert not closing.is_alive()


@pytest.fixture(params=["not begun", "begun"])
def begun(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> bool:
    """Whether workers have begun before they get a task."""
    has_begun = Worker._has_begun
    early = bool(request.param == "begun")

    def told(self: Worker, *, wait: bool) -> bool:
        return (early or wait) and has_begun(self, wait=True)

    monkeypatch.setattr(Worker, "_has_begun", told)
    return early


def test_what_is_at_hand_is_answered_here_until_a_worker_has_begun(
    begun: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[Task] = []

    def answered_here(task: Task) -> Reply:
        asked.append(task)
        return answer(task)

    monkeypatch.setattr(crew_module, "answer", answered_here)
    with Crew(1) as crew:
        assert crew.submit(EASY).result(timeout=GUARD_S).answer == "found"
        assert asked == ([] if begun else [EASY])
        (worker,) = crew._idle
        assert worker.process.poll() is None


def test_what_is_not_at_hand_is_left_to_a_worker(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew_module, "at_hand", lambda task: False)
    monkeypatch.setattr(crew_module, "answer", None)
    with Crew(1) as crew:
        assert crew.submit(EASY).result(timeout=GUARD_S).answer == "found"


def test_a_task_stopped_while_it_is_answered_here_ends_its_worker(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Worker, "_has_begun", lambda self, *, wait: False)
    taken, go_on = threading.Event(), threading.Event()

    def answered_late(task: Task) -> Reply:
        taken.set()
        assert go_on.wait(GUARD_S)
        return answer(task)

    monkeypatch.setattr(crew_module, "answer", answered_late)
    with Crew(1) as crew:
        future = crew.submit(EASY)
        assert taken.wait(GUARD_S)
        process_id = worker_of(crew, future)
        crew.stop(future)
        go_on.set()
        with pytest.raises(Stopped):
            future.result(timeout=GUARD_S)
        assert not crew._idle
    assert not alive(process_id)


def test_what_a_task_raises_is_raised_here(begun: bool) -> None:
    broken = Task(Question(Spec.parse("q = ~a"), (2, 1, 2), 1), "no such solver")
    with Crew(1) as crew, pytest.raises(NoSuchSolverError):
        crew.submit(broken).result(timeout=GUARD_S)


def test_a_reply_cut_short_at_any_byte_is_a_lost_worker() -> None:
    whole = io.BytesIO()
    send(whole, Reply("impossible"))
    assert receive(io.BytesIO(whole.getvalue())) == Reply("impossible")
    for length in range(len(whole.getvalue())):
        with pytest.raises(EOFError):
            receive(io.BytesIO(whole.getvalue()[:length]))


def test_a_reply_whose_value_is_cut_short_is_a_lost_worker() -> None:
    """All the bytes that were announced are there, and are no value."""
    whole = io.BytesIO()
    send(whole, Reply("impossible"))
    data = whole.getvalue()[LENGTH.size :]
    for length in range(len(data)):
        with pytest.raises(EOFError):
            receive(io.BytesIO(LENGTH.pack(length) + data[:length]))


class Unsendable(Exception):
    """Pickles, and cannot be read back."""

    def __init__(self, one: int, two: int) -> None:
        super().__init__(f"{one} and {two}")


def test_an_exception_arrives_in_words_at_least() -> None:
    assert isinstance(sendable(KeyError("x")), KeyError)
    assert str(sendable(Unsendable(1, 2))) == "Unsendable: 1 and 2"
    assert isinstance(sendable(ValueError(lambda: None)), RuntimeError)


def test_a_worker_that_sent_no_value_is_not_used_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """A kill in the middle of a reply: the next task goes to another worker."""
    broken: list[int] = []

    def spoilt(stream: IO[bytes]) -> object:
        if not broken:
            broken.append(1)
            return receive(io.BytesIO(LENGTH.pack(3) + b"no\n"))
        return receive(stream)

    monkeypatch.setattr(crew_module, "receive", spoilt)
    with Crew(1) as crew:
        assert crew.submit(EASY).result(timeout=600).answer == "found"
        (worker,) = crew._idle
        assert worker.process.poll() is None


@pausing
def test_a_paused_task_stands_still_and_goes_on() -> None:
    """Another has its place meanwhile; its own process goes on, with what it has learnt."""
    with Crew(1) as crew:
        hard = crew.submit(HARD)
        process_id = worker_of(crew, hard)
        wait_until(lambda: crew.pause(hard), "the task has not begun")
        wait_until(lambda: process_fields(process_id)[0] == "T", "its process goes on")
        assert not crew.pause(hard)
        assert crew.submit(EASY).result(timeout=GUARD_S).answer == "found"
        assert not hard.done()
        crew.go_on(hard)
        wait_until(lambda: process_fields(process_id)[0] != "T", "it stands still")
        assert worker_of(crew, hard) == process_id
        waiting = crew.submit(EASY)
        wait_until(lambda: (crew.processor_seconds(hard) or 0.0) > 0.0, "it does nothing")
        assert not waiting.done()  # The place is taken again.
        crew.stop(hard)
        assert waiting.result(timeout=GUARD_S).answer == "found"


@pausing
def test_a_task_can_be_paused_as_soon_as_its_process_works(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a busy machine that is before the thread that sent the task comes back from sending."""
    go_on = threading.Event()

    def sent_late(stream: IO[bytes], value: object) -> None:
        send(stream, value)
        assert go_on.wait(GUARD_S)

    monkeypatch.setattr(crew_module, "send", sent_late)
    with Crew(1) as crew:
        hard = crew.submit(HARD)
        wait_until(lambda: (crew.processor_seconds(hard) or 0.0) > 0.0, "it does nothing")
        paused = crew.pause(hard)
        go_on.set()
        assert paused
        crew.go_on(hard)
        crew.stop(hard)
        with pytest.raises(Stopped):
            hard.result(timeout=GUARD_S)


@pausing
def test_only_so_many_tasks_are_paused() -> None:
    with Crew(1) as crew:
        paused = []
        for _ in range(MOST_PAUSED):
            future = crew.submit(HARD)
            worker_of(crew, future)
            wait_until(lambda future=future: crew.pause(future), "the task has not begun")
            paused.append(future)
        last = crew.submit(HARD)
        worker_of(crew, last)
        wait_until(lambda: (crew.processor_seconds(last) or 0.0) > 0.0, "it does nothing")
        assert not crew.pause(last)
        processes = [worker_of(crew, future) for future in (*paused, last)]
    assert not any(alive(process_id) for process_id in processes)


@pausing
def test_a_stopped_task_that_was_paused_leaves_its_place_to_nobody_twice() -> None:
    """After it is stopped, just as many run at a time as before."""
    with Crew(1) as crew:
        paused = crew.submit(HARD)
        worker_of(crew, paused)
        wait_until(lambda: crew.pause(paused), "the task has not begun")
        crew.stop(paused)
        with pytest.raises(Stopped):
            paused.result(timeout=GUARD_S)
        first, second = crew.submit(HARD), crew.submit(EASY)
        worker_of(crew, first)
        wait_until(lambda: (crew.processor_seconds(first) or 0.0) > 0.0, "it does nothing")
        assert not second.done()
        crew.stop(first)
        assert second.result(timeout=GUARD_S).answer == "found"
