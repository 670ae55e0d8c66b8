"""Begins the walk of ``synth.search`` with a layout, so that it finds or rules out smaller ones."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from pathlib import Path

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.proving.kept import kept_spec, require_right
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.events import Reporter
from synth.questions.journal import Journal
from synth.questions.measures import measure_of, parse_measures
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search import solve
from synth.search.workers.solvers import solver_for
from synth.simulator import check
from synth.spec import Spec


def prove(
    layout: Layout,
    spec: Spec | None = None,
    *,
    loosen: Collection[str] = (),
    minimize: Iterable[str] = ("volume",),
    solver: str | None = None,
    time_limit_s: float | None = None,
    seed: int = 0,
    rules: Rules = DEFAULT_RULES,
    reporter: Reporter | None = None,
    workers: int | None = None,
    resume: str | Path | None = None,
    certificate: str | Path | None = None,
) -> Outcome:
    """Find the smallest layout under the limits that a layout keeps, beginning with that layout.

    Args:
        layout: a right layout.
        spec, loosen: what is kept; see ``synth.proving.kept.kept_spec``.
        minimize, solver, time_limit_s, seed, reporter, workers, certificate: as for ``solve``.
        rules: the rule table.
        resume: a file for every step of the search, to go on from.

    Returns:
        The outcome of ``solve``. *Found*: nothing under the limits is smaller than its layout,
        which is the given one unless something smaller was found; ``standing`` says which.
        *Undecided*: the best layout so far, the given one at worst.

    Raises:
        InputError: if the layout is not right, or as ``solve`` does.
    """
    measures = parse_measures(minimize, link=True)
    asked = kept_spec(layout, spec, loosen=loosen, rules=rules)
    solver = solver_for(solver, proving=certificate is not None)
    problem, _ = Problem.of(asked, measures, rules)
    journal = Journal.of(problem, solver, seed, None if resume is None else Path(resume))
    return solve(
        asked,
        minimize=measures,
        solver=solver,
        time_limit_s=time_limit_s,
        seed=seed,
        rules=rules,
        reporter=reporter,
        workers=workers,
        journal=journal_from(journal, layout, problem),
        certificate=certificate,
    )


def journal_from(journal: Journal, layout: Layout, problem: Problem) -> Journal:
    """The journal of a problem, which begins with a layout that answers it.

    Raises:
        InputError: if the layout does not answer it.
    """
    require_right(layout, problem.spec, problem.rules)
    limits = problem.limits
    assert limits.delay is not None
    stated = layout.replace(made_for=problem.made_for())
    answer = BoxAnswer(BoxQuestion(layout.size, limits.delay), stated)
    if answer.layout not in [entry.layout for entry in journal.entries]:
        journal.entries.insert(0, answer)
    return journal


def standing(layout: Layout, outcome: Outcome, rules: Rules = DEFAULT_RULES) -> str:
    """How the layout stands by an outcome, in a sentence.

    Args:
        layout: the layout that ``prove`` was given.
        outcome: what came of it.
        rules: the rule table.
    """
    measure = outcome.measures[0]
    own = measure_of(layout, check(layout, rules=rules), measure)
    best = outcome.best
    if outcome.status is Status.REFUSED or best is None or own is None:
        return "nothing is known of this layout"
    if best < own:
        now = f"a smaller layout was found: {measure} {best} in place of {own}"
        if outcome.status is Status.FOUND:
            return f"{now}, and nothing is smaller than that"
        return f"{now}; whether something is smaller still is open"
    if outcome.status is Status.FOUND:
        also = ""
        found = outcome.layout
        if found is not None and found.part_count < layout.part_count:
            also = f"; one of as much has {found.part_count} parts in place of {layout.part_count}"
        return f"this layout is the smallest: nothing has less than its {measure} of {own}{also}"
    if outcome.bound:
        return (
            f"nothing smaller was found; what has a {measure} below {outcome.bound} is ruled out, "
            f"and its own is {own}"
        )
    return f"nothing smaller was found; its {measure} is {own}"
