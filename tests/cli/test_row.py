"""``gatefit row`` and ``gatefit check --copies``: whole rows of copies."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from synth.layout import Layout
from tests.cli.conftest import NOT_GATE, Run

SLICE = str(Path(__file__).resolve().parents[1] / "data" / "and_slice.json")
OTHER = str(Path(__file__).resolve().parents[1] / "data" / "xor2.json")


def test_a_row_is_a_layout_that_other_commands_take(gatefit: Run, tmp_path: Path) -> None:
    ended = gatefit("row", SLICE, "--copies", "3", "-o", "row.json")
    assert (ended.code, ended.out) == (0, "row.json: written\n")
    row = Layout.load(tmp_path / "row.json")
    assert [pin.name for pin in row.inputs] == ["a[0]", "ci", "a[1]", "a[2]"]
    assert gatefit("row", SLICE, "--copies", "3").out == (tmp_path / "row.json").read_text()
    function = "co = ci & a[0] & a[1] & a[2]"
    asked = gatefit("check", "row.json", "--function", function, "--delay", "9")
    assert asked.code == 0, asked.err
    drawing = gatefit("show", "row.json", "--as", "drawing").out
    assert Layout.from_drawing(drawing) == row
    drives = [f"--drive={drive}" for drive in ("a[0]=1", "ci=1", "a[1]=0", "a[2]=1")]
    assert gatefit("trace", "row.json", *drives, "--ticks", "10").code == 0


def test_a_row_at_work_is_drawn(gatefit: Run, tmp_path: Path) -> None:
    drives = ["--drive=a[0]=1", "--drive=a[1]=1", "--drive=ci=0000000001"]
    row = ["trace", SLICE, "--copies", "2", *drives, "--ticks", "20"]
    ended = gatefit(*row, "--plot", "row.svg")
    assert ended.code == 0, ended.err
    assert "co    output  0" in ended.out
    assert "tick 9</text>" in (tmp_path / "row.svg").read_text()
    assert gatefit(*row, "--as", "json", "--plot", "row.svg").out == gatefit(*row).out
    assert gatefit(*row, "--plot", "few.svg", "--strips", "2").code == 0
    assert (tmp_path / "few.svg").read_text().count(">tick ") == 2
    stray = gatefit(*row, "--strips", "2")
    assert (stray.code, "name the file with --plot" in stray.err) == (2, True)
    refused = gatefit(*row, "--plot", "row.txt")
    assert (refused.code, "end the name in .svg or .png" in refused.err) == (2, True)


@pytest.mark.parametrize("command", ["explain", "plan", "view", "show", "export"])
def test_other_commands_take_copies_themselves(gatefit: Run, command: str) -> None:
    more = ["--as", "verilog"] if command == "export" else []
    ended = gatefit(command, SLICE, "--copies", "2", *more)
    assert ended.code == 0
    assert "a[1]" in ended.out


def test_verilog_escapes_bits_of_buses(gatefit: Run) -> None:
    """IEEE Std 1364-2005, 3.7.1 (from memory): a backslash before, a space behind."""
    text = gatefit("export", SLICE, "--copies", "2", "--as", "verilog").out
    assert "input  wire \\a[1] ," in text
    assert "a[1]" not in text.replace("\\a[1] ", "").replace("// co = a[0] & ci & a[1]", "")


def test_check_plays_a_row(gatefit: Run) -> None:
    ended = gatefit("check", SLICE, "--copies", "8")
    assert ended.code == 0
    row = "Row of 8 copies: right in all 512 assignments within 24 ticks; 24 ticks were due\n"
    assert row in ended.out
    assert "link delay  3 ticks" in ended.out
    document = gatefit("check", SLICE, "--copies", "30", "--samples", "100", "--json").document
    assert document["link_delay"] == 3
    assert document["row"]["wrong"] == ""
    assert (document["row"]["assignments"], document["row"]["every"]) == (128, False)


def test_a_link_delay_asked_is_judged(gatefit: Run) -> None:
    ended = gatefit("check", SLICE, "--link-delay", "2", "--copies", "2")
    assert ended.code == 1
    assert "a link delay of 2 ticks asked; their own is 3" in ended.out
    assert "Row: not played, as the layout is not right" in ended.out


def test_what_does_not_stack_has_no_row(gatefit: Run, tmp_path: Path) -> None:
    document = json.loads(Path(OTHER).read_text(encoding="utf-8"))
    document["stack"] = None
    (tmp_path / "alone.json").write_text(json.dumps(document), encoding="utf-8")
    for command in (["row"], ["plan"]):
        ended = gatefit(*command, "alone.json", "--copies", "2")
        assert ended.code == 2
        assert "does not say along which axis it stacks" in ended.err


def test_without_a_chain_there_is_no_delay_of_links_to_check(gatefit: Run) -> None:
    NOT_GATE.save("not.json")
    ended = gatefit("check", "not.json", "--link-delay", "0")
    assert ended.code == 2
    assert ended.err.startswith("gatefit: --link-delay: a link delay of at most 0, but neither")
