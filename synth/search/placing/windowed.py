"""A window asked once, within so many conflicts, by those who place beside what stands."""

from __future__ import annotations

from enum import Enum, auto

from synth.encoding.windows import Window, encode_window
from synth.layout import Layout
from synth.search.workers.solvers import DEFAULT_SOLVER


class Answer(Enum):
    """What a window without a layout says."""

    NO_PLACE = auto()
    UNDECIDED = auto()


def asked_window(window: Window, conflicts: int) -> Layout | Answer:
    """A layout of a window, not judged yet, or why there is none.

    Args:
        window: the window.
        conflicts: how many the solver may have.
    """
    encoding = encode_window(window)
    if encoding.contradicts_itself:
        return Answer.NO_PLACE
    from pysat.solvers import Solver

    with Solver(name=DEFAULT_SOLVER, bootstrap_with=encoding.clauses) as solver:
        solver.conf_budget(conflicts)
        answer = solver.solve_limited()
        if answer is None:
            return Answer.UNDECIDED
        if not answer:
            return Answer.NO_PLACE
        return encoding.decode(solver.get_model())
