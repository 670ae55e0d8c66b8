"""Worker processes behind futures: tasks go in, replies come out, and any task can be stopped."""

from __future__ import annotations

import select
import sys
import threading
from concurrent.futures import Future, ThreadPoolExecutor
from types import TracebackType

from synth.machine import processor_seconds_of
from synth.search.workers.child import ended, go_on, receive, send, stand_still, started
from synth.search.workers.task import TOO_LARGE, Reply, Task, answer, at_hand
from synth.search.workers.worker import READY

LOSSES_BORNE = 2
"""How often a task gets a new worker after its worker was lost."""

MOST_PAUSED = 6
"""The most tasks that may be paused: each keeps its process, with its formula and what was learnt.
"""


class Stopped(Exception):
    """The task was stopped before it was answered."""


class _Failed(Exception):
    """A task raised an exception in its worker, which reported it and still works."""

    def __init__(self, error: Exception) -> None:
        super().__init__(str(error))
        self.error = error


class Worker:
    """One child process; used by one thread at a time.

    A process takes longer to start than many a small question to answer. Until it has begun, such
    questions are answered by the calling thread.
    """

    def __init__(self) -> None:
        self.process = started("synth.search.workers.worker")
        self._begun = False
        self._at_work = False
        self._had_before_s: float | None = None

    def ask(self, task: Task) -> Reply:
        """Send a task and wait for its reply, or answer it here (see the class).

        Raises:
            EOFError, OSError: if the worker is lost.
            _Failed: if the task raised an exception.
        """
        if not self._has_begun(wait=not at_hand(task)):
            try:
                return answer(task)
            except MemoryError:
                return TOO_LARGE
            except Exception as error:
                raise _Failed(error) from error
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self._had_before_s = processor_seconds_of(self.process.pid)
        # From here on: the process may work before this thread comes back from sending.
        self._at_work = True
        try:
            send(self.process.stdin, task)
            reply = receive(self.process.stdout)
        finally:
            self._at_work = False
        if isinstance(reply, Exception):
            raise _Failed(reply)
        if not isinstance(reply, Reply):
            raise EOFError("the worker sent something that is not a reply")
        return reply

    def pause(self) -> bool:
        """Let the process stand still in the middle of a task; returns whether it does."""
        return self._at_work and stand_still(self.process)

    def go_on(self) -> None:
        """Let the process go on with its task."""
        self._had_before_s = processor_seconds_of(self.process.pid)
        go_on(self.process)

    def processor_seconds(self) -> float | None:
        """The seconds of a processor that the task at work has had since it was sent, or last went
        on; None if that is not known.
        """
        if not self._at_work:
            return None
        before, now = self._had_before_s, processor_seconds_of(self.process.pid)
        return None if before is None or now is None else now - before

    def _has_begun(self, *, wait: bool) -> bool:
        """Whether the process is ready for tasks.

        Args:
            wait: wait until it is.

        Raises:
            EOFError: if the worker is lost.
        """
        stream = self.process.stdout
        assert stream is not None
        # Windows cannot look whether something is in a pipe.
        if not self._begun and (
            wait or sys.platform == "win32" or select.select([stream], [], [], 0)[0]
        ):
            if receive(stream) != READY:
                raise EOFError("the worker sent something else before it was ready")
            self._begun = True
        return self._begun

    def stop(self) -> None:
        """End the process at once, whatever it is doing."""
        ended(self.process)


class Crew:
    """A fixed number of workers; a context manager that leaves no process behind.

    A task can be paused: its worker stands still, another takes its place, and what it has learnt
    is there when it goes on.
    """

    def __init__(self, workers: int) -> None:
        # Threads wait for paused tasks as well; only so many others work at a time.
        self._threads = ThreadPoolExecutor(max_workers=workers + MOST_PAUSED)
        self._places = threading.Semaphore(workers)
        self._paused: set[Future[Reply]] = set()
        self._lock = threading.Lock()
        self._idle: list[Worker] = []
        self._busy: dict[Future[Reply], Worker] = {}
        self._stopped: set[Future[Reply]] = set()
        self._closed = False

    def __enter__(self) -> Crew:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def closed(self) -> bool:
        """Whether the crew has been closed."""
        return self._closed

    def submit(self, task: Task) -> Future[Reply]:
        """Queue a task; the future gives its ``Reply``, or raises ``Stopped``."""
        future: Future[Reply] = Future()

        def ended(run: Future[None]) -> None:
            # A crew that closes before the task has begun drops it; who waits must hear of that.
            if run.cancelled():
                future.set_exception(Stopped())

        self._threads.submit(self._run, task, future).add_done_callback(ended)
        return future

    def stop(self, future: Future[Reply]) -> None:
        """Stop a task, queued or running; its worker is ended, and replaced when needed."""
        with self._lock:
            if future.done():
                return
            self._stopped.add(future)
            worker = self._busy.get(future)
            if worker is not None:
                worker.process.kill()

    def pause(self, future: Future[Reply]) -> bool:
        """Pause a running task, so that another may run in its place.

        Returns whether it is paused: not if it is over or has not begun, if too many are, or if
        this system cannot do that.
        """
        with self._lock:
            worker = self._busy.get(future)
            if future.done() or worker is None or len(self._paused) >= MOST_PAUSED:
                return False
            if future in self._paused | self._stopped or not worker.pause():
                return False
            self._paused.add(future)
        self._places.release()
        return True

    def go_on(self, future: Future[Reply]) -> None:
        """Go on with a paused task, once there is a place for it."""
        self._places.acquire()
        with self._lock:
            if future in self._paused:
                self._paused.discard(future)
                worker = self._busy.get(future)
                if worker is not None:
                    worker.go_on()
                return
        self._places.release()  # It was lost meanwhile.

    def processor_seconds(self, future: Future[Reply]) -> float | None:
        """The seconds of a processor that a running task has had (``Worker.processor_seconds``)."""
        with self._lock:
            worker = self._busy.get(future)
            return None if worker is None else worker.processor_seconds()

    def close(self) -> None:
        """Stop every task and end every worker."""
        with self._lock:
            self._closed = True
            for worker in self._busy.values():
                worker.process.kill()
        self._threads.shutdown(wait=True, cancel_futures=True)
        for worker in self._idle:
            worker.stop()
        self._idle.clear()

    def _run(self, task: Task, future: Future[Reply]) -> None:
        self._places.acquire()
        try:
            future.set_result(self._ask(task, future))
        except BaseException as error:
            future.set_exception(error)
        finally:
            with self._lock:
                had_place = future not in self._paused
                self._paused.discard(future)
            if had_place:
                self._places.release()

    def _ask(self, task: Task, future: Future[Reply]) -> Reply:
        for _ in range(1 + LOSSES_BORNE):
            worker = self._take(future)
            try:
                reply = worker.ask(task)
            except (EOFError, OSError):
                self._drop(future, worker)
                continue
            except _Failed as failed:
                # The task itself failed, and its worker still works.
                self._give_back(future, worker)
                raise failed.error from None
            except BaseException:
                # After any other error the worker may be in the middle of something.
                self._drop(future, worker)
                raise
            self._give_back(future, worker)
            return reply
        return Reply("undecided", reason="its worker process was lost several times")

    def _take(self, future: Future[Reply]) -> Worker:
        with self._lock:
            if self._closed or future in self._stopped:
                raise Stopped
            worker = self._idle.pop() if self._idle else Worker()
            self._busy[future] = worker
            return worker

    def _give_back(self, future: Future[Reply], worker: Worker) -> None:
        with self._lock:
            del self._busy[future]
            if future not in self._stopped:
                self._idle.append(worker)
                return
        # It was stopped after its last word, or while its task was answered in this process.
        worker.stop()
        raise Stopped

    def _drop(self, future: Future[Reply], worker: Worker) -> None:
        with self._lock:
            del self._busy[future]
        worker.stop()
