"""Checkers of proofs, none of which is the solver.

A checker takes a formula (DIMACS CNF) and a proof (DRAT, one clause on each line) and says whether
the proof derives the empty clause from the formula, with every step right.

Sources, all from memory: DRAT in N. Wetzler, M. Heule, W. Hunt, DRAT-trim: Efficient Checking and
Trimming Using Expressive Clausal Proofs, SAT 2014; RUP steps in E. Goldberg, Y. Novikov,
Verification of Proofs of Unsatisfiability for CNF Formulas, DATE 2003; RAT steps in M. Jarvisalo,
M. Heule, A. Biere, Inprocessing Rules, IJCAR 2012.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Hashable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from synth.errors import InputError, reason_of
from synth.proofs.evidence import EMPTY_CLAUSE
from synth.versions import package_version


@dataclass(frozen=True, slots=True)
class Checked:
    """The answer of a checker about a proof.

    Attributes:
        verified: whether the proof derives the empty clause and every step of it is right.
        reason: why it does not; empty if it is verified.
        steps: how many lines the proof has.
    """

    verified: bool
    reason: str
    steps: int


class Checker(Hashable, Protocol):
    """Anything that checks proofs."""

    @property
    def name(self) -> str:
        """The name of the checker, with its version if that is known."""

    def check(self, formula: bytes, proof: bytes) -> Checked:
        """Check a proof of a formula."""


class Dratify:
    """The package ``dratify``; its Rust engine where ``cdclkit_native`` is installed.

    It ignores deletions of unit clauses only. But a literal may by then follow only from a longer
    clause: if that is deleted, the literal stays true, while the check of a RAT step no longer sees
    the clause. So with RAT and deletions together, dratify 0.1.10 accepts ``d 1 2 0, -1 0, 0`` for
    the satisfiable formula ``(1 | 2) & ~2``. Each of the two alone is safe: with RUP only, a step
    follows from the clauses whatever was deleted; without deletions, RAT sees all clauses. So a
    proof is accepted if it holds in one of these two ways. Proofs of CaDiCaL hold in the first.
    """

    def __init__(self) -> None:
        import dratify

        self._dratify: Any = dratify
        self._engine = "python"
        try:
            import cdclkit_native
        except ImportError:
            pass
        else:
            dratify.register_native(cdclkit_native)
            self._engine = "native"

    @property
    def fast(self) -> bool:
        """Whether the Rust engine does the work, some 15 times faster than the Python one."""
        return self._engine == "native"

    @property
    def name(self) -> str:
        """The package and its engine."""
        version = package_version("dratify")
        if self.fast:
            return f"dratify {version} (cdclkit-native {package_version('cdclkit-native')})"
        return f"dratify {version} (in Python)"

    def check(self, formula: bytes, proof: bytes) -> Checked:
        """Check a proof of a formula."""
        try:
            return self._check(formula.decode("ascii"), proof.decode("ascii"))
        except ValueError as error:
            return Checked(False, f"it cannot be read: {error}", 0)

    def _check(self, formula: str, proof: str) -> Checked:
        clauses = self._dratify.parse_dimacs(formula)
        steps = self._dratify.parse_proof(proof)
        if not steps or steps[-1] != ("a", ()):
            return Checked(False, "it does not end in the empty clause", len(steps))
        result = self._run(clauses, steps, check_rat=False, apply_deletions=True)
        if not result.ok:
            general = self._run(clauses, steps, check_rat=True, apply_deletions=False)
            result = general if general.ok else result
        if result.ok and result.reached_empty:
            return Checked(True, "", len(steps))
        where = f"step {result.failed_step}: " if result.failed_step > 0 else ""
        return Checked(False, f"{where}{result.reason}", len(steps))

    def _run(self, clauses: Any, steps: Any, **how: bool) -> Any:
        return self._dratify.check_proof(clauses, steps, engine=self._engine, **how)


class External:
    """A program with the command line of drat-trim: formula, proof; it prints ``s VERIFIED``.

    Raises:
        InputError: if there is no such program.
    """

    def __init__(self, program: str) -> None:
        path = shutil.which(program)
        if path is None:
            raise InputError(
                f"no program {program!r} to check proofs",
                place="--checker",
                way_out="give the path of drat-trim",
            )
        self._program = os.path.abspath(path)

    @property
    def name(self) -> str:
        """The name of the program."""
        return Path(self._program).name

    def check(self, formula: bytes, proof: bytes) -> Checked:
        """Check a proof of a formula."""
        lines = proof.splitlines()
        if not lines or lines[-1].strip() != EMPTY_CLAUSE.encode("ascii"):
            return Checked(False, "it does not end in the empty clause", len(lines))
        with tempfile.TemporaryDirectory() as folder:
            cnf, drat = Path(folder, "formula.cnf"), Path(folder, "proof.drat")
            cnf.write_bytes(formula)
            drat.write_bytes(proof)
            try:
                ended = subprocess.run(
                    [self._program, str(cnf), str(drat)],
                    capture_output=True,
                    text=True,
                    errors="replace",
                    check=False,
                )
            except OSError as error:
                raise InputError(
                    f"{self.name} cannot be run ({reason_of(error)})", place="--checker"
                ) from None
        said = [line.strip() for line in ended.stdout.splitlines() if line.startswith("s ")]
        if ended.returncode == 0 and said == ["s VERIFIED"]:
            return Checked(True, "", len(lines))
        last = said[-1] if said else f"exit code {ended.returncode}"
        return Checked(False, f"{self.name} says: {last}", len(lines))


def checker_for(program: str | None) -> Checker:
    """The checker asked for; None takes ``dratify``.

    Raises:
        InputError: if it is not available.
    """
    if program is not None:
        return External(program)
    try:
        return Dratify()
    except ImportError:
        raise InputError(
            "no checker of proofs is installed",
            way_out="pip install dratify, or give the path of drat-trim to --checker",
        ) from None
