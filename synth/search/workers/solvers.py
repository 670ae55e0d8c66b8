"""What each solver of python-sat can do; a solver that cannot do what is asked is refused."""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from synth import defaults
from synth.errors import InputError

DEFAULT_SOLVER = defaults.SOLVER
PROVING_SOLVER = defaults.PROVING_SOLVER
PLACING_SOLVER = defaults.PLACING_SOLVER


@dataclass(frozen=True, slots=True)
class Abilities:
    """What a solver can do through python-sat.

    Attributes:
        budget: whether it can stop after a number of conflicts and go on from there; otherwise a
            worker says nothing until it is done, and is stopped by ending its process.
        assumptions: whether it solves under assumptions.
        proof: whether it writes a DRAT proof of an impossible formula that a checker verifies.
    """

    budget: bool
    assumptions: bool
    proof: bool


SOLVERS: dict[str, Abilities] = {
    "cadical195": Abilities(budget=True, assumptions=True, proof=True),
    "cadical153": Abilities(budget=True, assumptions=True, proof=True),
    "cadical300": Abilities(budget=True, assumptions=True, proof=True),
    "glucose42": Abilities(budget=True, assumptions=True, proof=True),
    "glucose4": Abilities(budget=True, assumptions=True, proof=True),
    "kissat404": Abilities(budget=False, assumptions=False, proof=False),
    "lingeling": Abilities(budget=False, assumptions=True, proof=True),
    "maplechrono": Abilities(budget=True, assumptions=True, proof=True),
    # It writes proofs, but dratify verifies none of those of these formulas (1.9.dev24).
    "maplesat": Abilities(budget=True, assumptions=True, proof=False),
    "mergesat3": Abilities(budget=True, assumptions=True, proof=False),
    "minisat22": Abilities(budget=True, assumptions=True, proof=False),
    "minisat-gh": Abilities(budget=True, assumptions=True, proof=False),
}


def solver_for(named: str | None, proving: bool = False) -> str:
    """The solver named, or else the one that suits the purpose."""
    return named or (PROVING_SOLVER if proving else DEFAULT_SOLVER)


def require_solver(name: str) -> Abilities:
    """The abilities of a solver.

    Raises:
        InputError: if there is no solver of that name; suggests the nearest name.
    """
    if name in SOLVERS:
        return SOLVERS[name]
    near = difflib.get_close_matches(name, SOLVERS, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    raise InputError(f"no solver {name!r}", way_out=f"{hint}use one of {', '.join(SOLVERS)}")


def require_proofs(solver: str) -> None:
    """Refuse a solver that writes no proofs.

    Raises:
        InputError: naming those that do.
    """
    if not require_solver(solver).proof:
        able = ", ".join(name for name, abilities in SOLVERS.items() if abilities.proof)
        raise InputError(f"{solver} writes no proofs", way_out=f"use one of {able}")
