"""``gatefit audit``, and ``gatefit solve --certificate``: exit codes, what is said, and where."""

from __future__ import annotations

import json
import shutil
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import pytest

import synth
from tests.cli.conftest import Run
from tests.proofs.test_audit_drat import plain_program

LIMITS = {"length": 1, "width": 1, "height": 2, "delay": 1}
QUESTION = ("q = ~a", *(f"--{name}={value}" for name, value in LIMITS.items()))


@cache
def certified() -> Path:
    """A certificate to copy."""
    folder = Path(mkdtemp()) / "proof"
    synth.solve(synth.Spec.parse(QUESTION[0], **LIMITS), certificate=folder, workers=1)
    return folder


@pytest.fixture
def proof(gatefit: Run, tmp_path: Path) -> Path:
    """A certificate, in the folder of the commands."""
    shutil.copytree(certified(), tmp_path / "proof")
    return Path("proof")


def test_solve_writes_it_and_says_how_to_check_it(gatefit: Run) -> None:
    ended = gatefit("solve", *QUESTION, "--certificate", "proof")
    assert ended.code == 0
    assert "(proofs in the certificate)" in " ".join(ended.out.split())
    assert ended.err.endswith(
        "\ngatefit: certificate written to proof; check it with: gatefit audit proof\n"
    )
    written = {path.name: path.read_bytes() for path in Path("proof").iterdir()}
    assert written == {path.name: path.read_bytes() for path in certified().iterdir()}


def test_all_certain(proof: Path, gatefit: Run) -> None:
    ended = gatefit("audit", str(proof))
    assert ended.code == 0
    head, certain, rests, answer = ended.out.strip().split("\n\n")
    assert head.startswith("Claimed: the layout is the smallest by volume 2, under length at most")
    assert certain.startswith("Certain:\n- The layout does what is asked")
    assert rests.startswith("This rests on:\n- That the formulas say what the medium says.")
    assert answer.startswith("Audit: all that is claimed is certain")
    assert max(map(len, ended.out.splitlines())) <= 79
    assert "1 x 1 x 1, delay at most 1" in ended.err


def test_document_and_quiet(proof: Path, gatefit: Run) -> None:
    ended = gatefit("audit", str(proof), "--json", "--quiet")
    assert ended.code == 0
    assert ended.err == ""
    assert ended.document["passes"] is True
    assert ended.document["format"] == "gatefit-audit"
    (question,) = ended.document["questions"]
    assert question["symmetry"] == "checked"
    ended = gatefit("audit", str(proof), "--json", "--quiet", "--no-symmetry")
    assert ended.document["questions"][0]["symmetry"] == "not checked: it was not asked for"


def test_tampered_certificate_fails_and_its_file_is_named(proof: Path, gatefit: Run) -> None:
    (formula,) = proof.glob("*.cnf.gz")
    formula.write_bytes(formula.read_bytes()[:-1])
    ended = gatefit("audit", str(proof))
    assert ended.code == 1
    assert f"- {formula.name}: its size or hash is not the one in the index" in ended.out
    assert ended.out.strip().split("\n\n")[-1].startswith(f"Audit: NOT certain: {formula.name}")
    ended = gatefit("audit", str(proof), "--quiet", "--json")
    assert ended.code == 1
    assert ended.document["passes"] is False
    assert ended.document["certain"] == []
    assert formula.name in {problem["file"] for problem in ended.document["problems"]}


def test_many_problems_are_cut_short(proof: Path, gatefit: Run) -> None:
    for number in range(30):
        (proof / f"surplus{number}").touch()
    ended = gatefit("audit", str(proof))
    assert ended.code == 1
    assert "- and 10 more" in ended.out


def test_no_certificate(gatefit: Run) -> None:
    ended = gatefit("audit", "nowhere")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err == "gatefit: nowhere: no such folder; name the folder of a certificate\n"
    assert gatefit("audit", ".").err == (
        "gatefit: .: no certificate: the folder has no index.json; name a folder that an option "
        "--certificate wrote\n"
    )
    Path("index.json").write_text("{]", encoding="utf-8")
    ended = gatefit("audit", ".")
    assert ended.code == 2
    assert ended.err.startswith("gatefit: index.json: line 1, column 2: not JSON")


def test_checker_of_ones_own(proof: Path, gatefit: Run, tmp_path: Path) -> None:
    program = plain_program(tmp_path)
    ended = gatefit("audit", str(proof), "--checker", program, "--json", "--quiet")
    assert ended.code == 0
    assert ended.document["checker"] == "plain"
    ended = gatefit("audit", str(proof), "--checker", "./nothing")
    assert ended.code == 2
    assert ended.err == (
        "gatefit: --checker: no program './nothing' to check proofs; give the path of drat-trim\n"
    )


def test_impossible_is_certified_too(gatefit: Run) -> None:
    ended = gatefit(
        "solve", QUESTION[0], "--delay=0", *QUESTION[1:4], "--certificate=proof", "--advise=0"
    )
    assert ended.code == 1
    ended = gatefit("audit", "proof")
    assert ended.code == 0
    assert ended.out.startswith("Claimed: there is no layout under length at most 1")


def test_folder_that_holds_other_files_is_refused(gatefit: Run) -> None:
    Path("letter").touch()
    ended = gatefit("solve", *QUESTION, "--certificate", ".")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err == (
        "gatefit: .: holds other files ('letter'); name a new folder, an empty one, or one with a "
        "certificate\n"
    )


def test_solver_without_proofs_is_refused(gatefit: Run) -> None:
    ended = gatefit("solve", *QUESTION, "--certificate", "proof", "--solver", "kissat404")
    assert ended.code == 2
    assert ended.err.startswith("gatefit: kissat404 writes no proofs; use one of cadical195,")


def test_report_is_one_json_value_a_line(proof: Path, gatefit: Run) -> None:
    ended = gatefit("audit", str(proof), "--json", "--quiet")
    assert len(ended.out.splitlines()) == 1
    assert isinstance(json.loads(ended.out), dict)
