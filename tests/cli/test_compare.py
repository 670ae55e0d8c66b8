"""``compare`` says in what two layouts differ, and whether that matters, in every form."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from synth.layout import Layout
from synth.medium import CLEAR, LEDGE, SOLID
from tests.cli.conftest import NOT_GATE, UNSUPPORTED, Run
from tests.stored import stored_layout

XOR = stored_layout("xor2")
LOOSE = Path(__file__).parents[2] / "docs" / "loose_xor.drawing"


@pytest.fixture
def files(tmp_path: Path) -> None:
    XOR.save(tmp_path / "xor.json")
    Layout.load(LOOSE).save(tmp_path / "loose.drawing")
    NOT_GATE.save(tmp_path / "not.json")
    NOT_GATE.with_cells({(0, 0, 0): LEDGE}).save(tmp_path / "ledge.json")
    UNSUPPORTED.save(tmp_path / "unsupported.json")


@pytest.mark.usefixtures("files")
def test_the_answer_comes_first(gatefit: Run) -> None:
    ended = gatefit("compare", "loose.drawing", "xor.json")
    assert ended.code == 0
    words = " ".join(ended.out.split())
    assert words.startswith("Both compute the same function. B is as fast and smaller by 16 cells.")
    assert re.search(r"(?m)^volume +48 +32$", ended.out)
    assert max(map(len, ended.out.split("What differs")[0].split("\n"))) <= 80


@pytest.mark.usefixtures("files")
def test_what_differs_is_drawn_and_listed(gatefit: Run) -> None:
    ended = gatefit("compare", "not.json", "ledge.json")
    assert ended.code == 0
    assert "1 cell differs." in ended.out
    assert "A: * what is another part in the other" in ended.out
    assert "| ::* . |" in ended.out
    assert "| ==* . |" in ended.out
    assert "[0, 0, 0]  changed  clear -> ledge" in ended.out
    taken = gatefit("compare", "unsupported.json", "not.json")
    assert taken.code == 1
    assert taken.out.startswith("A is not legal in the medium, so their functions cannot be")
    assert "B: every part of it is in the other as well" in taken.out
    other = gatefit("compare", "xor.json", "not.json")
    assert other.code == 1
    assert other.out.startswith("They have other pins, so their functions cannot be compared.")


@pytest.mark.usefixtures("files")
def test_nothing_differs(gatefit: Run) -> None:
    ended = gatefit("compare", "xor.json", "-", stdin=XOR.drawing())
    assert ended.code == 0
    assert "as fast and as large. No part and no pin differs." in " ".join(ended.out.split())
    assert "What differs" not in ended.out


@pytest.mark.usefixtures("files")
def test_a_document_a_page_and_a_sheet(gatefit: Run) -> None:
    document = gatefit("compare", "not.json", "ledge.json", "--json").document
    assert document["format"] == "gatefit-comparison"
    assert document["same_function"] is True
    assert document["cells"] == [
        {"at": [0, 0, 0], "kind": "changed", "before": {"part": str(CLEAR)},
         "after": {"part": str(LEDGE)}}
    ]  # fmt: skip
    for name in ("d.html", "d.svg", "d.json", "d.txt"):
        assert gatefit("compare", "loose.drawing", "xor.json", "-o", name).code == 0
    page = Path("d.html").read_text()
    assert "Both compute the same function." in page
    assert "{{" not in page
    assert page.count("<img ") == 2
    sheet = ElementTree.parse("d.svg").getroot()
    words = [text.text for text in sheet.iter("{http://www.w3.org/2000/svg}text")]
    assert {"A: loose.drawing", "B: xor.json", "48", "32", "*", "-"} <= set(words)


def test_names_of_files_are_only_names(gatefit: Run, tmp_path: Path) -> None:
    name = "<b>&.json"
    NOT_GATE.with_cells({(0, 0, 0): SOLID}).save(tmp_path / name)
    NOT_GATE.save(tmp_path / "not.json")
    for kind in ("html", "svg"):
        written = gatefit("compare", name, "not.json", "--as", kind).out
        assert "<b>" not in written
        assert "&lt;b&gt;&amp;.json" in written


def test_what_cannot_be_compared(gatefit: Run, tmp_path: Path) -> None:
    NOT_GATE.save(tmp_path / "not.json")
    for arguments, said in (
        (["-", "-"], "standard input is one layout"),
        (["not.json", "none.json"], "none.json: no such file"),
        (["not.json", "not.json", "-o", "x.png"], "says PNG, but the file would hold plain text"),
    ):
        ended = gatefit("compare", *arguments)
        assert (ended.code, ended.out) == (2, "")
        assert said in ended.err


def test_what_has_no_outputs_has_no_function_to_compare(gatefit: Run) -> None:
    Path("lone.drawing").write_text("z=0\na>|##..|\n", encoding="utf-8")
    ended = gatefit("compare", "lone.drawing", "lone.drawing")
    assert ended.code == 1
    assert " ".join(ended.out.split()).startswith(
        "Neither has outputs, so there are no functions to compare. No part and no pin differs."
    )
