"""Worker processes kept from test to test: starting one takes longer than most questions of tests.

A worker that is well when its crew closes serves the next crew. One that was stopped in the middle
of a task, or lost, is ended as ever. Tests of how workers begin and end have workers of their own
(``pytest.mark.own_workers``).
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from synth.search.workers.crew import Worker
from synth.search.workers.task import Reply, Task

_SPARE: list[KeptWorker] = []
# Linux ends a worker when the thread that started it ends: this one lives as long as the tests.
_THREAD = ThreadPoolExecutor(1)


class KeptWorker(Worker):
    """A worker that waits for the next crew where another would be ended."""

    def __init__(self) -> None:
        super().__init__()
        self.well = True

    def ask(self, task: Task) -> Reply:
        """Hand over a task; until it is answered the worker is not well."""
        self.well = False
        if task.evidence is not None:
            # The worker may have been started in the folder of another test.
            task = replace(task, evidence=str(Path(task.evidence).absolute()))
        try:
            reply = super().ask(task)
        except (EOFError, OSError):
            raise
        except Exception:
            self.well = True
            raise
        self.well = True
        return reply

    def stop(self) -> None:
        """Keep the process if it is well; end it if not."""
        if self.well and self.process.poll() is None:
            _SPARE.append(self)
        else:
            super().stop()


def hire() -> Worker:
    """A worker that waits, or a new one."""
    while _SPARE:
        worker = _SPARE.pop()
        if worker.process.poll() is None:
            return worker
        Worker.stop(worker)
    return _THREAD.submit(KeptWorker).result()


def dismiss() -> None:
    """End all workers that wait."""
    while _SPARE:
        Worker.stop(_SPARE.pop())
    _THREAD.shutdown()
