"""From above: a layout is composed at once, then shrunk in a process of its own beside the walk.

Once the walk has no hope it stands back (``synth.search.walk.hope``), and further processes with
other seeds take its workers' places. Each begins with the best layout so far and hears of what
the others gain.

The simulator judges what comes from above, and it proves nothing: it tells the walk where it may
stop, and gives the user a layout meanwhile.
"""

from __future__ import annotations

import contextlib
import queue
import subprocess
import threading
import time
from collections.abc import Callable, Iterable
from types import TracebackType

from synth.composing import Attempt, Composition, compose
from synth.layout import Layout
from synth.questions.measures import keeps, measured
from synth.questions.problem import Problem
from synth.search.above.descent import Descent
from synth.search.workers.child import ended, go_on, receive, send, stand_still, started
from synth.search.workers.judged import Found
from synth.simulator import check
from synth.spec import Limits

COMPOSING_S = 3.0
"""Seconds for which composing may look for better layouts after one is right."""

SEED_STEP = 1_000_003
"""From the seed of one process to that of the next: far enough that none draws what another did."""

LEAST_S = 2.0
"""With less time than this, in seconds, nothing is shrunk: starting a process takes most of it."""


_Gain = tuple[Layout, subprocess.Popen[bytes] | None]
"""A layout, and the process that it comes from; None: it was composed."""


class FromAbove:
    """Layouts of a problem from above; a context manager that leaves no process behind.

    Args:
        problem: what is asked, with the limits in force.
        own: the limits that the user gave; at first a layout may exceed those that were assumed.
        known: right layouts from elsewhere, with the pins of the problem.
        time_limit_s: the time that shrinking may take, in seconds.
        seed: the seed of the moves of shrinking.
        beyond: called with every better layout that keeps the user's own limits but not those that
            were assumed.
        late: whether a composed layout that is slower than is asked is shrunk at once; otherwise
            placing comes first.
        waits_s: the seconds before the process begins. Starting it takes what a small question
            needs, and whoever waits for gains may be done by then.

    Attributes:
        composition: the results of the constructions.
        best: the best layout that keeps the user's own limits, or None.
    """

    def __init__(
        self,
        problem: Problem,
        own: Limits,
        known: Iterable[Layout] = (),
        *,
        time_limit_s: float,
        seed: int = 0,
        beyond: Callable[[Found], None] | None = None,
        late: bool = False,
        waits_s: float = 0.0,
    ) -> None:
        self.problem = problem
        self.own = own
        self.seed = seed
        self.best: Found | None = None
        self._beyond = beyond
        self._late = late
        self._starts_late = False
        self._start: Layout | None = None
        self._waits_s = waits_s
        self._begins: float | None = None
        self._until = time.monotonic() + time_limit_s
        self._gains: queue.SimpleQueue[_Gain] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._processes: list[subprocess.Popen[bytes]] = []
        self._ordered: list[subprocess.Popen[bytes]] = []
        self._running = 0
        self._stopped = False
        self._resting: list[subprocess.Popen[bytes]] = []
        self.composition: Composition = compose(
            problem.spec,
            measures=problem.measures,
            rules=problem.rules,
            time_limit_s=min(COMPOSING_S, time_limit_s),
            known=known,
            firm=own,
        )

    def __enter__(self) -> FromAbove:
        attempt = self.composition.best or self.composition.nearest
        start = None if attempt is None else attempt.layout
        if start is not None:
            self._gains.put((start, None))
        if attempt is not None and self._is_late(attempt):
            self._starts_late = self._late
            start = start if self._late else None
        self._start = start
        now = time.monotonic()
        waits = now + self._waits_s + LEAST_S <= self._until
        self._begins = now + self._waits_s if waits else now
        self._begin_if_due()
        return self

    def _begin_if_due(self, *, hurry: bool = False) -> None:
        """Begin to shrink, if it has not begun and has waited long enough, or is to ``hurry``."""
        if self._begins is not None and (hurry or time.monotonic() >= self._begins):
            self._begins = None
            self._begin(self._start)

    def join(self, processes: int) -> None:
        """Shrink in so many further processes, from the best layout on and by other seeds."""
        self.rest(False)
        self._begin_if_due(hurry=True)
        best = None if self.best is None else self.best.layout
        for _ in range(processes):
            self._begin(best)

    def offer(self, layout: Layout) -> None:
        """Shrink a layout that was found elsewhere as well, if it is better than the best."""
        found = self._judged(layout)
        if found is None or not self._is_better(found):
            return
        self.best = found
        self._start = layout
        self._tell(layout)

    def _tell(self, layout: Layout, source: subprocess.Popen[bytes] | None = None) -> None:
        """Send a layout to every process that has its order, but to the one that it comes from."""
        self.rest(False)  # Who rests reads nothing.
        for process in list(self._ordered):
            if process is not source and process.stdin is not None and self.busy:
                with contextlib.suppress(OSError):
                    send(process.stdin, layout)

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.stop()

    @property
    def busy(self) -> bool:
        """Whether more layouts may come."""
        return (self._begins is not None or self._running > 0) and not self._stopped

    @property
    def at_work(self) -> bool:
        """Whether it is busy, has begun and does not rest."""
        return self.busy and self._begins is None and not self._resting

    @property
    def has_layout(self) -> bool:
        """Whether a layout has come that keeps the user's own limits."""
        return self.best is not None

    def rest(self, rests: bool) -> None:
        """Let its processes stand still, where this system can do that, or go on."""
        if rests and not self._resting:
            self._resting = [process for process in self._ordered if stand_still(process)]
        elif not rests:
            for process in self._resting:
                go_on(process)
            self._resting = []

    def gains(self) -> list[Found]:
        """The layouts that have come since the last call, judged anew, the best last.

        Only layouts that keep every limit in force are given, because only these can answer the
        walk. ``best`` also notes layouts that keep just the user's own limits.
        """
        self._begin_if_due()
        found = []
        with contextlib.suppress(queue.Empty):
            while True:
                layout, source = self._gains.get_nowait()
                if source is not None and self.best is not None and layout == self.best.layout:
                    continue  # It comes back from a process that was told of it.
                judged = self._judged(layout)
                if judged is None:
                    continue
                kept = keeps(layout, judged.verdict.delay, self.problem.limits)
                if self._is_better(judged):
                    self.best = judged
                    self._tell(layout, source)
                    if self._beyond is not None and not kept:
                        self._beyond(judged)
                if kept:
                    found.append(judged)
        return found

    def _judged(self, layout: Layout) -> Found | None:
        """The layout with its verdict, if it is right and keeps the user's own limits."""
        spec = self.problem.spec.replace(limits=self.own)
        verdict = check(layout, spec, delay=self.own.delay, rules=self.problem.rules)
        kept = verdict.passes and keeps(layout, verdict.delay, self.own)
        return Found(layout, verdict) if kept else None

    def _is_better(self, found: Found) -> bool:
        return self.best is None or self._score(found) < self._score(self.best)

    def _score(self, found: Found) -> tuple[int, ...]:
        names = dict.fromkeys((*self.problem.measures, "volume", "parts"))
        values = (measured(found.layout, found.verdict.delay, name) for name in names)
        return tuple(1 << 30 if value is None else value for value in values)

    # Shrinking, in a process of its own

    def _is_late(self, attempt: Attempt) -> bool:
        """Whether what was composed is slower than is asked."""
        asked, own = self.problem.limits.delay, attempt.measure("delay")
        return asked is not None and (own is None or own > asked)

    def _begin(self, start: Layout | None) -> None:
        left_s = self._until - time.monotonic()
        if left_s < LEAST_S or self._stopped:
            return
        seed = self.seed + SEED_STEP * len(self._processes)
        order = Descent(
            self.problem,
            self.own,
            start,
            left_s,
            seed,
            late=self._starts_late,
            further=bool(self._processes),
        )
        process = started("synth.search.above.descent")
        self._processes.append(process)
        with self._lock:
            self._running += 1
        threading.Thread(target=self._listen, args=(process, order), daemon=True).start()

    def _listen(self, process: subprocess.Popen[bytes], order: Descent) -> None:
        """Send the order to the process and queue its gains until it ends."""
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            send(process.stdin, order)
            self._ordered.append(process)
            while True:
                gained = receive(process.stdout)
                if not isinstance(gained, Layout):
                    return
                self._gains.put((gained, process))
        except (EOFError, OSError):
            return
        finally:
            with self._lock:
                self._running -= 1

    def stop(self) -> None:
        """End the processes at once, whatever they are doing; their gains so far are kept."""
        self._stopped = True
        for process in self._processes:
            ended(process)
        self._processes.clear()
