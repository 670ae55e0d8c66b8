"""``import`` reads what ``export`` writes, and what a builder lists."""

from __future__ import annotations

from pathlib import Path

import pytest

from synth.layout import Layout, MadeFor, Pin
from synth.medium import SOLID, Direction, Joint, Role, inverter
from tests.cli.conftest import Run
from tests.stored import stored_layout

XOR = stored_layout("xor2")

NAMES = """\
[parts]
solid = "stone"
"inverter -z" = "standing lamp"
[orientations]
"+x" = "east"
"""


@pytest.fixture
def xor(tmp_path: Path) -> str:
    XOR.save(tmp_path / "xor.json")
    (tmp_path / "names.toml").write_text(NAMES)
    return "xor.json"


@pytest.mark.parametrize(
    "options",
    [
        ["--as", "csv"],
        ["--as", "lines"],
        ["--as", "lines", "--template", "{part} {orientation} {delay} at {x},{y},{z}"],
        ["--as", "lines", "--turn", "90", "--mirror", "x", "--origin", "12,0,-3"],
        ["--as", "lines", "--names", "names.toml", "--turn", "270"],
    ],
    ids=" ".join,
)
def test_there_and_back_again(options: list[str], gatefit: Run, xor: str) -> None:
    listed = gatefit("export", xor, *options).out
    _, kind, *placing = options
    taken = ["--from", kind, *placing, "--like", xor, "--as", "json"]
    ended = gatefit("import", "-", *taken, stdin=listed)
    assert ended.code == 0
    assert Layout.from_text(ended.out).document() == XOR.document()


def test_a_drawing_is_what_one_goes_on_with(gatefit: Run, xor: str) -> None:
    gatefit("export", xor, "-o", "xor.csv")
    ended = gatefit("import", "xor.csv")
    assert Layout.from_drawing(ended.out) == Layout(XOR.size, XOR.cells)
    assert "gatefit: the layout has no pins: give them with --pin or --like" in ended.err
    assert gatefit("import", "xor.csv", "-o", "x.drawing").out == "x.drawing: written\n"
    assert Path("x.drawing").read_text() == ended.out
    assert gatefit("import", "xor.csv", "-o", "x.json").code == 0
    assert Layout.load("x.json") == Layout(XOR.size, XOR.cells)


def test_pins_and_size_may_be_given(gatefit: Run, tmp_path: Path) -> None:
    (tmp_path / "not.txt").write_text("7 5 3 solid\n8 5 3 inverter -x\n")
    given = ["--pin=a input cell [0, 0, 0] face -x", "--pin=q output cell [1,0,0] face +x buffer"]
    ended = gatefit("import", "not.txt", *given, "--size", "2x1x1")
    read = Layout.from_drawing(ended.out)
    assert read.pins == (
        Pin("a", Role.INPUT, (0, 0, 0), Direction.NX),
        Pin("q", Role.OUTPUT, (1, 0, 0), Direction.PX, Joint.BUFFER),
    )
    assert ended.err == ""
    assert gatefit("check", "-", "--function", "q = ~a", stdin=ended.out).code == 0


@pytest.mark.parametrize(
    ("pins", "kept"),
    [
        (["z input cell [0, 0, 0] face -x"], None),
        (
            ["a input cell [0, 0, 0] face -x", "q output cell [1, 0, 0] face +x"],
            MadeFor("q = ~a", 1),
        ),
    ],
)
def test_a_function_of_other_pins_is_left_out(
    pins: list[str], kept: MadeFor | None, gatefit: Run
) -> None:
    Path("i.csv").write_text("x,y,z,part\n0,0,0,solid\n")
    made = Layout(
        (2, 1, 1),
        {(0, 0, 0): SOLID, (1, 0, 0): inverter(Direction.NX)},
        (
            Pin("a", Role.INPUT, (0, 0, 0), Direction.NX),
            Pin("q", Role.OUTPUT, (1, 0, 0), Direction.PX),
        ),
        made_for=MadeFor("q = ~a", 1),
    )
    made.save("inv.json")
    given = [f"--pin={pin}" for pin in pins]
    ended = gatefit("import", "i.csv", "--like", "inv.json", *given, "-o", "p.json")
    assert ended.code == 0
    assert ("what 'inv.json' was made for is left out" in ended.err) is (kept is None)
    assert gatefit("show", "p.json").code == 0
    assert Layout.load("p.json").made_for == kept


def test_a_delay_that_nobody_says_is_remarked(gatefit: Run, xor: str) -> None:
    listed = gatefit("export", xor, "--as", "lines").out
    ended = gatefit("import", "-", "--from", "lines", "--like", xor, stdin=listed)
    assert "the list does not say the delay of 2 buffers" in ended.err


WRONG = [
    (["bad.csv"], "bad.csv: line 2: no part 'stone'"),
    (["bad.csv", "--template", "{x}"], "--template has no effect on 'csv'"),
    (["-"], "nothing says what 'standard input' holds; add csv or lines"),
    (["xor.json"], "nothing says what 'xor.json' holds"),
    (["bad.csv", "--size", "5x2"], "--size: '5x2' is no size; write length, width and height"),
    (["bad.csv", "--pin", "a input"], "--pin: pin 'a' lacks its role, cell or face"),
    (["bad.csv", "--pin", "a inptu"], "--pin: cannot read 'inptu' in the line of a pin"),
    (["good.csv", "--pin", "a input cell [9, 0, 0] face -x"], "--pin: pin 'a' at [9, 0, 0] lies"),
    (["good.csv", "--like", "xor.json", "--size", "1x1x1"], "--like: pin 'a' at"),
    (["bad.txt", "--template", "{x} {y}"], "--template: lines by this template cannot be read"),
    (["good.csv", "--origin", "5,5,5"], "good.csv: line 2: the part at [0, 0, 0] lies outside"),
    (["good.csv", "-o", "x.svg"], "says SVG, but the file would hold a drawing"),
    (["none.csv"], "none.csv: no such file"),
]


@pytest.mark.parametrize(("arguments", "said"), WRONG, ids=lambda value: str(value)[:40])
def test_what_cannot_be_imported(
    arguments: list[str], said: str, gatefit: Run, xor: str, tmp_path: Path
) -> None:
    (tmp_path / "bad.csv").write_text("x,y,z,part\n0,0,0,stone\n")
    (tmp_path / "bad.txt").write_text("0 0 0 solid\n")
    (tmp_path / "good.csv").write_text("x,y,z,part\n0,0,0,solid\n")
    ended = gatefit("import", *arguments)
    assert (ended.code, ended.out) == (2, "")
    assert said in ended.err
