"""One question for a solver, and its answer: encoded and solved in the calling process."""

from __future__ import annotations

import os
import random
import time
from dataclasses import dataclass, field, replace

from synth.encoding import Encoding, Question, encode
from synth.encoding.placing.placement import LONGEST_RUN, encode_placement
from synth.encoding.placing.signals import Passing, Signals
from synth.layout import Layout
from synth.proofs.evidence import Evidence, write_evidence
from synth.questions.cubes import Cube, narrowed
from synth.questions.formula_size import MOST_CLAUSES
from synth.questions.formula_size import expected_clauses as expected_clauses
from synth.search.workers.solvers import SOLVERS
from synth.simulator import check
from synth.spec import Limits

SLICE_CONFLICTS = 20_000
"""Conflicts between two checks that the parent still runs."""


@dataclass(frozen=True, slots=True)
class Task:
    """A question for a solver; ``seed`` 0 leaves the formula in its natural order.

    ``evidence`` is a folder into which the worker writes formula and proof of an impossible
    question (``synth.proofs.evidence``). If it is None, the solver writes no proof.

    With ``signals`` only layouts that place these are looked for
    (``synth.encoding.placing.placement``), and the answer is never *impossible*. After
    ``conflicts`` conflicts the search ends undecided; unlike a time limit this happens at the same
    point in every run. None sets no limit.

    ``longest_run`` is the most links between a wire and its source where signals are placed, and
    ``passing`` says what may pass some pins there.

    With a ``cube`` only its layouts are looked for: *impossible* is then said of the cube alone.
    """

    question: Question
    solver: str
    seed: int = 0
    evidence: str | None = None
    signals: Signals | None = None
    conflicts: int | None = None
    cube: Cube | None = None
    longest_run: int = LONGEST_RUN
    passing: tuple[Passing, ...] = ()


@dataclass(frozen=True, slots=True)
class Reply:
    """The answer to a task.

    Attributes:
        answer: ``found``, ``impossible`` or ``undecided``; a task with signals has ``unplaced``
            instead of ``impossible``.
        layout: the layout that the model describes, as decoded, or None.
        reason: why it is undecided.
        variables, clauses: the size of the formula.
        encode_seconds, solve_seconds: the time spent.
        rules: the numbers of clauses by rule.
        evidence: the evidence that was written, or None.
    """

    answer: str
    layout: Layout | None = None
    reason: str = ""
    variables: int = 0
    clauses: int = 0
    encode_seconds: float = 0.0
    solve_seconds: float = 0.0
    rules: dict[str, int] = field(default_factory=dict)
    evidence: Evidence | None = None


AT_HAND = 20_000
"""A question that should have at most this many clauses is answered in a moment, wherever it is."""


def at_hand(task: Task) -> bool:
    """Whether a task is answered sooner than a process can be started for it."""
    return task.signals is None and expected_clauses(task.question) <= AT_HAND


TOO_LARGE = Reply("undecided", reason="this machine ran out of memory")
"""The answer to a task that needs more memory than there is."""


def answer(task: Task, parent: int | None = None) -> Reply:
    """Encode and solve one task in this process.

    Args:
        task: the task.
        parent: the process id of the parent; this process exits when it has another parent.
    """
    if task.signals is not None:
        return _placed(task, task.signals, parent)
    question = replace(task.question, spec=narrowed(task.question.spec, task.cube))
    expected = expected_clauses(question)
    if expected > MOST_CLAUSES:
        return Reply(
            "undecided",
            reason=f"the formula would have about {expected:,} clauses; "
            f"the limit is {MOST_CLAUSES:,}",
        )
    began = time.perf_counter()
    encoding = encode(question)
    encoded = time.perf_counter()
    answered = _ask(encoding.clauses, encoding.variable_count, task, parent)
    layout = None if answered.model is None else encoding.decode(answered.model)
    if layout is not None and not encoding.exact and not works(layout, question):
        return answer(replace(task, question=_stricter(task.question)), parent)
    return Reply(
        answer="found" if layout else "impossible" if answered.decided else "undecided",
        layout=layout,
        reason="" if answered.decided else f"not decided within {task.conflicts:,} conflicts",
        variables=encoding.variable_count,
        clauses=len(encoding.clauses),
        encode_seconds=encoded - began,
        solve_seconds=time.perf_counter() - encoded,
        rules=dict(encoding.clauses_by_rule),
        evidence=_evidence(encoding, task, answered),
    )


def _stricter(question: Question) -> Question:
    """The question to ask after a layout turned out wrong.

    Such a layout failed a row that was not asked, or a strength ran beyond the reach.
    """
    if not question.every_row:
        return replace(question, sensitive=False)
    return replace(question, count_links=True)


def _placed(task: Task, signals: Signals, parent: int | None) -> Reply:
    """Place signals; a layout that the simulator rejects (a run beyond reach) does not count."""
    began = time.perf_counter()
    placement = encode_placement(
        task.question, signals, longest_run=task.longest_run, passing=task.passing
    )
    encoded = time.perf_counter()
    answered = _ask(placement.clauses, placement.formula.variable_count, task, parent)
    layout = None if answered.model is None else placement.decode(answered.model)
    if layout is not None and not works(layout, task.question):
        layout = None
    return Reply(
        answer="found" if layout else "unplaced" if answered.decided else "undecided",
        layout=layout,
        variables=placement.formula.variable_count,
        clauses=len(placement.clauses),
        encode_seconds=encoded - began,
        solve_seconds=time.perf_counter() - encoded,
        rules=dict(placement.clauses_by_rule),
    )


def works(layout: Layout, question: Question) -> bool:
    """Whether the simulator passes a layout, whatever its limits but the delay of links."""
    free = question.spec.replace(limits=Limits(link_delay=question.link_delay))
    return check(layout, free, delay=question.delay, rules=question.rules).passes


@dataclass(frozen=True)
class _Answered:
    """A solver's answer.

    It is a model over the formula's own variables, or None with the proof, if one was asked for,
    and the renaming of variables in that proof. ``decided`` is false if the solver gave up.
    """

    model: list[int] | None
    decided: bool = True
    proof: list[str] | None = None
    renaming: list[int] | None = None


def _evidence(encoding: Encoding, task: Task, answered: _Answered) -> Evidence | None:
    """The evidence that there is no model, if there is none and evidence is asked for."""
    if answered.model is not None or not answered.decided or task.evidence is None:
        return None
    proof = answered.proof or []
    return write_evidence(task.evidence, encoding, proof, answered.renaming, task.cube)


def _ask(clauses: list[list[int]], variables: int, task: Task, parent: int | None) -> _Answered:
    """Give a formula to the task's solver."""
    from pysat.solvers import Solver

    renaming, clauses = shuffled(clauses, variables, task.seed)
    proving = {"with_proof": True} if task.evidence is not None else {}
    with Solver(name=task.solver, bootstrap_with=clauses, **proving) as solver:
        if SOLVERS[task.solver].budget:
            left = task.conflicts
            while True:
                budget = SLICE_CONFLICTS if left is None else min(left, SLICE_CONFLICTS)
                solver.conf_budget(budget)
                # Else python-sat handles the keyboard's signal itself, in whatever process this is.
                satisfiable = solver.solve_limited(expect_interrupt=True)
                if satisfiable is not None:
                    break
                if left is not None:
                    left -= budget
                    if left <= 0:
                        return _Answered(None, decided=False)
                if parent is not None and os.getppid() != parent:
                    os._exit(1)
        else:
            satisfiable = solver.solve()
        if not satisfiable:
            return _Answered(None, True, solver.get_proof() if proving else None, renaming)
        model: list[int] = solver.get_model()
    if renaming is None:
        return _Answered(model)
    back = {new: old for old, new in enumerate(renaming)}
    return _Answered([back[abs(literal)] * (1 if literal > 0 else -1) for literal in model])


def shuffled(
    clauses: list[list[int]], variables: int, seed: int
) -> tuple[list[int] | None, list[list[int]]]:
    """The clauses shuffled by a seed: variables renamed and clauses in another order."""
    if seed == 0:
        return None, clauses
    generator = random.Random(seed)
    renaming = list(range(1, variables + 1))
    generator.shuffle(renaming)
    renaming.insert(0, 0)
    shuffled = [
        [renaming[literal] if literal > 0 else -renaming[-literal] for literal in clause]
        for clause in clauses
    ]
    generator.shuffle(shuffled)
    return renaming, shuffled
