"""A checker of proofs as plain as can be, called as drat-trim is: ``formula.cnf proof.drat``.

Reverse unit propagation only, over sets, from scratch at each step: slow, and it shares nothing
with the packages it is compared with. Its source stands in ``synth/proofs/drat.py``.
"""

from __future__ import annotations

import sys
from pathlib import Path

Clause = frozenset[int]


def clauses_of(text: str) -> list[Clause]:
    lines = [line for line in text.splitlines() if line and line[0] not in "cp"]
    return [frozenset(map(int, line.split()[:-1])) for line in lines]


def conflicts(clauses: list[Clause], true: set[int]) -> bool:
    """Whether unit propagation from the literals in ``true`` ends in a conflict."""
    known = set(true)
    while True:
        before = len(known)
        for clause in clauses:
            if clause & known:
                continue
            open_literals = [literal for literal in clause if -literal not in known]
            if not open_literals:
                return True
            if len(open_literals) == 1:
                known.add(open_literals[0])
        if len(known) == before:
            return False


def verified(formula: str, proof: str) -> bool:
    """Whether a proof derives the empty clause by RUP steps alone."""
    clauses = clauses_of(formula)
    for line in proof.splitlines():
        deleted = line.startswith("d ")
        clause = frozenset(map(int, line.removeprefix("d ").split()[:-1]))
        if deleted:
            if clause in clauses:
                clauses.remove(clause)
            continue
        if not conflicts(clauses, {-literal for literal in clause}):
            return False
        if not clause:
            return True
        clauses.append(clause)
    return False


if __name__ == "__main__":
    good = verified(*(Path(argument).read_text("ascii") for argument in sys.argv[1:3]))
    print("c a plain checker")
    print("s VERIFIED" if good else "s NOT VERIFIED")
    sys.exit(0 if good else 1)
