"""The search: the smallest layout of a specification, or why there is none."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

from synth.encoding import ACCELERATIONS
from synth.errors import InputError
from synth.machine import default_workers
from synth.medium import DEFAULT_RULES, Rules, Size
from synth.proofs.certificate import CertificateFolder, how_made
from synth.questions.candidates import assumed_limits, assumed_time, candidates_of
from synth.questions.cover import Claim
from synth.questions.events import (
    BoundRaised,
    BoxEnded,
    Event,
    Reporter,
    SearchEnded,
    SearchStarted,
    Silent,
)
from synth.questions.journal import Journal
from synth.questions.measures import Candidate, measured, parse_measures
from synth.questions.outcome import Outcome, Status
from synth.search.walk import claims
from synth.search.walk.advice import RELAXED, advice, relaxations
from synth.search.walk.first_layout import first_layout
from synth.search.walk.rounds import OutOfTime
from synth.search.walk.walk import Walk
from synth.search.workers.crew import Crew
from synth.search.workers.judged import Found, Refused
from synth.search.workers.settings import Settings
from synth.search.workers.solvers import require_proofs, require_solver, solver_for
from synth.search.workers.tidy import SUPPORTS
from synth.spec import Limits, Spec


def solve(
    spec: Spec,
    *,
    minimize: Iterable[str] = ("volume",),
    solver: str | None = None,
    time_limit_s: float | None = None,
    seed: int = 0,
    prefer: str = "solid",
    rules: Rules = DEFAULT_RULES,
    reporter: Reporter | None = None,
    workers: int | None = None,
    without: Iterable[str] = (),
    advise_s: float = 0.0,
    journal: Journal | None = None,
    certificate: str | Path | None = None,
    crew: Crew | None = None,
) -> Outcome:
    """Find the smallest layout of a specification under its limits.

    Boxes are tried from the smallest up, so the first that has a layout is the smallest; each
    smaller one was shown to have none. The same question and seed give the same layout,
    whatever the number of workers; under a time limit that cuts a box short it may be another one
    of the same measures.

    Args:
        spec: the specification; limits it leaves open are assumed and named in ``assumed``.
        minimize: measures in order of importance: ``volume``, ``floor``, ``length``,
            ``width``, ``height``, ``delay``, ``parts``.
        solver: a name of ``synth.search.workers.solvers.SOLVERS``; None: the one that suits,
            which with a ``certificate`` is another.
        time_limit_s: seconds after which the search stops, undecided, with the best so far.
        seed: another seed gives the solver the same formula in another order.
        prefer: ``solid``, ``clear`` or ``ledge`` for cells that only hold a part up.
        rules: the rule table.
        reporter: told of every question and answer; see ``synth.questions.events``.
        workers: questions put at the same time, each in a process of its own; None: as many
            as there are processors, up to 4.
        without: accelerations left out (``synth.encoding.ACCELERATIONS``), to measure them.
        advise_s: seconds to spend, after an answer of impossible, on finding which limit stands
            in the way (``synth.search.walk.advice``).
        journal: answers to start from, and where new ones are kept
            (``synth.questions.journal``); beside a ``certificate``, which wants proofs, only
            its layouts are started from.
        certificate: a folder for a certificate of the answer (``synth.proofs.certificate``),
            which ``synth.audit`` checks; it must not exist, be empty, or hold a certificate. A
            search that was stopped leaves its proofs there, and the next goes on from them.
        crew: workers to use and leave running, for many searches one after another; None: a
            crew of ``workers`` for this search alone.

    Returns:
        The outcome. Keys of its ``stats``: ``questions`` put, ``boxes_ruled_out``, ``boxes_open``
        (lists of length, width, height, delay), ``variables`` and ``clauses`` of the largest
        formula, ``bound`` (least value of the first measure that is not ruled out, or None),
        ``solve_seconds`` summed over workers, ``seconds`` in all, ``solver``, ``seed``.

    Raises:
        InputError: for a solver, measure, preference or limit that cannot be used.
    """
    measures = parse_measures(minimize)
    solver = solver_for(solver, proving=certificate is not None)
    settings = _settings(solver, seed, prefer, workers, rules)
    settings = replace(settings, without=_accelerations(without))
    if set(settings.without) - {"structure"} and certificate is not None:
        raise InputError(
            "a certificate of a formula with accelerations left out",
            way_out="leave out one of the two",
        )
    _require_feasible(spec)
    limits, assumed = assumed_limits(spec.limits)
    time_limit_s, assumed = assumed_time(time_limit_s, assumed)
    candidates = candidates_of(spec, limits, measures)
    with ExitStack() as stack:
        folder = None
        if certificate is not None:
            require_proofs(solver)
            folder = stack.enter_context(CertificateFolder(certificate))
            settings = replace(settings, evidence=str(folder.unfinished))
        outcome = _search(
            spec,
            settings,
            measures,
            candidates,
            limits,
            time_limit_s,
            assumed,
            reporter,
            folder,
            journal,
            crew,
        )
    if outcome.status is not Status.IMPOSSIBLE or advise_s <= 0:
        return outcome
    return replace(outcome, advice=_advice(spec, settings, limits, advise_s))


def _advice(spec: Spec, settings: Settings, limits: Limits, seconds: float) -> tuple[str, ...]:
    """Which limit of an impossible question stands in the way, within so many seconds."""
    settings = replace(settings, evidence=None)

    def ask(let_out: Limits, ruled_out: Limits, seconds: float) -> Outcome:
        freed = spec.replace(limits=let_out)
        before = set(candidates_of(spec, ruled_out, ("volume",)))
        new = [item for item in candidates_of(freed, let_out, ("volume",)) if item not in before]
        if let_out.parts != ruled_out.parts:
            new = candidates_of(freed, let_out, ("volume",))
        return _search(freed, settings, ("volume",), new, let_out, seconds, (), None)

    names = () if spec.empty or spec.fixed else RELAXED
    findings = list(relaxations(limits, seconds, ask, names or ("delay", "parts")))
    return advice(findings)


def solve_box(
    spec: Spec,
    size: Size,
    delay: int,
    *,
    solver: str | None = None,
    time_limit_s: float | None = None,
    seed: int = 0,
    prefer: str = "solid",
    rules: Rules = DEFAULT_RULES,
    reporter: Reporter | None = None,
) -> Outcome:
    """Answer one question: is there a layout in a box of exactly ``size`` within ``delay``?

    Arguments, outcome and errors are those of ``solve``; the specification's own limits on
    sizes and delay are not read.
    """
    settings = _settings(solver_for(solver), seed, prefer, 1, rules)
    _require_feasible(spec)
    free = spec.replace(limits=Limits(parts=spec.limits.parts))
    limits = Limits(*size, parts=spec.limits.parts, delay=delay)
    candidate = [Candidate(size, delay)]
    return _search(free, settings, ("volume",), candidate, limits, time_limit_s, (), reporter)


def _settings(solver: str, seed: int, prefer: str, workers: int | None, rules: Rules) -> Settings:
    require_solver(solver)
    if prefer not in SUPPORTS:
        raise InputError(
            f"no support {prefer!r} to prefer", way_out=f"use one of {', '.join(SUPPORTS)}"
        )
    if workers is None:
        workers = default_workers()
    if workers < 1:
        raise InputError(f"{workers} workers", way_out="use 1 or more")
    return Settings(solver, seed, prefer, workers, rules)


def _accelerations(names: Iterable[str]) -> tuple[str, ...]:
    """The accelerations to leave out, in the order of their table."""
    asked = set(names)
    for name in sorted(asked - set(ACCELERATIONS)):
        raise InputError(
            f"no acceleration {name!r}", way_out=f"use one of {', '.join(ACCELERATIONS)}"
        )
    return tuple(name for name in ACCELERATIONS if name in asked)


def _require_feasible(spec: Spec) -> None:
    """Refuse what no box can hold, with the reason, before any search."""
    for name in spec.pin_names:
        if not spec.faces(name):
            raise InputError(
                f"pin {name!r} has no face left: no pin's face lies along the stacking axis",
                place=f"pins.{name}.faces",
                way_out="give it a face that does not lie along the stacking axis",
            )
    if spec.stack is not None and spec.stack.axis == "z" and spec.ground:
        raise InputError(
            "a layout on ground does not stack along z",
            place="stack.axis",
            way_out="stack along x or y, or leave ground out",
        )


class _Timed:
    """Passes events on, with the bound as it rises, and closes the search, on failure too."""

    def __init__(self, reporter: Reporter | None, questions: int) -> None:
        self.reporter = reporter or Silent()
        self.began = time.perf_counter()
        self.bound: Callable[[], BoundRaised | None] | None = None
        self._last: BoundRaised | None = None
        self.reporter.event(SearchStarted(questions))

    def event(self, event: Event) -> None:
        self.reporter.event(event)
        if self.bound is not None and isinstance(event, BoxEnded) and event.answer == "impossible":
            bound = self.bound()
            if bound is not None and bound != self._last:
                self._last = bound
                self.reporter.event(bound)

    @property
    def seconds(self) -> float:
        return time.perf_counter() - self.began

    def close(self, status: str) -> None:
        self.reporter.event(SearchEnded(status, self.seconds))


def _search(
    spec: Spec,
    settings: Settings,
    measures: tuple[str, ...],
    candidates: list[Candidate],
    limits: Limits,
    time_limit_s: float | None,
    assumed: tuple[str, ...],
    reporter: Reporter | None,
    folder: CertificateFolder | None = None,
    journal: Journal | None = None,
    crew: Crew | None = None,
) -> Outcome:
    timed = _Timed(reporter, len(candidates))
    deadline = None if time_limit_s is None else time.monotonic() + time_limit_s
    status = "stopped"
    try:
        with ExitStack() as stack:
            hired = crew or stack.enter_context(Crew(settings.workers))
            kept = None
            if folder is not None:
                kept = folder.keep_proofs(spec, settings.rules, settings.solver, settings.seed)
            walk = Walk(spec, limits, settings, hired, deadline, timed, journal, kept)

            def bound_now() -> BoundRaised | None:
                value = claims.bound(walk, measures[0], candidates)
                return None if value is None else BoundRaised(measures[0], value)

            timed.bound = bound_now
            if time_limit_s is not None and _places_first(settings, measures):
                first_layout(walk, candidates, time_limit_s)
            outcome = _outcome(walk, limits, measures, candidates, time_limit_s)
        if folder is not None and outcome.status is not Status.REFUSED:
            _certify(folder, outcome, walk, limits, measures)
        status = str(outcome.status)
    finally:
        timed.close(status)
    bound = claims.bound(walk, measures[0], candidates)
    stats = {**claims.stats(walk), "bound": bound, "seconds": timed.seconds}
    return replace(outcome, assumed=assumed, stats=stats)


def _places_first(settings: Settings, measures: tuple[str, ...]) -> bool:
    """Whether a layout of known structure is looked for first; its parts are not the fewest.

    No answer changes: what is found only tells the walk where it may stop, and the walk asks about
    every candidate before that as it would have done without.
    """
    return "structure" not in settings.without and measures[0] != "parts"


def _certify(
    folder: CertificateFolder,
    outcome: Outcome,
    walk: Walk,
    limits: Limits,
    measures: tuple[str, ...],
) -> None:
    """Write the certificate of an answer; of an undecided search, that of the boxes ruled out."""
    layout = outcome.layout if outcome.status is Status.FOUND else None
    values = {}
    if layout is not None and outcome.verdict is not None:
        found = ((name, measured(layout, outcome.verdict.delay, name)) for name in measures)
        values = {name: value for name, value in found if value is not None}
    settings = walk.settings
    claim = Claim(
        str(outcome.status), walk.spec.replace(limits=limits), measures, settings.rules, values
    )
    folder.finish(
        claim, walk.proven.values(), walk.splits, layout, how_made(settings.solver, settings.seed)
    )


def _outcome(
    walk: Walk,
    limits: Limits,
    measures: tuple[str, ...],
    candidates: list[Candidate],
    time_limit_s: float | None,
) -> Outcome:
    try:
        best = _smallest(walk, measures, candidates)
    except OutOfTime:
        found = _best_so_far(walk, measures)
        layout, verdict = (found.layout, found.verdict) if found else (None, None)
        known = claims.progress(walk, measures, candidates)
        reason = f"the time limit of {time_limit_s:g} seconds came first; {known}"
        return Outcome(Status.UNDECIDED, layout, verdict, reason)
    except Refused as refusal:
        return Outcome(
            Status.REFUSED, refusal.layout, refusal.verdict, claims.refusal(refusal.verdict)
        )
    if walk.open:
        layout, verdict = (best.layout, best.verdict) if best else (None, None)
        return Outcome(
            Status.UNDECIDED, layout, verdict, claims.progress(walk, measures, candidates)
        )
    if best is None:
        return Outcome(Status.IMPOSSIBLE, reason=claims.impossible(walk, limits))
    claim = claims.smallest(walk, limits, measures, candidates, best)
    return Outcome(Status.FOUND, best.layout, best.verdict, claim=claim)


def _smallest(walk: Walk, measures: tuple[str, ...], candidates: list[Candidate]) -> Found | None:
    """Narrow the candidates down, measure by measure; a layout of the best that is left."""
    remaining = candidates
    parts: int | None = None
    for measure in measures:
        if measure == "parts":
            parts = _fewest_parts(walk, remaining)
            if parts is None:
                return None
            continue
        group = _first_group(walk, remaining, measure, parts)
        if group is None:
            return None
        remaining = group
    chosen = walk.first(remaining, parts)
    return None if chosen is None else walk.layout_for(chosen, parts)


def _first_group(
    walk: Walk, candidates: list[Candidate], measure: str, parts: int | None
) -> list[Candidate] | None:
    """The candidates with the lowest value of a measure at which any has a layout."""
    asked = candidates if measure == "delay" else _slowest(candidates)
    # All values are asked about in one go, so that workers never wait between them.
    first = walk.first(sorted(asked, key=lambda candidate: candidate.measure(measure)), parts)
    if first is None:
        return None
    value = first.measure(measure)
    return [candidate for candidate in candidates if candidate.measure(measure) == value]


def _slowest(candidates: list[Candidate]) -> list[Candidate]:
    """Each box once, with its largest delay: a box that has no layout then never has one."""
    delays = dict(sorted(candidates))
    return [candidate for candidate in candidates if candidate.delay == delays[candidate.size]]


def _fewest_parts(walk: Walk, candidates: list[Candidate]) -> int | None:
    """The fewest parts that a layout of any candidate has; None without a layout."""
    chosen = walk.first(candidates)
    if chosen is None:
        return None
    parts = walk.layout_for(chosen).layout.part_count
    while parts > 0:
        chosen = walk.first(candidates, parts - 1)
        if chosen is None:
            break
        parts = walk.layout_for(chosen, parts - 1).layout.part_count
    return parts


def _best_so_far(walk: Walk, measures: tuple[str, ...]) -> Found | None:
    def key(found: Found) -> tuple[int, ...]:
        values = (measured(found.layout, found.verdict.delay, name) for name in measures)
        return tuple(value if value is not None else 0 for value in values)

    return min(walk.found.values(), key=key, default=None)
