"""Every command that takes a layout takes a drawing; and there and back again."""

from __future__ import annotations

from pathlib import Path

import pytest

from synth.layout import Layout, MadeFor, Stack
from tests.cli.conftest import NOT_GATE, Run

NOT = NOT_GATE.replace(name="not", made_for=MadeFor("q = ~a", 1), stack=Stack("y", 2))


@pytest.fixture
def drawing(tmp_path: Path) -> str:
    NOT.save(tmp_path / "not.drawing")
    return "not.drawing"


@pytest.mark.parametrize(
    "command",
    [
        ["check"],
        ["check", "--function", "q = ~a", "--json"],
        ["trace", "--drive", "a=01"],
        ["show", "--inputs", "a=1"],
        ["view", "-o", "page.html"],
        ["plan"],
        ["explain"],
        ["export", "--as", "csv"],
        ["library", "add", "--store", "gates.sqlite"],
        ["shrink", "--time-limit", "1", "--quiet"],
    ],
    ids=" ".join,
)
def test_every_command_takes_it_as_it_takes_a_document(
    command: list[str], gatefit: Run, drawing: str
) -> None:
    name = 2 if command[0] == "library" else 1
    assert gatefit(*command[:name], drawing, *command[name:]).code == 0
    assert gatefit(*command[:name], "-", *command[name:], stdin=NOT.drawing()).code == 0


def test_to_a_drawing_and_back_to_a_document(gatefit: Run) -> None:
    NOT.save("not.json")
    assert gatefit("show", "not.json", "-o", "x.drawing").code == 0
    assert gatefit("show", "x.drawing", "-o", "x.json").code == 0
    assert Path("x.json").read_text() == Path("not.json").read_text()
    assert gatefit("show", "x.json", "--as", "drawing").out == Path("x.drawing").read_text()
    assert gatefit("show", "x.drawing", "--as", "json").out == Path("x.json").read_text()


@pytest.mark.parametrize("power", [[], ["--inputs", "a=1"], ["--inputs", "a=0", "--tick", "0"]])
def test_what_show_prints_is_taken_back(power: list[str], gatefit: Run, drawing: str) -> None:
    shown = gatefit("show", drawing, *power)
    assert gatefit("show", "-", *power, stdin=shown.out).out == shown.out
    assert gatefit("show", drawing, *power, "-o", "page.txt").code == 0
    assert Path("page.txt").read_text() == shown.out
    assert Layout.load("page.txt").document() == NOT.document()


def test_what_solve_prints_is_taken_as_well(gatefit: Run) -> None:
    size = ["--length", "1", "--width", "1", "--height", "2", "--delay", "1"]
    solved = gatefit("solve", "q = ~a", *size, "-o", "found.json")
    assert gatefit("check", "-", stdin=solved.out).code == 0
    assert Layout.from_text(solved.out) == Layout.load("found.json")


def test_a_wrong_drawing_is_shown_with_a_caret(gatefit: Run, tmp_path: Path) -> None:
    (tmp_path / "bad.drawing").write_text("z = 0\na>| ## xx |>q\n")
    ended = gatefit("check", "bad.drawing")
    assert ended.code == 2
    assert ended.out == ""
    first, shown, caret = ended.err.splitlines()
    assert first.startswith("gatefit: bad.drawing: line 2, column 8: 'xx' is no part; write one of")
    assert shown[caret.index("^") :].startswith("xx")
    assert gatefit("check", "-", stdin="z = 0\n").err.startswith("gatefit: standard input: line 1")


def test_power_is_no_part_of_a_drawing(gatefit: Run, drawing: str) -> None:
    ended = gatefit("show", drawing, "--as", "drawing", "--inputs", "a=1")
    assert (ended.code, ended.out) == (2, "")
    assert "--inputs has no effect on 'drawing'; leave it out, or use --as text" in ended.err


def test_answers_are_written_as_drawings_as_well(gatefit: Run, drawing: str) -> None:
    size = ["--length", "1", "--width", "1", "--height", "2", "--delay", "1"]
    assert gatefit("solve", "q = ~a", *size, "-o", "found.drawing").code == 0
    assert gatefit("shrink", drawing, "--time-limit", "1", "-o", "small.drawing").code == 0
    assert gatefit("row", drawing, "--copies", "3", "-o", "row.drawing").code == 0
    for name in ("found", "small", "row"):
        text = Path(f"{name}.drawing").read_text()
        assert text == Layout.from_drawing(text).drawing()
    assert [pin.name for pin in Layout.load("row.drawing").inputs] == ["a[0]", "a[1]", "a[2]"]
