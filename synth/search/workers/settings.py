"""How to search: the solver, the seed, the workers, and the accelerations."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from synth import defaults
from synth.encoding import ACCELERATIONS
from synth.errors import InputError
from synth.machine import default_workers
from synth.search.workers.solvers import (
    DEFAULT_SOLVER,
    PLACING_SOLVER,
    require_proofs,
    require_solver,
    solver_for,
)
from synth.search.workers.tidy import SUPPORTS


@dataclass(frozen=True, slots=True)
class Settings:
    """How to search; none of it changes what is asked.

    Attributes:
        solver: a name of ``synth.search.workers.solvers.SOLVERS``.
        seed: 0, or a seed for another order of variables and clauses.
        prefer: ``solid``, ``clear`` or ``ledge``, for cells that only hold a part up.
        workers: how many questions are asked at the same time.
        without: accelerations to leave out (``synth.encoding.ACCELERATIONS``), to measure them.
        evidence: a folder for the proof of every "no"; None writes no proofs.
    """

    solver: str = DEFAULT_SOLVER
    seed: int = defaults.SEED
    prefer: str = defaults.PREFER
    workers: int = 1
    without: tuple[str, ...] = ()
    evidence: str | None = None

    @staticmethod
    def checked(
        solver: str | None = None,
        seed: int = defaults.SEED,
        prefer: str = defaults.PREFER,
        workers: int | None = None,
        without: Iterable[str] = (),
        *,
        proving: bool = False,
    ) -> Settings:
        """Settings as a user gives them, checked; gaps are filled from ``synth.defaults``.

        Args:
            solver: None takes the one that suits.
            workers: None takes the number of processors, up to 4.
            without: accelerations to leave out, in any order.
            proving: whether the solver has to write proofs.

        Raises:
            InputError: for a solver, preference, number or acceleration that cannot be used.
        """
        solver = solver_for(solver, proving)
        require_solver(solver)
        if proving:
            require_proofs(solver)
        if prefer not in SUPPORTS:
            raise InputError(
                f"no support {prefer!r} to prefer", way_out=f"use one of {', '.join(SUPPORTS)}"
            )
        if workers is None:
            workers = default_workers()
        if workers < 1:
            raise InputError(f"{workers} workers", way_out="use 1 or more")
        return Settings(solver, seed, prefer, workers, _accelerations(without))

    @property
    def placer(self) -> str:
        """The solver that places signals: that of the search, if it is not the default one."""
        return PLACING_SOLVER if self.solver == DEFAULT_SOLVER else self.solver


def _accelerations(names: Iterable[str]) -> tuple[str, ...]:
    """The accelerations to leave out, in the order of their table."""
    asked = set(names)
    for name in sorted(asked - set(ACCELERATIONS)):
        raise InputError(
            f"no acceleration {name!r}",
            place="without",
            way_out=f"use one of {', '.join(ACCELERATIONS)}",
        )
    return tuple(name for name in ACCELERATIONS if name in asked)
