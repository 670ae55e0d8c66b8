"""Input that cannot be used: exit code 2, one line that says why, nothing else."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from synth.layout.documents import layout_document
from tests.cli.conftest import NOT_GATE, UNSUPPORTED, Ended, Run
from tests.stored import stored_layout

SPECIFICATION = """\
inputs = ["a", "b"]
[outputs]
q = "a ^ b"
"""


def refused(ended: Ended, *words: str) -> None:
    """The command ended as it should, and its line has all these words in it."""
    assert ended.code == 2, ended
    assert ended.out == ""
    lines = ended.err.splitlines()
    # Where a function's text is wrong, the text follows, and a caret that points into it.
    assert len(lines) == 1 or (len(lines) == 3 and lines[2].strip() == "^"), ended.err
    assert lines[0].startswith("gatefit: ")
    assert "Traceback" not in ended.err
    for word in words:
        assert word in lines[0], lines[0]


def changed(**changes: Any) -> str:
    return json.dumps(layout_document(NOT_GATE) | changes)


def solid(at: list[int]) -> dict[str, Any]:
    return {"at": at, "part": "solid"}


def pin(name: str, at: list[int], face: str) -> dict[str, Any]:
    return {"name": name, "role": "input", "at": at, "face": face}


LAYOUTS = {
    "no JSON": ("{", "line 1, column 2"),
    "empty": (" \n", "is empty"),
    "not UTF-8": (b"\xff\xfe{}", "UTF-8"),
    "a list": ("[]", "no table"),
    "no format": ("{}", "'format'"),
    "another format": (changed(format="gatefit-trace"), "gatefit-trace", "gatefit-layout"),
    "a later version": (changed(version=99), "version 99", "understood are: 1, 2, 3"),
    "an unknown key": (changed(sise=[1, 1, 1]), "'sise'", "'size'"),
    "an unknown part": (changed(parts=[{"at": [0, 0, 0], "part": "wier"}]), "'wier'", "'wire'"),
    "overlapping parts": (changed(parts=[solid([0, 0, 0])] * 2), "[0, 0, 0]", "parts[1]"),
    "a part outside": (changed(parts=[solid([2, 0, 0])]), "[2, 0, 0]", "2 x 1 x 2"),
    "a pin outside": (changed(pins=[pin("a", [0, 0, 7], "-x")]), "'a'", "[0, 0, 7]"),
    "a pin inside": (changed(pins=[pin("a", [0, 0, 1], "+x")]), "'a'", "pins[0].face"),
    "a name twice": (
        changed(pins=[pin("a", [0, 0, 1], "-x"), pin("a", [1, 0, 1], "+x")]),
        "'a'",
        "pins[1].name",
    ),
    "a size of 0": (changed(size=[0, 1, 2], parts=[], pins=[]), "0", "size"),
    "a huge size": (changed(size=[10**6, 1, 2]), "1000000", "use 1 to"),
    "a number of thousands of digits": ('{"format": 1' + "0" * 5000 + "}", "digits"),
    "deep nesting": ("[" * 100_000, "nested"),
    "a long text": (changed(format="x" * 4_000_000), "'xxx", "..."),
    "half a character": (changed(name="\ud800"), "half a character", "RFC 8259"),
    "terminal escapes": (changed(name="\x1b[2J"), "'\\x1b[2J'"),
    "a delay that no table has": (
        changed(parts=[{"at": [0, 0, 0], "part": "buffer", "to": "+x", "delay": 65}]),
        "parts[0].delay",
        "1 to 64",
    ),
}


@pytest.mark.parametrize("case", LAYOUTS)
@pytest.mark.parametrize("command", ["show", "check", "trace"])
def test_bad_layout(case: str, command: str, gatefit: Run, tmp_path: Path) -> None:
    text, *words = LAYOUTS[case]
    data = text if isinstance(text, bytes) else text.encode()
    (tmp_path / "bad.json").write_bytes(data)
    refused(gatefit(command, "bad.json"), "bad.json", *words)
    refused(gatefit(command, "-", stdin=data), "standard input", *words)


@pytest.mark.parametrize("command", ["show", "check", "trace"])
def test_layout_that_is_not_there(command: str, gatefit: Run, tmp_path: Path) -> None:
    refused(gatefit(command, "none.json"), "none.json", "no such file")
    refused(gatefit(command, str(tmp_path)), "is a directory")


TEXTS = {
    "": ("no function",),
    "q =": ("column",),
    "q = a ^": ("column",),
    "q = a ^ b)": ("column 10",),
    "q = a + b": ("'+'", "column 7"),
    "q = a; q = b": ("'q'",),
    "q = a & q": ("'q'",),
    "2q = a": ("column 1",),
    "a ^ b": ("q = a ^ b",),
    "exclusive": ("'exclusive'",),
    "none.toml": ("none.toml", "no such file"),
    "q = " + " ^ ".join("abcdefghijkl"): ("12 inputs", "8"),
    "q = " + "(" * 100_000: ("column",),
}


@pytest.mark.parametrize("text", TEXTS, ids=lambda text: text[:20] or "empty")
def test_bad_function(text: str, gatefit: Run, not_gate: str) -> None:
    refused(gatefit("solve", text), *TEXTS[text])
    refused(gatefit("check", not_gate, "--spec", text), *TEXTS[text])


def test_caret_points_at_the_character(gatefit: Run) -> None:
    lines = gatefit("solve", "q = a + b").err.splitlines()
    assert lines[1].index("+") == lines[2].index("^")


FILES = {
    "no TOML": ("inputs = ]", "line 1"),
    "not UTF-8": (b"\xff", "UTF-8"),
    "an unknown key": (SPECIFICATION + "[limit]\nlength = 1\n", "'limit'", "'limits'"),
    "an unknown limit": (SPECIFICATION + "[limits]\nlenght = 1\n", "'lenght'", "'length'"),
    "a size of 0": (SPECIFICATION + "[limits]\nheight = 0\n", "limits.height", "0"),
    "a huge size": (SPECIFICATION + "[limits]\nwidth = 1000\n", "limits.width", "1000"),
    "no outputs": ('inputs = ["a"]\n', "outputs"),
    "an empty function": ('inputs = ["a"]\n[outputs]\n', "outputs"),
    "an empty expression": ('inputs = ["a"]\n[outputs]\nq = ""\n', "outputs.q"),
    "names twice": ('inputs = ["a", "a"]\n[outputs]\nq = "a"\n', "'a'", "inputs"),
    "a row twice": (
        'inputs = ["a"]\noutputs = ["q"]\ntable = ["0 1", "0 1"]\n',
        "'0'",
        "table[1]",
    ),
    "a row missing": ('inputs = ["a"]\noutputs = ["q"]\ntable = ["0 1"]\n', "'1'", "table"),
    "a pin of no name": (SPECIFICATION + '[pins]\nz = { faces = ["-x"] }\n', "'z'", "pins.z"),
    "a pin on top": (SPECIFICATION + '[pins]\na = { faces = ["+z"] }\n', "'+z'", "pins.a.faces"),
    "cells without sizes": (SPECIFICATION + "[cells]\nempty = [[0, 0, 0]]\n", "cells"),
}


@pytest.mark.parametrize("case", FILES)
def test_bad_specification(case: str, gatefit: Run, tmp_path: Path, not_gate: str) -> None:
    text, *words = FILES[case]
    data = text if isinstance(text, bytes) else text.encode()
    (tmp_path / "bad.toml").write_bytes(data)
    refused(gatefit("solve", "bad.toml"), "bad.toml", *words)
    refused(gatefit("check", not_gate, "--spec", "bad.toml"), "bad.toml", *words)


OPTIONS = {
    "--length 0": ("--length", "0", "use 1"),
    "--width 1000": ("--width", "1000"),
    "--height -3": ("--height", "-3"),
    "--delay -1": ("--delay", "-1"),
    "--delay 1000": ("--delay", "1000"),
    "--volume 0": ("--volume",),
    "--floor 0": ("--floor",),
    "--parts -1": ("--parts",),
    "--length two": ("--length", "'two'"),
    "--stack w": ("--stack", "'w'"),
    "--pitch 2": ("--pitch", "--stack"),
    "--stack y --pitch 0": ("--pitch", "0"),
    "--stack z --ground": ("ground", "z"),
    "--stack y --input-face -y": ("-y",),
    "--joint wier": ("--joint", "'wier'", "'wire'"),
    "--input-face +z": ("--input-face", "'+z'"),
    "--output-face west": ("--output-face", "'west'"),
    "--minimize volum": ("--minimize", "'volum'", "volume"),
    "--minimize volume,deley": ("--minimize", "'deley'", "delay"),
    "--solver cadical": ("--solver", "'cadical'", "cadical195"),
    "--solver nothing_like_it": ("--solver", "minisat22"),
    "--time-limit 0": ("--time-limit", "0"),
    "--time-limit -1": ("--time-limit", "-1"),
    "--time-limit nan": ("--time-limit",),
    "--time-limit soon": ("--time-limit", "'soon'"),
    "--seed 1.5": ("--seed", "'1.5'"),
    "--prefer wool": ("--prefer", "'wool'", "solid"),
    "--workers 0": ("--workers", "0"),
    "--rules none.toml": ("none.toml",),
    "--output nowhere/x.json": ("--output", "nowhere/x.json"),
    "--output .": ("--output", "directory"),
    "--lenght 3": ("--lenght", "--length"),
    "--length": ("--length",),
    "more": ("more",),
}


@pytest.mark.parametrize("options", OPTIONS)
def test_bad_option(options: str, gatefit: Run, tmp_path: Path) -> None:
    refused(gatefit("solve", "q = a & b", *options.split()), *OPTIONS[options])
    assert list(tmp_path.iterdir()) == []


RULES = {
    "reach = 0": ("reach",),
    "reach = 'far'": ("reach",),
    "buffer_delays = []": ("buffer_delays",),
    "raech = 3": ("'raech'", "'reach'"),
    "reach = 1001": ("reach", "use a whole number from 1 to 1000"),
    "buffer_delays = [1, 65]": ("buffer_delays[1]", "65", "1 to 64"),
    "a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a = 1": ("line 1", "dots"),
    "x = " + "1" * 5000: ("not TOML",),
    "reach =": ("TOML",),
}


@pytest.mark.parametrize("text", RULES)
def test_bad_rules(text: str, gatefit: Run, tmp_path: Path, not_gate: str) -> None:
    (tmp_path / "rules.toml").write_text(text, encoding="utf-8")
    for command in (
        ["solve", "q = ~a"],
        ["check", not_gate],
        ["trace", not_gate, "--drive", "a=0"],
    ):
        refused(gatefit(*command, "--rules", "rules.toml"), "rules.toml", *RULES[text])


DRIVES = {
    "--drive a": ("--drive", "'a'", "a=0011"),
    "--drive =1": ("--drive",),
    "--drive a=": ("a",),
    "--drive a=012": ("a",),
    "--drive a=0 --drive a=1": ("'a'", "twice"),
    "--drive a=0 --drive z=1": ("'z'",),
    "--drive q=0": ("q",),
    "--drive a=0 --ticks 0": ("--ticks", "0"),
    "--drive a=0 --ticks 10000000": ("--ticks",),
    "--drive a=0 --output nowhere/x.json": ("--output", "nowhere/x.json"),
}


@pytest.mark.parametrize("options", DRIVES)
def test_bad_trace(options: str, gatefit: Run, not_gate: str) -> None:
    refused(gatefit("trace", not_gate, *options.split()), *DRIVES[options])


def test_illegal_layout_is_not_played(gatefit: Run, unsupported: str) -> None:
    refused(gatefit("trace", unsupported, "--drive", "a=0"), "[1, 0, 0]")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--function", "q = a ^ b"], ("b",)),
        (["--function", "p = ~a"], ("p",)),
        (["--function", "q = ~a", "--spec", "q = ~a"], ("--function and --spec",)),
        (["--delay", "-1"], ("--delay", "-1")),
        (["--delay", "x"], ("--delay", "'x'")),
        (["--samples", "5"], ("--samples: there is no row to play", "--copies")),
    ],
)
def test_bad_check(options: list[str], words: tuple[str, ...], gatefit: Run, not_gate: str) -> None:
    refused(gatefit("check", not_gate, *options), *words)


USAGE = {
    "solve q=a --delay 2ticks": "--delay: '2ticks' is no whole number; use a whole number",
    "solve q=a --time-limit 5s": "--time-limit: '5s' is no number; use a number, without a unit",
    "solve q=a --workers 0": "--workers: 0 is out of range; use 1 to 64",
    "check not.json --copies few": "--copies: 'few' is no whole number; use a whole number, "
    "without a unit: 1 or more",
    "library show one": "NUMBER: 'one' is no whole number",
    "solve q=a --resume folder": "--resume: 'folder' is a directory; name a file",
    "solve q=a --store folder": "--store: 'folder' is a directory; name a file",
    "solve folder": "folder: is a directory; name a file in it",
    "build folder": "folder: is a directory; name a file in it",
    "audit not.json": "not.json: is no folder; name the folder of a certificate",
    "audit nowhere": "nowhere: no such folder; name the folder of a certificate",
    "plan not.json -o -": "--output: '-' would be the name of a file; leave it out to print",
    "solve q=a&b --chain q": "--chain: 'q' is no link of a chain",
    "solve q=a --chain q:a": "--chain: there is a chain, but no stacking; stack along y or x",
    "solve q=a --without luck": "--without: no acceleration 'luck'; use one of symmetry, ",
    "trace not.json --drive b=0": "--drive: the layout has no input 'b'",
    "slove q=a": "no command 'slove'; did you mean 'solve'? try 'gatefit --help'",
    "solve not.json": "not.json: line 1, column 1: not TOML: invalid statement; this looks "
    "like JSON",
    "solve twice.toml": "twice.toml: line 2, column 9: not TOML: cannot overwrite a value; a key "
    "stands once in its table",
    "solve": "Missing argument 'SPEC'; try 'gatefit solve --help'",
}
"""Mistakes of every day, and what is said of them."""


@pytest.mark.parametrize("line", USAGE)
def test_usage(line: str, gatefit: Run, not_gate: str, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "twice.toml").write_text('name="a"\nname="b"\n', encoding="utf-8")
    ended = gatefit(*line.split())
    refused(ended)
    assert ended.err.startswith(f"gatefit: {USAGE[line]}")


def test_a_row_that_is_too_long_names_the_option(gatefit: Run, tmp_path: Path) -> None:
    stored_layout("xor2").save(tmp_path / "xor2.json")
    refused(gatefit("check", "xor2.json", "--copies", "100000"), "--copies: a row of 200,000 cells")


def test_a_group_without_a_command_lists_them(gatefit: Run) -> None:
    ended = gatefit("library")
    assert ended.code == 0
    assert "Commands:" in ended.out
    assert ended.err == ""
    assert ended.out == gatefit("library", "--help").out


def test_unknown_command_gets_a_guess(gatefit: Run) -> None:
    refused(gatefit("slove"), "'slove'", "'solve'")
    refused(gatefit("xyzzy"), "'xyzzy'", "there are solve, shrink, ")
    refused(gatefit("--lenght"), "--lenght")
    refused(gatefit("completion", "cmd"), "'cmd'", "bash")


TEMPLATES = {
    "{x:>999999999}": ("too wide", "100"),
    "{part:.9999}": ("too wide", "100"),
    "{x}" * 400: ("1,200 characters", "1,000"),
    "{": ("no template",),
}


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda text: text[:20])
def test_bad_template(template: str, gatefit: Run, not_gate: str) -> None:
    command = ("export", not_gate, "--as", "lines")
    refused(gatefit(*command, "--template", template), "--template", *TEMPLATES[template])


def test_templates_up_to_the_bounds_are_filled_in(gatefit: Run, not_gate: str) -> None:
    ended = gatefit("export", not_gate, "--as", "lines", "--template", "{x:>100}{part:0<007}")
    assert ended.code == 0
    assert ended.out.splitlines()[0].startswith(" " * 99 + "0")


def test_bad_origin_and_names(gatefit: Run, not_gate: str, tmp_path: Path) -> None:
    command = ("export", not_gate, "--as", "lines")
    refused(gatefit(*command, "--origin=9999999999,0,0"), "--origin", "too far")
    refused(gatefit(*command, "--origin=" + "9" * 5000), "--origin", "...")
    (tmp_path / "names.toml").write_text(f"[parts]\nsolid = '{'x' * 1001}'\n", encoding="utf-8")
    refused(gatefit(*command, "--names", "names.toml"), "names.toml", "parts.solid", "1,000")


def test_long_values_of_options_are_cut(gatefit: Run) -> None:
    ended = gatefit("solve", "q = a", "--time-limit", "x" * 100_000)
    refused(ended, "--time-limit")
    assert len(ended.err) < 1000


def test_more_than_can_be_kept_or_drawn_is_refused(
    gatefit: Run, not_gate: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("synth.simulator.tracing.MAX_SHOWN", 30)
    refused(gatefit("trace", not_gate, "--drive", "a=0", "--ticks", "11"), "10 ticks at most")
    assert gatefit("trace", not_gate, "--drive", "a=0", "--ticks", "10").code == 0
    monkeypatch.setattr("synth.cli.shared.large.MOST_PARTS", 2)
    for command in (["view"], ["plan"], ["explain"], ["export", "--as", "svg"]):
        refused(gatefit(*command, not_gate), "3 parts are too many")
    assert gatefit("export", "--as", "csv", not_gate).code == 0
    monkeypatch.setattr("synth.cli.shared.large.MOST_PARTS", 3)
    monkeypatch.setattr("synth.cli.shared.large.SLOW_PARTS", 2)
    ended = gatefit("export", "--as", "svg", not_gate)
    assert (ended.code, ended.err) == (0, "gatefit: a sheet of 3 parts takes a while ...\n")


def test_what_takes_too_long_to_settle_is_refused(
    gatefit: Run, not_gate: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert gatefit("check", not_gate).code == 0
    monkeypatch.setattr("synth.simulator.settling.Effort.__init__.__defaults__", (10,))
    refused(gatefit("check", not_gate), "takes too long to settle")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("solve", "q = ~a", "--resume", "x.json", "-o", "x.json"), ("--output", "--resume")),
        (("solve", "q = ~a", "--resume", "x.json", "-o", "./x.json"), ("--output", "'./x.json'")),
        (("shrink", "gate.json", "--resume", "x.json", "-o", "x.json"), ("--output", "--resume")),
        (("build", "sum.eqn", "-o", "sum.eqn"), ("--output", "CIRCUIT", "name another file")),
        (("build", "sum.eqn", "--resume", "x.json", "-o", "x.json"), ("--output", "--resume")),
        (("frontier", "q = a", "--plot", "x.svg", "--plot", "x.svg"), ("--plot", "x.svg")),
        (("trace", "gate.json", "-o", "gate.json"), ("--output", "LAYOUT")),
        (("shrink", "gate.json", "--function", "mine", "-o", "mine"), ("--output", "--function")),
    ],
)
def test_no_file_that_a_command_needs_is_written_over(
    arguments: tuple[str, ...],
    words: tuple[str, ...],
    gatefit: Run,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sum.eqn").write_text("q = a & b\n", encoding="utf-8")
    (tmp_path / "gate.json").write_text(changed(), encoding="utf-8")
    (tmp_path / "mine").write_text(SPECIFICATION, encoding="utf-8")
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    refused(gatefit(*arguments), *words)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_layout_may_be_replaced_by_what_comes_of_it(
    gatefit: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "gate.json").write_text(changed(), encoding="utf-8")
    assert gatefit("shrink", "gate.json", "--effort", "1", "-o", "gate.json").code == 0


@pytest.mark.parametrize("command", ["shrink", "prove", "repair", "check", "view", "plan"])
@pytest.mark.parametrize("from_standard_input", [False, True])
def test_what_is_wrong_with_the_pins_of_a_layout_names_its_file(
    command: str, from_standard_input: bool, gatefit: Run
) -> None:
    NOT_GATE.save("not.json")
    source = "-" if from_standard_input else "not.json"
    written = [] if command in ("shrink", "prove", "repair", "check") else ["-o", "page.html"]
    ended = gatefit(
        command, source, "--function", "q = b", *written, stdin=Path("not.json").read_text()
    )
    file = "standard input" if from_standard_input else "not.json"
    assert ended.code == 2
    assert f"gatefit: {file}: the pins of the layout are not those of the" in ended.err


@pytest.mark.parametrize("command", ["shrink", "prove", "explain"])
def test_what_is_wrong_with_a_layout_names_its_file(command: str, gatefit: Run) -> None:
    UNSUPPORTED.save("bad.json")
    ended = gatefit(command, "bad.json")
    assert ended.code == 2
    assert "gatefit: bad.json: the layout is not " in ended.err


def test_the_name_of_a_target_is_no_file(
    gatefit: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    ended = gatefit("solve", "inverter", "--delay", "1", "--quiet", "-o", "inverter")
    assert ended.code == 0, ended.err


def test_what_is_ruled_out_by_argument_is_not_searched_for_advice(gatefit: Run) -> None:
    asked = ("solve", "full-adder-slice", "--link-delay", "0")
    ended = gatefit(*asked)
    assert ended.code == 1
    assert ended.out.count("Advice:") == 1
    assert "a link delay of 3 ticks is the least" in " ".join(ended.out.split())
    assert gatefit(*asked, "--json").document["advice"] == [
        "a link delay of 3 ticks is the least that is not ruled out"
    ]
