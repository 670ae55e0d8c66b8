"""``gatefit repair``: what it prints, writes, and ends with."""

from __future__ import annotations

from pathlib import Path

import pytest

from synth.cli.repair import cells_of
from synth.errors import InputError
from synth.layout import Layout
from synth.simulator import check
from synth.spec import Spec
from tests.cli.conftest import NOT_GATE, Run
from tests.reviewing.planted import LINE

SAME = Spec.parse("q = a")


@pytest.fixture
def broken(tmp_path: Path) -> str:
    """A line of wires without two of them."""
    LINE.with_cells({(2, 0, 1): None, (3, 0, 1): None}).save(tmp_path / "broken.json")
    return "broken.json"


def test_it_is_mended_and_written(gatefit: Run, broken: str, tmp_path: Path) -> None:
    ended = gatefit("repair", broken, "--function", "q = a", "--delay", "0", "-o", "mended.json")
    assert ended.code == 0
    assert "Changes: 2\n  put a wire at (2,0,1)\n  put a wire at (3,0,1)" in ended.out
    assert "2 changes do; 1 or fewer were ruled out by the solver" in " ".join(ended.out.split())
    assert "asking for 1 or fewer changes" in ended.err
    assert check(Layout.load(tmp_path / "mended.json"), SAME).passes


def test_what_may_change_can_be_said(gatefit: Run, broken: str) -> None:
    ask = ("repair", broken, "--function", "q = a", "--quiet")
    assert gatefit(*ask, "--window", "2,0,1..3,0,1").code == 0
    ended = gatefit(*ask, "--window", "2,0,1", "--delay", "0")
    assert (ended.code, "IMPOSSIBLE" in ended.out) == (1, True)
    assert "with its pins where they are" in ended.out
    ended = gatefit(*ask, "--lock", "2,0")
    assert (ended.code, "names no cells" in ended.err) == (2, True)
    ended = gatefit(*ask, "--lock", "7,0,0")
    assert (ended.code, "outside the box" in ended.err) == (2, True)


def test_its_answer_is_a_document(gatefit: Run, broken: str) -> None:
    document = gatefit("repair", broken, "--function", "q = a", "--json").document
    assert document["format"] == "gatefit-repair"
    assert document["status"] == "found"
    assert [change["before"] for change in document["changes"]] == [None, None]
    assert Layout.from_document(document["layout"]).part_count == LINE.part_count


def test_cells_are_read_by_corners() -> None:
    assert cells_of(["1,0,2"], "--lock") == {(1, 0, 2)}
    assert cells_of(["1,1,0..0,0,0", "5,5,5"], "--lock") == {
        (0, 0, 0),
        (0, 1, 0),
        (1, 0, 0),
        (1, 1, 0),
        (5, 5, 5),
    }
    with pytest.raises(InputError, match="more than"):
        cells_of(["0,0,0..999,999,999"], "--lock")


def test_limits_of_a_specification_never_end_in_a_refusal(gatefit: Run, tmp_path: Path) -> None:
    NOT_GATE.save(tmp_path / "not.json")
    for limit, code in (("length = 1", 2), ("parts = 1", 1)):
        Path("asked.toml").write_text(f'[outputs]\nq = "~a"\n[limits]\n{limit}\n')
        ended = gatefit("repair", "not.json", "--function", "asked.toml", "--quiet")
        assert ended.code == code
        assert ("--function, limits.length: the length of the box is 2" in ended.err) is (code == 2)
