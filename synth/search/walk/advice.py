"""An explained no: which limit stands in the way, and the nearest question with an answer.

A question without a layout is asked again with one limit at a time relaxed, step by step, within
the time allowed; if no single one helps, with two at a time. Only what was found is said, and a
limit that was not decided is named as such.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, replace
from itertools import combinations, count
from queue import SimpleQueue
from typing import TypeVar

from synth.bounds import least_delay
from synth.layout.pins import show_size
from synth.medium import Size
from synth.questions.box import BoxQuestion
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search.walk.letting_out import LetOut, Step, limits_to_let_out
from synth.search.walk.searching import search
from synth.search.workers.crew import Crew
from synth.search.workers.judged import tidied
from synth.search.workers.settings import Settings
from synth.search.workers.task import Task
from synth.spec import Spec
from synth.words import counted, listed

SINGLE_SHARE = 0.85
"""The share of the time for single limits; the rest is for pairs, if no single one helps."""

LEAST_S = 0.05
"""With less time than this, in seconds, nothing is asked."""

LEAST_SHARE_S = 1.0
"""A limit gets at least this many seconds while time is left: few answers beat none at all."""

_Item = TypeVar("_Item")
_Result = TypeVar("_Result")

Ask = Callable[[Spec, Sequence[Spec], float, bool], Outcome]
"""Asks a question with limits relaxed; may be called from several threads.

Arguments: the specification; specifications whose boxes are known to have no layout; seconds;
whether to ask about the largest boxes only. Returns the outcome.
"""


@dataclass(frozen=True, slots=True)
class Finding:
    """The result of relaxing one limit, or two.

    Attributes:
        let_out: the limits.
        helped: the words of the first step that has a layout; empty if none has.
        size: the size of that layout, in cells.
        ruled_out: the words of the last step shown to have no layout; empty if there is none.
        decided: whether every step was decided, up to the one that helped.
    """

    let_out: tuple[LetOut, ...]
    helped: str = ""
    size: Size | None = None
    ruled_out: str = ""
    decided: bool = False

    @property
    def name(self) -> str:
        """The limits as they were asked."""
        return listed([limit.name for limit in self.let_out])

    @property
    def never(self) -> str:
        """Everything that was relaxed."""
        return " with ".join(limit.never for limit in self.let_out)

    @property
    def open(self) -> str:
        """What was not decided."""
        return f"{self.never} (not just {self.ruled_out})" if self.ruled_out else self.never


def advise(problem: Problem, settings: Settings, seconds: float) -> tuple[str, ...]:
    """Which limits of an impossible problem stand in the way, found within a given time.

    Args:
        problem: a problem without a layout.
        settings: how to search; proofs of these questions are not kept.
        seconds: the time for all questions; with 0 none is asked.
    """
    if seconds <= 0:
        return ()
    with _Asker(problem, settings) as asker:
        return advice(*findings(problem.spec, seconds, asker.ask, settings.workers))


class _Asker:
    """Asks the questions; each thread has a worker process of its own."""

    def __init__(self, problem: Problem, settings: Settings) -> None:
        self.problem = problem
        self.settings = replace(settings, evidence=None, workers=1)
        self.crews = [Crew(1) for _ in range(settings.workers)]
        self._free: SimpleQueue[Crew] = SimpleQueue()
        for crew in self.crews:
            self._free.put(crew)
        self._ruled_out: dict[Spec, set[BoxQuestion]] = {}

    def __enter__(self) -> _Asker:
        return self

    def __exit__(self, *_: object) -> None:
        for crew in self.crews:
            crew.close()

    def ask(
        self, spec: Spec, ruled_out: Sequence[Spec], seconds: float, glance: bool = False
    ) -> Outcome:
        """See ``Ask``."""
        freed = replace(self.problem, spec=spec, measures=("volume",))
        known = {item for old in ruled_out for item in replace(freed, spec=old).candidates()}
        known |= self._ruled_out.get(spec, set())
        # Leave out delays that no layout meets, as the walk does.
        left_out = "least-delay" in self.settings.without
        least = 0 if left_out else least_delay(spec.function).ticks
        new = [item for item in freed.candidates() if item not in known and item.delay >= least]
        deadline = time.monotonic() + seconds
        # The largest boxes come first: if anything helps, it mostly helps there, and soonest.
        largest = _largest(new)
        others = [] if glance else [item for item in new if item not in set(largest)]
        crew = self._free.get()
        try:
            for question in largest:
                outcome = self._one(freed, question, deadline, crew)
                if outcome.status is not Status.IMPOSSIBLE:
                    return outcome
                self._ruled_out.setdefault(spec, set()).add(question)
            if not others:
                return Outcome(Status.IMPOSSIBLE)
            left = deadline - time.monotonic()
            if left <= 0:
                return Outcome(Status.UNDECIDED)
            return search(freed, self.settings, candidates=others, time_limit_s=left, crew=crew)
        finally:
            self._free.put(crew)

    def _one(self, freed: Problem, asked: BoxQuestion, deadline: float, crew: Crew) -> Outcome:
        """The answer to one question, which may take all the time that is left.

        A walk would limit it to a share of the time, and begin anew with cubes.
        """
        task = Task(freed.formula(asked), self.settings.solver, self.settings.seed)
        future = crew.submit(task)
        done, _ = wait([future], timeout=max(0.0, deadline - time.monotonic()))
        if not done:
            crew.stop(future)
            return Outcome(Status.UNDECIDED)
        reply = future.result()
        if reply.layout is None:
            return Outcome(Status(reply.answer))
        found = tidied(reply.layout, freed, asked.delay, self.settings.prefer)
        status = Status.FOUND if found.verdict.passes else Status.REFUSED
        return Outcome(status, found.layout if found.verdict.passes else None, found.verdict)


def _largest(questions: Sequence[BoxQuestion]) -> list[BoxQuestion]:
    """The questions whose box fits into no other one."""

    def fits(size: Size, other: Size) -> bool:
        return size != other and all(a <= b for a, b in zip(size, other, strict=True))

    sizes = {question.size for question in questions}
    largest = {size for size in sizes if not any(fits(size, other) for other in sizes)}
    return [question for question in questions if question.size in largest]


def findings(
    spec: Spec, seconds: float, ask: Ask, workers: int = 1
) -> tuple[list[Finding], list[Finding]]:
    """Relax one limit at a time, and two at a time if no single one helps.

    First each limit is relaxed by one step in the largest boxes only, which shows soonest what
    helps; the rest of the time is for the other steps and boxes.

    Args:
        spec: a specification without a layout under its limits.
        seconds: the time for all limits; each gets an equal share of what is left.
        ask: asks the questions.
        workers: how many limits are tried at the same time.

    Returns:
        The results of single limits, and those of pairs.
    """
    began = time.monotonic()
    limits = limits_to_let_out(spec)
    deadline = began + seconds * (SINGLE_SHARE if len(limits) > 1 else 1.0)

    def glance(limit: LetOut, left: float) -> Finding | None:
        outcome = ask(limit.steps[0].change(spec), _known(spec, limit), left, True)
        if outcome.layout is None:
            return None
        return Finding((limit,), limit.steps[0].words, outcome.layout.size, decided=True)

    def whole(limit: LetOut, left: float) -> Finding:
        return _let_out(spec, limit, left, ask)

    seen = _shared(limits, glance, deadline, workers)
    rest = [limit for limit, finding in zip(limits, seen, strict=True) if finding is None]
    worked_out = dict(zip(map(id, rest), _shared(rest, whole, deadline, workers), strict=True))
    single = [
        finding or worked_out[id(limit)] or Finding((limit,))
        for limit, finding in zip(limits, seen, strict=True)
    ]
    if any(finding.helped for finding in single):
        return single, []
    done = {finding.let_out[0].name for finding in single if finding.decided}
    pairs = _shared(
        list(_pairs(limits)),
        lambda pair, left: _both(spec, pair, done, left, ask),
        began + seconds,
        workers,
        until=lambda finding: bool(finding.helped),
    )
    return single, [finding for finding in pairs if finding is not None]


def _shared(
    items: Sequence[_Item],
    work: Callable[[_Item, float], _Result | None],
    deadline: float,
    workers: int,
    until: Callable[[_Result], bool] = lambda result: False,
) -> list[_Result | None]:
    """Work on items, several at a time, each with an equal share of the time that is left.

    The result is None for items that no time is left for, and for items after the first one whose
    result ``until`` accepts.
    """
    begun = count()
    over = threading.Event()

    def one(item: _Item) -> _Result | None:
        left = deadline - time.monotonic()
        share = left * workers / max(1, len(items) - next(begun))
        if over.is_set() or left < LEAST_S:
            return None
        result = work(item, min(left, max(share, LEAST_SHARE_S)))
        if result is not None and until(result):
            over.set()
        return result

    threads = ThreadPoolExecutor(workers)
    try:
        return list(threads.map(one, items))
    finally:
        # A thread that is still at work ends when its worker process is ended.
        over.set()
        threads.shutdown(wait=False, cancel_futures=True)


def _pairs(limits: Sequence[LetOut]) -> Iterator[tuple[LetOut, LetOut]]:
    """Pairs of limits; first those that leave the boxes as they are, which are quickest to ask."""
    every = list(combinations(limits, 2))
    yield from sorted(every, key=lambda pair: sum(len(limit.steps) for limit in pair))


def _let_out(spec: Spec, limit: LetOut, seconds: float, ask: Ask) -> Finding:
    deadline = time.monotonic() + seconds
    ruled_out, last = spec, ""
    for step in limit.steps:
        left = deadline - time.monotonic()
        if left <= 0:
            return Finding((limit,), ruled_out=last)
        freed = step.change(spec)
        outcome = ask(freed, _known(ruled_out, limit), left, False)
        if outcome.layout is not None:
            return Finding((limit,), step.words, outcome.layout.size, last)
        if outcome.status is not Status.IMPOSSIBLE:
            return Finding((limit,), ruled_out=last)
        ruled_out, last = freed, step.words
    return Finding((limit,), ruled_out=last, decided=True)


def _known(ruled_out: Spec, limit: LetOut) -> list[Spec]:
    """The specifications whose boxes need not be asked about again after relaxing a limit."""
    return [ruled_out] if limit.boxes_only else []


def _both(
    spec: Spec, pair: tuple[LetOut, LetOut], done: set[str], seconds: float, ask: Ask
) -> Finding:
    """Relax two limits by one step each, then by two steps each, and so on."""
    one, two = pair
    deadline = time.monotonic() + seconds
    last = ""
    # Boxes ruled out with one limit relaxed need not be asked about again.
    known = [
        limit.steps[-1].change(spec)
        for limit, other in (pair, (two, one))
        if other.boxes_only and limit.name in done
    ]
    for number in range(max(len(one.steps), len(two.steps))):
        left = deadline - time.monotonic()
        if left <= 0:
            return Finding(pair, ruled_out=last)
        first, second = _step(one, number), _step(two, number)
        outcome = ask(second.change(first.change(spec)), known, left, False)
        words = f"{first.words} and {second.words}"
        if outcome.layout is not None:
            return Finding(pair, words, outcome.layout.size, last)
        if outcome.status is not Status.IMPOSSIBLE:
            return Finding(pair, ruled_out=last)
        last = words
    return Finding(pair, ruled_out=last, decided=True)


def _step(limit: LetOut, number: int) -> Step:
    return limit.steps[min(number, len(limit.steps) - 1)]


def advice(single: Sequence[Finding], pairs: Sequence[Finding] = ()) -> tuple[str, ...]:
    """The findings as sentences, the clash first."""
    if not single:
        return ()
    helping = [finding for finding in single if finding.helped]
    together = [finding for finding in pairs if finding.helped]
    if len(helping) > 1:
        said = [f"{listed([finding.name for finding in helping])} cannot all be kept"]
    elif helping:
        said = [f"what stands in the way is {helping[0].name}"]
    elif together:
        said = [f"no limit stands in the way alone, but {together[0].name} together do"]
    else:
        said = ["relaxing any one limit was not found to help"]
    said += [
        f"with {finding.helped} there is a layout of {show_size(finding.size)} cells"
        for finding in (*helping, *together)
        if finding.size is not None
    ]
    never = [finding.never for finding in single if finding.decided and not finding.helped]
    still = [finding.open for finding in single if not (finding.decided or finding.helped)]
    said += [f"these do not help alone: {'; '.join(never)}"] if never else []
    said += [f"not decided in the time allowed: {'; '.join(still)}"] if still else []
    if pairs and not together:
        ruled_out = sum(finding.decided for finding in pairs)
        said.append(
            f"nor was any pair found to help: of {counted(len(pairs), 'pair')} tried, {ruled_out} "
            f"{'is' if ruled_out == 1 else 'are'} ruled out"
        )
    return tuple(said)
