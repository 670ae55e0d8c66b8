"""Commands with broken inputs: a kind of document each, as files, arguments and standard input."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

import synth
from synth.census.journal import heading_of
from synth.exports.lines import csv_text, lines_text
from synth.layout import Layout, Pin
from synth.layout.documents import layout_document
from synth.medium import CLEAR, SOLID, Direction, Role, inverter
from synth.questions.census import CensusQuestion, free_spec
from synth.questions.journal import Journal
from synth.questions.problem import Problem
from synth.spec.demands import with_limits
from synth.views.text.layers import Power, layout_text
from tests.fuzz.breaking import (
    CONTROL,
    anything,
    bent,
    broken_drawing,
    broken_json,
    broken_list,
    broken_toml,
    json_text,
    spoilt,
    written,
)
from tests.fuzz.case import Case, Ended, run
from tests.fuzz.circuits import circuit_case

__all__ = ["KINDS", "Case", "Ended", "run"]

GATE = Layout(
    size=(2, 1, 2),
    cells={(0, 0, 0): CLEAR, (0, 0, 1): SOLID, (1, 0, 1): inverter(Direction.NX)},
    pins=(
        Pin("a", Role.INPUT, (0, 0, 1), Direction.NX),
        Pin("q", Role.OUTPUT, (1, 0, 1), Direction.PX),
    ),
)
"""An inverter."""

DRAWN = """\
gatefit-drawing 1
function  q = ~a    // an inverter
delay     1
stack     y at pitch 2
ground    no
pins
  a  input   joint wire
  q  output

z = 0
x =      0  1
y =   +-------+
  0   | :: .. |
      +-------+

z = 1
  0 a>| ## ~< |>q
"""
"""The same, as a person draws it."""

SPECIFICATION = """\
name = "gate"
description = "an inverter"
inputs = ["a"]
joint = "wire"
ground = false

[outputs]
q = "~a"

[limits]
length = 2
width = 1
height = 2
delay = 1

[stack]
axis = "y"
pitch = 1

[pins]
a = { faces = ["-x"], at = [0, 0, 1] }
q = { faces = ["+x"], joint = "wire" }

[cells]
empty = [[1, 0, 0]]
fixed = [{ at = [0, 0, 1], part = "solid" }]
"""

TABLE = """\
inputs = ["a"]
outputs = ["q"]
table = ["0 1", "1 0"]
[limits]
length = 1
"""

RULES = "reach = 15\nbuffer_delays = [1, 2, 3, 4]\n"

NAMES = """\
[parts]
solid = "stone"
"inverter -x" = "lamp"
"buffer +x 2" = "gate"

[facings]
"-x" = "west"
"""

RECIPE = """\
description = "gates"
minimize = ["volume"]
solver = "glucose42"
seed = 0
[functions]
targets = ["and2"]
all_of = [1]
tables = ["0001"]
idle_inputs = "skip"
[time]
first = 0.01
most = 0.02
[[asks]]
inputs = [1]
stack = "y"
joints = ["wire"]
delays = [1]
length = 1
width = 1
height = 2
"""


LAYOUT_COMMANDS = (
    *(["show", "F", "--as", "drawing"], ["show", "F", "--as", "json"]),
    *(["show", "F"], ["show", "F", "--inputs", "a=1"], ["check", "F"], ["view", "F"]),
    *(["check", "F", "--function", "q = ~a"], ["check", "F", "--json"], ["plan", "F"]),
    *(["check", "F", "--review", "--json"], ["repair", "F", "--function", "q = ~a"]),
    ["repair", "F", "--time-limit", "1", "--quiet"],
    *(["plan", "F", "--as", "html"], ["explain", "F"], ["explain", "F", "--as", "svg"]),
    *(["explain", "F", "--as", "dot"], ["trace", "F", "--drive", "a=01"]),
    *(["export", "F", "--as", kind] for kind in ("svg", "csv", "lines", "verilog", "vcd")),
    *(["export", "F", "--as", "gltf"], ["compare", "F", "F"]),
)
"""Every command that takes a layout, with F in its place."""


def layout_case(draw: Random) -> Case:
    """A layout, for every command that takes one."""
    document: Any = layout_document(GATE)
    if draw.random() < 0.2:
        document = {"format": "gatefit-outcome", "version": 1, "layout": document}
    return _layout_command(broken_json(document, draw), "bad.json", draw)


def drawing_case(draw: Random) -> Case:
    """A drawing, as typed or as shown, for every command that takes a layout."""
    if draw.random() < 0.5:
        return _layout_command(broken_drawing(DRAWN, draw), "bad.drawing", draw)
    power = Power({}, set(GATE.cells))
    page = f"{layout_text(GATE)}\n\nMade for q = ~a. It passes.\n"
    if draw.random() < 0.3:
        page = f"Settled: a=1\n\n{layout_text(GATE, power=power)}\n"
    return _layout_command(broken_drawing(page, draw), "bad.txt", draw)


def _layout_command(data: bytes, file: str, draw: Random) -> Case:
    """One of the commands that take a layout, with these bytes as a file or standard input."""
    command = draw.choice(LAYOUT_COMMANDS)
    if draw.random() < 0.2:
        return Case(tuple("-" if word == "F" else word for word in command), stdin=data)
    return Case(tuple(file if word == "F" else word for word in command), {file: data})


def list_case(draw: Random) -> Case:
    """A list of parts to import, as a table or as lines, with options or without."""
    template = "{x},{y},{z},{part},{orientation},{delay}"
    kind = draw.choice(["csv", "lines"])
    text = csv_text(GATE) if kind == "csv" else lines_text(GATE, template)
    command = ["import", "bad.txt", "--from", kind]
    if kind == "lines":
        command += ["--template", draw.choice([template, template, "{x}{y}", "{part} {x} {y} {z}"])]
    if draw.random() < 0.2:
        command += ["--like", "gate.json"]
    if draw.random() < 0.2:
        command += ["--size", draw.choice(["2x1x2", "1x1x1", "0x0x0", "999999x1x1", "x", "1x1"])]
    if draw.random() < 0.2:
        command += ["--pin", draw.choice(["a input cell [0, 0, 1] face -x", "a", "", CONTROL[1:6]])]
    if draw.random() < 0.2:
        command += [f"--origin={draw.choice(['0,0,0', '-9,0,0', '1,1,1', 'x'])}", "--turn", "90"]
    files = {"gate.json": json_text(layout_document(GATE)), "bad.txt": broken_list(text, draw)}
    return Case(tuple(command), files)


def spec_case(draw: Random) -> Case:
    """A specification."""
    data = broken_toml(draw.choice([SPECIFICATION, SPECIFICATION, TABLE]), draw)
    files = {"gate.json": json_text(layout_document(GATE)), "bad.toml": data}
    return Case(("check", "gate.json", "--spec", "bad.toml"), files)


def rules_case(draw: Random) -> Case:
    """A rule table."""
    files = {
        "gate.json": json_text(layout_document(GATE)),
        "bad.toml": broken_toml(RULES, draw),
    }
    command = draw.choice(
        [["check", "gate.json"], ["trace", "gate.json", "--drive", "a=0"], ["explain", "gate.json"]]
    )
    return Case((*command, "--rules", "bad.toml"), files)


def names_case(draw: Random) -> Case:
    """Names, a template and an origin."""
    files = {
        "gate.json": json_text(layout_document(GATE)),
        "bad.toml": broken_toml(NAMES, draw),
    }
    command = ["export", "gate.json", "--as", "lines"]
    if draw.random() < 0.6:
        command += ["--names", "bad.toml"]
    if draw.random() < 0.5:
        piece = draw.choice(
            [
                *("{x:>999999999}", "{x:999}", "{part:.9999999999}", "{x:,}", "{x!r}", "{", "}"),
                *("{}", "{0}", "{x.real}", "{x[0]}", "{y:{x}}", "{part:d}", "{z:f}", "{{}}"),
                *("{x:c}", "{delay:b}", "{number:e}", CONTROL, "x" * 2000, "{x:0100}", "{y:%}"),
            ]
        )
        command += ["--template", piece * draw.choice([1, 1, 3])]
    if draw.random() < 0.3:
        values = ["0,0,0", "1,2", "9" * 5000 + ",0,0", "1e9,0,0", "a,b,c", "", "-1,-1,10000000000"]
        command += [f"--origin={draw.choice(values)}"]
    return Case(tuple(command), files)


def words_case(draw: Random) -> Case:
    """What stands on the command line: words to drive inputs with, functions, numbers."""
    files = {"gate.json": json_text(layout_document(GATE))}
    word = draw.choice(
        [
            *("a=01", "a", "=", "a=", "a=2", "b=1", "a=0,a=1", "a=1,", "", "A=1", "a=1 ", "=1"),
            *("a=" + "01" * 50_000, "x" * 100_000, CONTROL.replace("\0", ""), "a=\udcff", "ä=1"),
        ]
    )
    number = draw.choice(["1", "0", "-1", "12", "9" * 5000, "nan", "x" * 5000, "1000001", "1e3"])
    text = draw.choice(
        [
            *("q = ~a", "q = a ^", "q = ((((a))))", "q = " + "(" * 3000, "q = " + "~" * 3000 + "a"),
            *("q = a" + " ^ a" * 5000, "=", "q = b", "p = ~a", CONTROL.replace("\0", "") + "=a"),
            *("q = " + "x" * 100_000, "q = " + "9" * 10_000, "q = 1'b0", "q=a;q=a", "q = a ? b"),
        ]
    )
    command = draw.choice(
        [
            ["trace", "gate.json", "--drive", word],
            ["trace", "gate.json", "--drive", "a=01", "--ticks", number],
            ["export", "gate.json", "--as", "vcd", "--drive", word],
            ["show", "gate.json", "--inputs", word],
            ["show", "gate.json", "--inputs", "a=1", "--tick", number],
            ["explain", "gate.json", "--inputs", word],
            ["check", "gate.json", "--function", text],
            ["check", "gate.json", "--spec", text],
            ["check", "gate.json", "--delay", number],
            ["show", word],
            [word, "gate.json"],
            ["show", "gate.json", word],
            ["solve", "q = a", f"--length={number}", "--width", word],
            ["solve", "q = ~a", "--delay", "1", "--time-limit", word],
            ["solve", "q = a", "--minimize", word, "--prefer", text],
            ["frontier", "q = ~a", "--axes", word],
        ]
    )
    return Case(tuple(command), files)


@cache
def journal_lines() -> tuple[dict[str, Any], ...]:
    """A journal: its heading, a "no layout", one of a cube, and a layout."""
    spec = synth.Spec.parse("q = ~a", length=2, width=1, height=2, delay=1)
    heading = Journal.of(Problem(spec), "glucose42", 0).heading
    no = {"size": [1, 1, 1], "delay": 1, "parts": None, "layout": None}
    cube = {"cube": {"pin": "q", "cell": [0, 0, 0], "face": "+x"}}
    of_cube = {**cube, "cube_of": [2, 1, 1], "delay": 1, "parts": 3, "layout": None}
    yes = {"size": [2, 1, 2], "delay": 1, "parts": None, "layout": layout_document(GATE)}
    return (heading, no, of_cube, yes)


def journal_case(draw: Random) -> Case:
    """A journal to resume from."""
    heading, *answers = journal_lines()
    lines = [json_text(heading), *map(json_text, answers)]
    # Always broken somewhere: with a whole one a search begins, which takes its time.
    for _ in range(draw.choice([1, 1, 2])):
        at = draw.randrange(len(lines))
        if at and draw.random() < 0.5:
            lines[at] = json_text(bent(answers[draw.randrange(len(answers))], draw))
        else:
            lines[at] = anything(draw) if draw.random() < 0.5 else spoilt(lines[at], draw)
    data = b"\n".join(lines) + draw.choice([b"\n", b""])
    search = ["solve", "q = ~a", "--length", "2", "--width", "1", "--height", "2", "--delay", "1"]
    options = ["--resume", "bad.jsonl", "--quiet", "--workers", "1", "--time-limit", "5"]
    return Case((*search, *options), {"bad.jsonl": data})


CENSUS = (
    *("census", "--inputs", "1", "--length", "2", "--width", "1", "--height", "2", "--delay", "1"),
    *("--quiet", "--workers", "1", "--time-limit", "5"),
)


@cache
def census_lines() -> tuple[dict[str, Any], ...]:
    """A journal of a census: its heading, a layout, and a box that is complete."""
    limits = {"length": 2, "width": 1, "height": 2, "delay": 1, "joint": "wire"}
    asked = CensusQuestion.of(with_limits(free_spec(1), **limits))[0]
    where = {"size": [2, 1, 2], "delay": 1, "parts": None, "seconds": 0.5}
    found = {**where, "table": "10", "layout": layout_document(GATE)}
    done = {**where, "complete": 0.5, "without": ["01"]}
    return (heading_of(asked), found, done)


def census_journal_case(draw: Random) -> Case:
    """A journal of a census to go on from. Always broken at its end, so that no census begins."""
    lines = [*map(json_text, census_lines())]
    for _ in range(draw.choice([1, 1, 2])):
        at = draw.randrange(len(lines))
        if at and draw.random() < 0.5:
            lines[at] = json_text(bent(census_lines()[at], draw))
        else:
            lines[at] = anything(draw) if draw.random() < 0.5 else spoilt(lines[at], draw)
    data = b"\n".join([*lines, b'{"size": []}']) + b"\n"
    return Case((*CENSUS, "--resume", "bad.jsonl"), {"bad.jsonl": data})


def functions_case(draw: Random) -> Case:
    """A list of functions. Always broken at its end, so that no census begins."""
    lines = [b"10", b"q = ~a", b"-1  # either"]
    at = draw.randrange(len(lines))
    lines[at] = anything(draw) if draw.random() < 0.5 else spoilt(lines[at], draw)
    data = b"\n".join([*lines, b"q q"]) + b"\n"
    return Case((*CENSUS, "--functions", "bad.txt"), {"bad.txt": data})


@cache
def certificate() -> Mapping[str, bytes]:
    """The files of a small certificate."""
    with TemporaryDirectory() as folder:
        path = Path(folder, "proof")
        spec = synth.Spec.parse("q = ~a", length=2, width=1, height=2, delay=1)
        synth.solve(spec, certificate=path, workers=1)
        return {name: Path(path, name).read_bytes() for name in sorted(os.listdir(path))}


def certificate_case(draw: Random) -> Case:
    """A certificate: its index, sealed anew or not, or another of its files."""
    files = dict(certificate())
    name = "index.json"
    if draw.random() < 0.3:
        name = draw.choice(sorted(files))
        files[name] = anything(draw) if draw.random() < 0.5 else spoilt(files[name], draw)
        if name.endswith("json"):
            files[name] = broken_json(json.loads(certificate()[name]), draw)
    index = json.loads(certificate()["index.json"])
    if name != "index.json":
        for entry in index["files"]:
            data = files[entry["name"]]
            entry |= {"size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        files["index.json"] = sealed(index)
    else:
        changed = bent(index, draw)
        files[name] = draw.choice([sealed, json_text])(changed)
        if draw.random() < 0.2:
            files[name] = spoilt(files[name], draw)
    return Case(("audit", "proof", "--quiet", "--workers", "1"), placed(files))


def placed(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The files of a certificate in its folder."""
    return {f"proof/{file}": data for file, data in files.items()}


def sealed(document: Any) -> bytes:
    """An index with the hash that it should have, as a careful forger writes it."""
    if not isinstance(document, dict):
        return json_text(document)
    plain = {key: value for key, value in document.items() if key != "sha256"}
    text = json.dumps(plain, indent=1, ensure_ascii=False)
    seal = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
    return written(json.dumps(plain | {"sha256": seal}, indent=1, ensure_ascii=False) + "\n")


def recipe_case(draw: Random) -> Case:
    """A recipe. Always one that cannot be used: of others a build begins, which takes its time."""
    data = broken_toml(RECIPE, draw) + b"\n[nothing]\n"
    command = ("library", "build", "bad.toml", "--store", "gates.sqlite", "--quiet")
    return Case((*command, "--time-limit", "1"), {"bad.toml": data})


KINDS: Mapping[str, Callable[[Random], Case]] = {
    "layout": layout_case,
    "drawing": drawing_case,
    "list": list_case,
    "specification": spec_case,
    "rules": rules_case,
    "names": names_case,
    "words": words_case,
    "journal": journal_case,
    "census journal": census_journal_case,
    "functions": functions_case,
    "certificate": certificate_case,
    "recipe": recipe_case,
    "circuit": circuit_case,
}
"""A maker of cases for every kind of document."""
