"""The search: the smallest layout of a specification, or why there is none."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Part, Rules, Size
from synth.proofs.certificate import CertificateFolder
from synth.questions.box import BoxQuestion
from synth.questions.candidates import assumed_time
from synth.questions.events import Reporter
from synth.questions.journal import Journal
from synth.questions.measures import LINK, parse_measures
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search.walk.advice import advise as walk_advice
from synth.search.walk.least_link import least_link, require_chain, tightened, without_search
from synth.search.walk.searching import search
from synth.search.workers.crew import Crew
from synth.search.workers.settings import Settings
from synth.simulator.demands import match_pins
from synth.spec import Limits, Spec
from synth.spec.spec import MAX_SIZE
from synth.words import listed, ticks


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
    fewest_parts: bool = True,
    starts: Iterable[Layout] = (),
) -> Outcome:
    """Find the smallest layout of a specification under its limits.

    Boxes are tried from the smallest up, so the first that has a layout is the smallest; each
    smaller one was shown to have none. The same question and seed give the same layout,
    whatever the number of workers; if a time limit cuts a box short, it may be another layout with
    the same measures.

    Args:
        spec: the specification; limits that it leaves open are assumed and named in ``assumed``.
        minimize: measures in order of importance: ``volume``, ``floor``, ``length``, ``width``,
            ``height``, ``delay``, ``parts`` and, of a chain, ``link``: the delay of its links.
        solver: a name of ``synth.search.workers.solvers.SOLVERS``; None takes the one that suits,
            which is another one with a ``certificate``.
        time_limit_s: seconds after which the search stops, undecided, with the best so far.
        seed: another seed gives the solver the same formula in another order.
        prefer: ``solid``, ``clear`` or ``ledge`` for cells that only hold a part up.
        rules: the rule table.
        reporter: gets the events of every question and answer; see ``synth.questions.events``.
        workers: how many questions are asked at the same time, each in a process of its own; None
            takes the number of processors, up to 4.
        without: accelerations to leave out (``synth.encoding.ACCELERATIONS``), to measure them.
        advise_s: seconds to spend, after an answer of impossible and before returning, on finding
            which limit stands in the way; ``advise`` does the same separately.
        journal: gives answers to start from, and keeps new ones (``synth.questions.journal``). With
            a ``certificate``, which needs proofs, only its layouts are used.
        certificate: a folder for a certificate of the answer (``synth.proofs.certificate``),
            which ``synth.audit`` checks; it must not exist, be empty, or hold a certificate. A
            search that is stopped leaves its proofs there, and the next one continues from them.
        crew: workers to use and leave running, for many searches one after another; None starts a
            crew of ``workers`` for this search alone.
        fewest_parts: whether to look, after the measures are decided, for fewer parts in the box
            found, within a budget (``synth.search.walk.fewest``); ``Outcome.parts`` says how far
            that came.
        starts: right layouts with the pins of the specification, which are shrunk under a time
            limit, beside what is composed. Those that keep the limits compete as answers; those
            that are wrong, or have other joints than the answer will have, count for nothing.

    Returns:
        The outcome; its counts are in ``stats`` (``synth.questions.statistics``).

    Raises:
        InputError: for a solver, measure, preference, limit or pins of a start that cannot be used.
    """
    measures = parse_measures(minimize, link=True)
    proving = certificate is not None
    settings = Settings.checked(solver, seed, prefer, workers, without, proving=proving)
    if set(settings.without) - {"structure", "least-delay", "tallest"} and proving:
        raise InputError(
            "a certificate cannot be written with accelerations left out",
            way_out="ask for one of the two only",
        )
    require_feasible(spec, rules)
    problem, assumed = Problem.of(spec, measures, rules)
    require_chain(measures, problem)
    time_limit_s, assumed = assumed_time(time_limit_s, assumed)
    given = tuple(start for start in starts if _has_joints(start, spec))
    if not proving and (ruled_out := without_search(problem)) is not None:
        return replace(ruled_out, assumed=assumed)
    with ExitStack() as stack:
        if LINK in measures:
            _refuse_to_keep(certificate, journal)
            hired = crew or stack.enter_context(Crew(settings.workers))

            def one(problem: Problem, seconds: float | None, known: Journal) -> Outcome:
                return search(
                    problem,
                    settings,
                    time_limit_s=seconds,
                    reporter=reporter,
                    journal=known,
                    crew=hired,
                    own=tightened(spec.limits, problem.limits, measures),
                    fewest=fewest_parts and "parts" not in measures,
                    starts=given,
                    shared=True,
                )

            known = journal.entries if journal is not None else ()
            outcome = least_link(problem, one, known, time_limit_s)
            return replace(outcome, assumed=assumed)
        folder = None
        proofs = settings
        if certificate is not None:
            folder = stack.enter_context(CertificateFolder(certificate))
            proofs = replace(settings, evidence=str(folder.unfinished))
        outcome = search(
            problem,
            proofs,
            time_limit_s=time_limit_s,
            reporter=reporter,
            journal=journal,
            folder=folder,
            crew=crew,
            own=spec.limits,
            fewest=fewest_parts and "parts" not in measures,
            starts=given,
        )
    outcome = replace(outcome, assumed=assumed)
    if outcome.status is not Status.IMPOSSIBLE or advise_s <= 0:
        return outcome
    return replace(outcome, advice=walk_advice(problem, settings, advise_s))


def _has_joints(layout: Layout, spec: Spec) -> bool:
    """Whether the pins of a layout have the joints that a search would give them.

    Raises:
        InputError: if it has other pins than the specification.
    """
    match_pins(layout, spec)
    return all(pin.joint is spec.joint(pin.name) for pin in layout.pins)


def _refuse_to_keep(certificate: str | Path | None, journal: Journal | None) -> None:
    """Refuse to keep proofs or answers of the many searches for the least delay of links."""
    what = None
    if certificate is not None:
        what = "a certificate"
    elif journal is not None and journal.path is not None:
        what = "a file to go on from"
    if what is not None:
        raise InputError(
            f"{what} cannot be kept while the delay of links is minimised",
            place="minimize",
            way_out="limit it instead (--link-delay), once you know the least one",
        )


def advise(
    spec: Spec,
    seconds: float,
    *,
    solver: str | None = None,
    seed: int = 0,
    rules: Rules = DEFAULT_RULES,
    workers: int | None = None,
) -> tuple[str, ...]:
    """Which limits stand in the way of a question that ``solve`` found impossible.

    Args:
        spec: what was asked.
        seconds: the time to spend; with 0 nothing is asked and nothing said.
        solver, seed, rules, workers: see ``solve``.

    Returns:
        Sentences: first the clash, then what has a layout, what does not help, and what was not
        decided.
    """
    problem, _ = Problem.of(spec, rules=rules)
    return walk_advice(problem, Settings.checked(solver, seed, workers=workers), seconds)


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
    settings = Settings.checked(solver, seed, prefer, 1)
    require_feasible(spec, rules)
    own = spec.limits
    limits = Limits(*size, parts=own.parts, delay=delay, link_delay=own.link_delay)
    problem = Problem(spec.replace(limits=limits), rules=rules)
    asked = [BoxQuestion(size, delay, limits.parts)]
    return search(problem, settings, candidates=asked, time_limit_s=time_limit_s, reporter=reporter)


def _require_delays(spec: Spec, rules: Rules) -> None:
    """Refuse buffers whose delay the rule table has not: cells that are to hold one, and links."""
    known = listed([str(delay) for delay in rules.buffer_delays])
    for cell, block in sorted(spec.fixed.items()):
        if block.part is Part.BUFFER and block.delay not in rules.buffer_delays:
            raise InputError(
                f"cell {list(cell)} is to hold a buffer of {ticks(block.delay)}, and the rule "
                f"table has buffers of {known}",
                place="cells.fixed",
                way_out="use one of these delays, or another rule table",
            )
    if spec.chain and 1 not in rules.buffer_delays:
        raise InputError(
            f"a link is a buffer of 1 tick, and the rule table has buffers of {known} ticks",
            place="chain",
            way_out="add a delay of 1 to 'buffer_delays', or leave the chain out",
        )


def require_feasible(spec: Spec, rules: Rules) -> None:
    """Refuse, with the reason and before any search, what no box can hold.

    Raises:
        InputError: naming the place in the specification and the way out.
    """
    _require_delays(spec, rules)
    for name, ask in spec.pins.items():
        if ask.at is not None and max(ask.at) >= MAX_SIZE:
            raise InputError(
                f"cell {list(ask.at)} lies in no box: boxes have at most {MAX_SIZE} cells a side",
                place=f"pins.{name}.at",
                way_out=f"use coordinates from 0 to {MAX_SIZE - 1}",
            )
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
