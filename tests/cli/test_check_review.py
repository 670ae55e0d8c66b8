"""The review below the verdict of ``gatefit check``: short, whole, left out, as a document."""

from __future__ import annotations

from pathlib import Path

from synth.medium import Direction, buffer, inverter
from synth.reviewing import review
from synth.spec import Spec
from synth.views.text.review import review_text
from tests.cli.conftest import NOT_GATE, Run
from tests.stored import DATA, stored_layout
from tests.views.golden import check_golden

LOOSE = str(DATA / "xor2_5x2x5.json")


def test_a_review_stands_below_the_verdict(gatefit: Run) -> None:
    brief = gatefit("check", LOOSE, "--brief")
    short = gatefit("check", LOOSE)
    assert short.code == brief.code == 0
    assert short.out.startswith(brief.out)
    check_golden("review_short", short.out[len(brief.out) :].strip("\n"))
    whole = gatefit("check", LOOSE, "--review")
    assert whole.out.startswith(brief.out)
    check_golden("review_whole", whole.out[len(brief.out) :].strip("\n"))


def test_faults_come_first_each_with_a_remedy(gatefit: Run, tmp_path: Path) -> None:
    layout = stored_layout("xor2")
    slow = next(cell for cell, block in layout.cells.items() if block.delay == 1)
    facing = layout.cells[slow].facing
    assert facing is not None
    layout.with_cells({slow: buffer(facing, 3)}).save(tmp_path / "slow.json")
    ended = gatefit("check", "slow.json", "--function", "q = a ^ b", "--delay", "2")
    assert ended.code == 1
    said = ended.out[ended.out.index("Review:") :]
    assert said.split("\n")[1].startswith("  fault: delay at ")
    assert f"set the buffer at {show(slow)} to a delay of 1 tick; then it passes" in " ".join(
        said.split()
    )


def test_the_review_is_a_document(gatefit: Run) -> None:
    ended = gatefit("check", LOOSE, "--review", "--json")
    assert ended.document == review(stored_layout("xor2_5x2x5")).document()
    assert ended.document["verdict"] == gatefit("check", LOOSE, "--json").document


def test_a_review_is_not_asked_for_and_left_out_at_once(gatefit: Run) -> None:
    ended = gatefit("check", LOOSE, "--review", "--brief")
    assert ended.code == 2
    assert "--review and --brief" in ended.err


def test_a_layout_without_findings_says_so() -> None:
    assert review_text(review(stored_layout("xor2"))) == "Review: nothing found."


def test_the_review_of_a_layout_that_is_not_legal() -> None:
    broken = NOT_GATE.with_cells({(1, 0, 1): inverter(Direction.NZ)})
    check_golden("review_illegal", review_text(review(broken, Spec.parse("q = ~a"))))


def show(cell: tuple[int, int, int]) -> str:
    return "({},{},{})".format(*cell)
