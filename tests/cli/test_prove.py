"""``gatefit prove``: what it prints, writes, and ends with."""

from __future__ import annotations

from pathlib import Path

from synth.layout import Layout
from tests.cli.conftest import Run
from tests.stored import DATA

NOR2 = str(DATA / "nor2.json")


def test_a_layout_is_the_smallest(gatefit: Run) -> None:
    ended = gatefit("prove", NOR2, "--quiet")
    assert ended.code == 0
    assert "smallest by volume, this layout is the smallest" in ended.out
    whole = gatefit("prove", NOR2)
    assert "Standing: this layout is the smallest: nothing has less than its volume" in whole.out
    assert "Claim: smallest by volume" in whole.out
    assert "Assumed" not in whole.out


def test_its_answer_is_a_document_and_a_layout(gatefit: Run, tmp_path: Path) -> None:
    ended = gatefit("prove", NOR2, "--json", "-o", "same.json")
    assert ended.document["status"] == "found"
    assert Layout.load(tmp_path / "same.json").volume == Layout.load(NOR2).volume


def test_a_certificate_is_written_and_passes(gatefit: Run) -> None:
    assert gatefit("prove", NOR2, "--certificate", "proof", "--quiet").code == 0
    assert gatefit("audit", "proof", "--quiet").code == 0


def test_what_is_asked_and_what_is_let_go(gatefit: Run) -> None:
    assert gatefit("prove", NOR2, "--loosen", "faces,stack", "--delay", "1", "--quiet").code == 0
    ended = gatefit("prove", NOR2, "--loosen", "joints")
    assert (ended.code, "--loosen" in ended.err) == (2, True)
    ended = gatefit("prove", NOR2, "--function", "q = a & b")
    assert (ended.code, "does not keep what is asked" in ended.err) == (2, True)
    ended = gatefit("prove", NOR2, "--delay", "0")
    assert (ended.code, "does not keep what is asked" in ended.err) == (2, True)
