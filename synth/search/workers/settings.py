"""How to search: the solver, the seed, the workers, and what makes it quicker."""

from __future__ import annotations

from dataclasses import dataclass

from synth.medium import DEFAULT_RULES, Rules
from synth.search.workers.solvers import DEFAULT_SOLVER, PLACING_SOLVER


@dataclass(frozen=True, slots=True)
class Settings:
    """How to search; none of it changes what is asked.

    Attributes:
        solver: a name of ``synth.search.workers.solvers.SOLVERS``.
        seed: 0, or another order of variables and clauses.
        prefer: ``solid``, ``clear`` or ``ledge``, for cells that only hold a part up.
        workers: questions put at the same time.
        rules: the rule table.
        without: accelerations left out (``synth.encoding.ACCELERATIONS``), to measure them.
        evidence: a folder for the proof of every "no", or None: no proofs.
    """

    solver: str = DEFAULT_SOLVER
    seed: int = 0
    prefer: str = "solid"
    workers: int = 1
    rules: Rules = DEFAULT_RULES
    without: tuple[str, ...] = ()
    evidence: str | None = None

    @property
    def placer(self) -> str:
        """The solver that places signals: that of the search only where another one was named."""
        return PLACING_SOLVER if self.solver == DEFAULT_SOLVER else self.solver
