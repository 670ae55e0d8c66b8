"""The audit of the bound on links: what the static rules admit in a box is proven anew.

A formula may rest on the longest way without short cuts that fits its box
(``synth.encoding.link_bound``), which a solver said when the formula was derived again. Here the
solver is asked once more whether a way of one link more fits, for a proof, and the checker of the
audit verifies it. Nothing of that stands in the certificate: it depends on the box alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from synth.encoding import Encoding, Question
from synth.encoding.link_bound import SOLVER, box_alone, way_formula
from synth.proofs.audit_report import QuestionAudit
from synth.proofs.drat import Checker
from synth.proofs.evidence import dimacs, to_the_empty_clause


def unproven_links(encoding: Encoding, checker: Checker) -> str | None:
    """Why the bound on links that a formula rests on is not shown; None if it is, or has none."""
    bound = encoding.rails.longest_way
    return None if bound is None else _unproven(box_alone(encoding.question), bound, checker)


@lru_cache(maxsize=1024)
def _unproven(box: Question, bound: int, checker: Checker) -> str | None:
    from pysat.solvers import Solver

    formula = way_formula(box, bound + 1)
    with Solver(name=SOLVER, bootstrap_with=formula.clauses, with_proof=True) as solver:
        if solver.solve():
            return f"a way of {bound + 1} links fits the box"
        proof = "\n".join(to_the_empty_clause(solver.get_proof() or [])) + "\n"
    checked = checker.check(dimacs(formula.variable_count, formula.clauses), proof.encode("ascii"))
    return None if checked.verified else f"the proof does not hold: {checked.reason}"


def links_rest_on(questions: Sequence[QuestionAudit]) -> list[str]:
    """What formulas with such a bound rest on, a sentence each."""
    if all(audited.most_links is None for audited in questions):
        return []
    return [
        "That no wire is further from its source than the longest way of links without short cuts "
        "(an argument from the rules of the medium: synth/encoding/link_bound.py). That no longer "
        "one fits was proven anew for each box."
    ]
