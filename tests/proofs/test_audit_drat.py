"""The checkers of proofs: they reject what is no proof, and agree with a plain one."""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random

import pytest

from synth.encoding import ACCELERATIONS, Question, encode
from synth.errors import InputError
from synth.proofs.drat import Checker, Dratify, External, checker_for
from synth.proofs.evidence import formula_text, write_evidence
from synth.spec import Spec
from tests.proofs import plain_checker
from tests.proofs.certificates import unpack

PHP = "p cnf 6 9\n1 2 0\n3 4 0\n5 6 0\n" + "".join(
    f"-{a} -{b} 0\n" for a, b in [(1, 3), (1, 5), (3, 5), (2, 4), (2, 6), (4, 6)]
)
"""Three pigeons, two holes: pigeon p sits in hole h if variable 2p + h - 2 is true."""

PHP_PROOF = "1 0\n-1 0\n0\n"


@pytest.fixture(params=["dratify", "dratify in Python", "external"])
def checker(request: pytest.FixtureRequest, tmp_path: Path) -> Checker:
    if request.param == "external":
        return External(plain_program(tmp_path))
    dratify = Dratify()
    if request.param == "dratify in Python":
        dratify._engine = "python"
    return dratify


def plain_program(folder: Path) -> str:
    program = folder / "plain"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" "{plain_checker.__file__}" "$@"\n')
    program.chmod(0o755)
    return str(program)


def test_proof_is_verified(checker: Checker) -> None:
    checked = checker.check(PHP.encode(), b"-1 0\n0\n")
    assert checked.verified
    assert checked.steps == 2
    assert checked.reason == ""
    assert checker.check(PHP.encode(), PHP_PROOF.encode()).verified


@pytest.mark.parametrize(
    ("formula", "proof"),
    [
        (PHP, ""),
        (PHP, "-1 0\n"),
        (PHP, "0\n"),
        ("p cnf 2 3\n1 2 0\n-1 2 0\n1 -2 0\n", "2 0\n0\n"),
        ("p cnf 2 2\n1 2 0\n-2 0\n", "-1 0\n0\n"),
        (PHP, "999999999999 0\n0\n"),
    ],
    ids=["empty", "no end", "end only", "one clause short", "satisfiable", "far variable"],
)
def test_what_is_no_proof_is_rejected(formula: str, proof: str, checker: Checker) -> None:
    checked = checker.check(formula.encode(), proof.encode())
    assert not checked.verified
    assert checked.reason


def test_deleting_what_a_literal_follows_from_proves_nothing(checker: Checker) -> None:
    """dratify 0.1.10 accepts this of a satisfiable formula, with RAT and deletions together."""
    assert not checker.check(b"p cnf 2 2\n1 2 0\n-2 0\n", b"d 1 2 0\n-1 0\n0\n").verified


def test_definitions_of_new_variables_are_verified_by_rat() -> None:
    """RAT steps (7 stands for 1 & 4), which follow from no clause, before a RUP proof."""
    steps = "7 -1 -4 0\n-7 1 0\n-7 4 0\n"
    assert Dratify().check(PHP.encode(), (steps + "-1 0\n0\n").encode()).verified


def test_verdicts_on_rup_agree_on_a_real_proof_and_its_mutants(tmp_path: Path) -> None:
    """A mutant that is no RUP proof may still be one by RAT, which the plain one does not know."""
    import dratify
    from pysat.solvers import Solver

    question = Question(Spec.parse("q = ~(a | b)", stack="y"), (1, 2, 2), 0)
    # A formula that says little outright has a longer proof, with more to break.
    encoding = encode(question.without(ACCELERATIONS))
    with Solver("cadical195", bootstrap_with=encoding.clauses, with_proof=True) as solver:
        assert not solver.solve()
        stem = write_evidence(tmp_path, encoding, solver.get_proof()).stem
    formula = formula_text(encoding)
    lines = unpack(tmp_path / f"{stem}.drat.gz").splitlines()
    rng = Random(1)
    clauses = dratify.parse_dimacs(formula.decode())
    verdicts = []
    for mutant in [lines, *(mutated(lines, rng) for _ in range(12))]:
        text = "\n".join(mutant) + "\n"
        plain = plain_checker.verified(formula.decode(), text)
        assert dratify.check_proof(clauses, text, check_rat=False).ok == plain
        assert Dratify().check(formula, text.encode()).verified >= plain
        verdicts.append(plain)
    assert verdicts[0]
    assert False in verdicts


def mutated(lines: list[str], rng: Random) -> list[str]:
    """One literal of one added clause dropped or negated."""
    number = rng.choice([i for i, line in enumerate(lines[:-1]) if not line.startswith("d")])
    literals = lines[number].split()[:-1]
    place = rng.randrange(len(literals))
    literals[place : place + 1] = [] if rng.random() < 0.5 else [str(-int(literals[place]))]
    return [*lines[:number], " ".join([*literals, "0"]), *lines[number + 1 :]]


def test_program_is_believed_only_when_it_says_verified(tmp_path: Path) -> None:
    program = tmp_path / "liar"
    for script, reason in [
        ("exit 0", "exit code 0"),
        ("echo s VERIFIED; exit 1", "s VERIFIED"),
        ("echo s NOT VERIFIED", "s NOT VERIFIED"),
        ("echo s VERIFIED; echo s NOT VERIFIED", "s NOT VERIFIED"),
        ("echo not s VERIFIED", "exit code 0"),
    ]:
        program.write_text(f"#!/bin/sh\n{script}\n")
        program.chmod(0o755)
        checked = External(str(program)).check(PHP.encode(), PHP_PROOF.encode())
        assert not checked.verified
        assert reason in checked.reason


def test_no_program_of_that_name() -> None:
    with pytest.raises(InputError, match="no program 'drat-nowhere'"):
        checker_for("drat-nowhere")


def test_program_that_is_none(tmp_path: Path) -> None:
    program = tmp_path / "text"
    program.write_text("words")
    program.chmod(0o755)
    with pytest.raises(InputError, match="text cannot be run"):
        External(str(program)).check(PHP.encode(), PHP_PROOF.encode())
