"""One box or cube put to a solver: a layout of each function that fits, the rest ruled out."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from synth.encoding import Encoding, Question, encode
from synth.encoding.free_goal import FreeGoal
from synth.layout import Layout
from synth.proofs.evidence import Evidence, write_evidence
from synth.questions.cubes import Cube
from synth.questions.formula_size import MOST_CLAUSES, expected_clauses
from synth.search.workers.solvers import SOLVERS
from synth.search.workers.task import SLICE_CONFLICTS, shuffled, works
from synth.spec import BooleanFunction
from synth.spec.classes import Columns

PROVING_SOLVERS = ("glucose42", "glucose4")
"""Solvers whose proof holds when clauses were added on the way.

Each step of their proofs follows from the clauses by propagation alone, so it still holds when
clauses are added. CaDiCaL also makes steps that only keep the formula satisfiable as it was then.
Such a step need not hold with clauses that came later.
"""


@dataclass(frozen=True, slots=True)
class Task:
    """A box or cube for a solver; ``question`` has its truth table free.

    ``evidence`` is a folder for formula and proof, or None. ``cube`` is the cube that the question
    keeps to, or None: it names the files.
    """

    question: Question
    solver: str
    seed: int = 0
    evidence: str | None = None
    cube: Cube | None = None


@dataclass(frozen=True, slots=True)
class Model:
    """A layout and its columns; where functions are sought, the columns of the one it meets."""

    columns: Columns
    layout: Layout


@dataclass(frozen=True, slots=True)
class Ended:
    """The end of a task.

    Attributes:
        complete: whether nothing is left in the box.
        reason: why not.
        variables, clauses: size of the formula.
        seconds: processor time of this process, in all.
        forbidden: one member of each class that the formula of the proof forbids, in its order.
        evidence: what was written.
    """

    complete: bool
    reason: str = ""
    variables: int = 0
    clauses: int = 0
    seconds: float = 0.0
    forbidden: tuple[Columns, ...] = ()
    evidence: Evidence | None = None


def run(task: Task, parent: int | None = None) -> Iterator[Model | Ended]:
    """One model of each class that the box holds, then how the task ended.

    Args:
        task: the task.
        parent: process id of the parent; the process exits when its parent is another one.
    """
    began = time.process_time()
    expected = expected_clauses(task.question)
    if expected > MOST_CLAUSES:
        yield Ended(
            False,
            f"the formula would have about {expected:,} clauses; the limit is {MOST_CLAUSES:,}",
        )
        return
    question = task.question
    found: list[Columns] = []
    while True:
        encoding = encode(question)
        solving = _Solving(encoding, task, parent)
        for model in solving.models():
            if not encoding.exact and not _computes(model, question):
                # In this model a strength runs beyond the reach, so links are counted from here on.
                break
            found.append(model.columns)
            yield model
        else:
            break
        solving.close()
        question = replace(_forbidding(question, found), count_links=True)
        found = []
    asked = _forbidding(question, found)
    assert asked.free is not None
    evidence = _evidence(task, asked, solving)
    solving.close()
    yield Ended(
        True,
        variables=encoding.variable_count,
        clauses=len(encoding.clauses),
        seconds=time.process_time() - began,
        forbidden=asked.free.forbidden,
        evidence=evidence,
    )


def _forbidding(question: Question, found: list[Columns]) -> Question:
    """The same question with what was found forbidden as well."""
    assert question.free is not None
    forbidden = (*question.free.forbidden, *found)
    return replace(question, free=replace(question.free, forbidden=forbidden))


def _computes(model: Model, question: Question) -> bool:
    """Whether the simulator says the same of a model."""
    function = question.spec.function
    outputs = dict(zip(function.outputs, model.columns, strict=True))
    spec = question.spec.replace(function=BooleanFunction(function.inputs, outputs))
    return works(model.layout, replace(question, spec=spec, free=None))


def _evidence(task: Task, asked: Question, solving: _Solving) -> Evidence | None:
    """Writes formula and proof if wanted; the formula forbids every class that was found."""
    if task.evidence is None:
        return None
    proof = solving.proof()
    return write_evidence(task.evidence, encode(asked), proof, solving.renaming, task.cube)


class _Solving:
    """A solver at work on a formula that grows with every model."""

    def __init__(self, encoding: Encoding, task: Task, parent: int | None) -> None:
        from pysat.solvers import Solver

        assert isinstance(encoding.goal, FreeGoal)
        self._encoding = encoding
        self._goal = encoding.goal
        self._parent = parent
        self._in_slices = SOLVERS[task.solver].budget
        self.renaming, clauses = shuffled(encoding.clauses, encoding.variable_count, task.seed)
        self._back = None
        if self.renaming is not None:
            self._back = {new: old for old, new in enumerate(self.renaming)}
        proving = {"with_proof": True} if task.evidence is not None else {}
        self._solver: Any = Solver(name=task.solver, bootstrap_with=clauses, **proving)

    def models(self) -> Iterator[Model]:
        """Every model; the class of each is forbidden before the next one is looked for."""
        while self._satisfiable():
            true = self._solver.get_model()
            if self._back is not None:
                true = [self._back[abs(literal)] * (1 if literal > 0 else -1) for literal in true]
            columns = self._goal.computed(true)
            yield Model(columns, self._encoding.decode(true))
            for clause in self._goal.forbidding(columns):
                self._solver.add_clause([self._renamed(literal) for literal in clause])

    def _renamed(self, literal: int) -> int:
        if self.renaming is None:
            return literal
        return self.renaming[abs(literal)] * (1 if literal > 0 else -1)

    def _satisfiable(self) -> bool:
        if not self._in_slices:
            return bool(self._solver.solve())
        while True:
            self._solver.conf_budget(SLICE_CONFLICTS)
            satisfiable = self._solver.solve_limited()
            if satisfiable is not None:
                return bool(satisfiable)
            if self._parent is not None and os.getppid() != self._parent:
                os._exit(1)

    def proof(self) -> list[str]:
        """The lines of the proof, once there is no model left."""
        lines: list[str] = self._solver.get_proof() or []
        return lines

    def close(self) -> None:
        """Let the solver go."""
        self._solver.delete()
