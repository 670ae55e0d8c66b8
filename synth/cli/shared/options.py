"""The options of the commands that search: one table, from which commands, help and docs are made.

A row says how an option is called, what it may be, what it is where nobody says, what it means, and
which commands have it. A command takes all of its rows with ``@options("solve")``; a new command
(``gatefit frontier`` is the model) only has to be named in the rows that it wants.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import click

from synth import defaults
from synth.cli.shared.completing import (
    accelerations,
    files,
    folders,
    measures,
    one_of,
    solvers,
)
from synth.cli.shared.option import Option
from synth.layout.drawing import DRAWING_ENDING

ASKED = "What is asked"
SMALLEST = "What smallest means"
SEARCH = "How to search"
WRITTEN = "What to write"
GROUPS = (ASKED, SMALLEST, SEARCH, WRITTEN)
"""The groups of ``--help``, in their order."""

INSULATORS = ("solid", "ledge", "clear")
FACES = ("-x", "+x", "-y", "+y")
JOINTS = ("wire", "buffer")
AXES = ("x", "y", "z")

SEARCHING = ("solve", "frontier")
"""Commands that search for one function."""

OF_SPEC = (*SEARCHING, "library find", "prove", "shrink")
"""Commands that take a function and limits."""

ASKING = (*OF_SPEC, "census")
"""Commands that take limits, and what else is asked of a layout besides its function."""


def _limit(name: str, unit: str, meaning: str) -> Option:
    assumed = {**defaults.ASSUMED_SIZE, "delay": defaults.ASSUMED_DELAY}.get(name)
    default = "" if assumed is None else f"what SPEC says, else {assumed}"
    return Option((f"--{name}",), SEARCHING, ASKED, meaning, unit, default, kind=int)


def _known_limit(limit: Option) -> Option:
    """The same for what is known already: where nothing is asked, nothing is left out."""
    return replace(limit, commands=("library find",), default="")


_NOT_IN_A_CENSUS = ("--parts", "--link-delay")


def _census_limit(limit: Option) -> Option:
    """The same for a census, which no specification says anything to."""
    assumed = limit.default.rpartition(" ")[2]
    return replace(limit, commands=("census",), default=assumed)


def _kept_limit(limit: Option) -> Option:
    """The same where a layout is given: what nobody asks stays as it is."""
    return replace(limit, commands=("prove", "shrink"), default="what it has now")


_NO_MEASURE_OF_A_CIRCUIT = ("--floor", "--parts", "--link-delay")


def _circuit_limit(limit: Option) -> Option:
    """The same for a circuit that is built."""
    return replace(limit, commands=("build",), default="none")


_AT_ONCE = "one for each processor"
_STORE = (
    "A store of answers: what is known there is not searched again, and new answers are kept there."
)

_LIMITS = (
    _limit("length", "CELLS", "At most this many cells along x."),
    _limit("width", "CELLS", "At most this many cells along y."),
    _limit("height", "CELLS", "At most this many cells along z."),
    _limit("volume", "CELLS", "At most this many cells in the box: length x width x height."),
    _limit("floor", "CELLS", "At most this many cells on its floor: length x width."),
    _limit("parts", "CELLS", "At most this many cells that are not empty."),
    _limit("delay", "TICKS", "The outputs are right after at most this many ticks."),
    _limit(
        "link-delay",
        "TICKS",
        "Once what a chain hands on is there, its outputs are right after at most this many ticks.",
    ),
)

OPTIONS: tuple[Option, ...] = (
    *_LIMITS,
    *map(_known_limit, _LIMITS),
    *map(_kept_limit, _LIMITS),
    *(_circuit_limit(row) for row in _LIMITS if row.names[0] not in _NO_MEASURE_OF_A_CIRCUIT),
    Option(
        ("--top",),
        ("build",),
        ASKED,
        "Of Verilog: the module to build, where the file has several.",
        "MODULE",
    ),
    Option(
        ("--joint",),
        ("build",),
        ASKED,
        "What joins every pin from outside: wire or buffer.",
        "JOINT",
        "buffer",
        "buffer",
        complete=one_of(lambda: JOINTS),
    ),
    Option(
        ("--rules",),
        ("build",),
        ASKED,
        "A table of rules (TOML) in place of the medium's own: reach and buffer_delays.",
        "FILE",
        kind=click.Path(),
        complete=files(".toml"),
    ),
    Option(
        ("--by",),
        ("build",),
        SMALLEST,
        "What is to be small: area or delay.",
        "WHAT",
        "area",
        "area",
        complete=one_of(lambda: ("area", "delay")),
    ),
    Option(
        ("--time-limit",),
        ("build",),
        SEARCH,
        "Stop placing after this many seconds, with the best layout so far; it is then judged and "
        "proven.",
        "SECONDS",
        "60",
        60.0,
        kind=float,
    ),
    Option(
        ("--rounds",),
        ("build",),
        SEARCH,
        "Stop after this many placements in place of a time limit. Every run then gives the same "
        "layout.",
        "N",
        kind=int,
    ),
    Option(
        ("--seed",),
        ("build",),
        SEARCH,
        "Another seed begins with other placements.",
        "N",
        str(defaults.SEED),
        defaults.SEED,
        kind=int,
    ),
    Option(
        ("--resume",),
        ("build",),
        SEARCH,
        "Write every better layout to this file, and go on from the best that it holds.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".jsonl"),
    ),
    Option(
        ("--certificate",),
        ("build",),
        WRITTEN,
        "Write the circuit, the layout and the proof that they are equal to this folder, for "
        "'gatefit audit'.",
        "FOLDER",
        kind=click.Path(),
        complete=folders(),
    ),
    Option(
        ("--box",),
        ("census",),
        ASKED,
        "Look into this box alone: length, width and height in cells, such as 3x2x4.",
        "SIZE",
        "every box under the limits",
    ),
    Option(
        ("--inputs",),
        ("census",),
        ASKED,
        "The number of inputs of the functions, 1 to 4.",
        "N",
        "2",
        2,
        kind=int,
    ),
    Option(
        ("--outputs",),
        ("census",),
        ASKED,
        "The number of outputs of the functions, 1 to 4.",
        "N",
        "1",
        1,
        kind=int,
    ),
    Option(
        ("--functions",),
        ("census",),
        ASKED,
        "Look only for the functions that this file lists, a line each: a truth table, such as "
        "00010111, or text, such as q = a & b. A - in a table is a don't care.",
        "FILE",
        kind=click.Path(),
        complete=files(".txt"),
    ),
    Option(
        ("--idle-inputs",),
        ("census",),
        ASKED,
        "Count functions, too, that ignore some of their inputs.",
    ),
    *(_census_limit(limit) for limit in _LIMITS if limit.name not in _NOT_IN_A_CENSUS),
    Option(
        ("--stack",),
        ASKING,
        ASKED,
        "Copies of the layout can be stacked along this axis: x, y or z.",
        "AXIS",
        complete=one_of(lambda: AXES),
    ),
    Option(
        ("--pitch",),
        ASKING,
        ASKED,
        "Distance from one copy of the stack to the next.",
        "CELLS",
        "the size of the box",
        kind=int,
    ),
    Option(
        ("--chain",),
        OF_SPEC,
        ASKED,
        "Each copy of the stack hands this output to that input of the next: co:ci. Repeat it, or "
        "separate them by commas.",
        "OUTPUT:INPUT",
        multiple=True,
    ),
    Option(
        ("--joint",),
        OF_SPEC,
        ASKED,
        "What joins every pin from outside, but for a chain: wire or buffer.",
        "JOINT",
        "what SPEC says, else wire",
        complete=one_of(lambda: JOINTS),
    ),
    Option(
        ("--joint",),
        ("census",),
        ASKED,
        "What joins every pin from outside: wire or buffer.",
        "JOINT",
        "wire",
        complete=one_of(lambda: JOINTS),
    ),
    Option(("--ground",), ASKING, ASKED, "The layout stands on ground."),
    Option(
        ("--input-face",),
        ASKING,
        ASKED,
        "Faces of the box where inputs may be: -x, +x, -y, +y. Repeat it, or separate them by "
        "commas.",
        "FACE",
        multiple=True,
        complete=one_of(lambda: FACES, listed=True),
        parameter="input_faces",
    ),
    Option(
        ("--output-face",),
        ASKING,
        ASKED,
        "Faces of the box where outputs may be, in the same way.",
        "FACE",
        multiple=True,
        complete=one_of(lambda: FACES, listed=True),
        parameter="output_faces",
    ),
    Option(
        ("--rules",),
        (*ASKING, "repair"),
        ASKED,
        "A table of rules (TOML) in place of the medium's own: reach and buffer_delays.",
        "FILE",
        kind=click.Path(),
        complete=files(".toml"),
    ),
    Option(
        ("--minimize",),
        ("solve", "census", "library find", "prove", "shrink"),
        SMALLEST,
        "What to make small: volume, floor, length, width, height, delay, parts. Repeat it, or "
        "separate them by commas; the first counts most.",
        "MEASURE",
        ",".join(defaults.MEASURES),
        multiple=True,
        complete=one_of(measures, listed=True),
    ),
    Option(
        ("--pins",),
        ("shrink",),
        ASKED,
        "Where pins may go: fixed (each keeps its place on its face), face (anywhere on its face) "
        "or free (anywhere).",
        "WHERE",
        "fixed",
        "fixed",
        kind=click.Choice(["fixed", "face", "free"]),
    ),
    Option(
        ("--loosen",),
        ("prove",),
        ASKED,
        "What need not stay as the layout has it: faces (pins may be on any face) or stack (it "
        "need not stack). Repeat it, or separate them by commas. Limits on sizes and ticks have "
        "options of their own.",
        "WHAT",
        multiple=True,
        complete=one_of(lambda: ("faces", "stack"), listed=True),
    ),
    Option(
        ("--window",),
        ("repair",),
        ASKED,
        "Only these cells may change: x,y,z, or from one corner to another as x,y,z..x,y,z. Repeat "
        "it for more.",
        "CELLS",
        "every cell of the box",
        multiple=True,
    ),
    Option(
        ("--lock",),
        ("repair",),
        ASKED,
        "These cells stay as they are, given in the same way.",
        "CELLS",
        multiple=True,
        parameter="locks",
    ),
    Option(
        ("--axes",),
        ("frontier",),
        SMALLEST,
        "Two measures: find the smallest M for each value of N. N may be link, the delay of a "
        "chain's links.",
        "M,N",
        ",".join(defaults.AXES),
        multiple=True,
        complete=one_of(measures, listed=True),
    ),
    Option(
        ("--solver",),
        ("solve", "prove"),
        SEARCH,
        "The SAT solver, by its name in python-sat.",
        "NAME",
        f"{defaults.SOLVER}; {defaults.PROVING_SOLVER} with --certificate",
        complete=one_of(solvers),
    ),
    Option(
        ("--solver",),
        ("frontier", "census"),
        SEARCH,
        "The SAT solver, by its name in python-sat.",
        "NAME",
        defaults.SOLVER,
        complete=one_of(solvers),
    ),
    Option(
        ("--time-limit",),
        ("solve", "prove"),
        SEARCH,
        "Stop after this many seconds. The answer is then undecided, with the best layout so far.",
        "SECONDS",
        f"none; {defaults.ASSUMED_TIME_S:g} if sizes or the delay are left open",
        kind=float,
    ),
    Option(
        ("--time-limit",),
        ("frontier", "census"),
        SEARCH,
        "Stop after this many seconds. Whatever is open by then is shown as open.",
        "SECONDS",
        f"none; {defaults.ASSUMED_TIME_S:g} if sizes or the delay are left open",
        kind=float,
    ),
    Option(
        ("--time-limit",),
        ("library build",),
        SEARCH,
        "Stop after this many seconds. What is answered by then is kept.",
        "SECONDS",
        "none",
        kind=float,
    ),
    Option(
        ("--time-limit",),
        ("repair", "shrink"),
        SEARCH,
        "Stop after this many seconds, with the best layout so far.",
        "SECONDS",
        "60",
        60.0,
        kind=float,
    ),
    Option(
        ("--effort",),
        ("shrink",),
        SEARCH,
        "Stop after this many conflicts of the solver in place of a time limit. With one worker "
        "every run then gives the same layout.",
        "N",
        kind=click.IntRange(1),
    ),
    Option(
        ("--seed",),
        (*SEARCHING, "prove", "census", "shrink"),
        SEARCH,
        "The same seed gives the same layout; another one may give another of the same size.",
        "N",
        str(defaults.SEED),
        defaults.SEED,
        kind=int,
    ),
    Option(
        ("--prefer",),
        (*SEARCHING, "prove", "census"),
        SEARCH,
        "The part to use where any support would do: ledge, clear or solid.",
        "PART",
        defaults.PREFER,
        defaults.PREFER,
        complete=one_of(lambda: INSULATORS),
    ),
    Option(
        ("--workers",),
        (*SEARCHING, "prove", "census"),
        SEARCH,
        "How many processes search at the same time.",
        "N",
        f"{_AT_ONCE}, up to {defaults.MOST_WORKERS}",
        kind=click.IntRange(1, 64),
    ),
    Option(
        ("--workers",),
        ("shrink",),
        SEARCH,
        "How many windows are asked about at the same time; the first success wins.",
        "N",
        "1",
        1,
        kind=click.IntRange(1, 64),
    ),
    Option(
        ("--workers",),
        ("library build",),
        SEARCH,
        "How many questions are worked on at the same time, each in a process of its own.",
        "N",
        _AT_ONCE,
        kind=click.IntRange(1, 256),
    ),
    Option(
        ("--workers",),
        ("audit",),
        SEARCH,
        "How many proofs are checked at the same time.",
        "N",
        f"{_AT_ONCE}, up to {defaults.MOST_WORKERS}",
        kind=click.IntRange(1, 64),
    ),
    Option(
        ("--cluster",),
        ("library build",),
        SEARCH,
        "Work on the questions in a cluster: the address of its Dask scheduler, such as "
        "tcp://host:port.",
        "ADDRESS",
        parameter="address",
    ),
    Option(
        ("--advise",),
        ("solve",),
        SEARCH,
        "After the answer 'impossible', spend up to this many seconds finding out which limit "
        "makes it impossible. The answer is printed first; only --json waits for the advice.",
        "SECONDS",
        f"{defaults.ADVISE_S:g}; 0 with --json or --quiet",
        kind=click.FloatRange(min=0),
    ),
    Option(
        ("--store",),
        ("solve", "prove"),
        SEARCH,
        f"{_STORE} With --certificate, which wants proofs, answers are only kept.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".sqlite"),
        environment="GATEFIT_STORE",
    ),
    Option(
        ("--store",),
        ("frontier", "census"),
        SEARCH,
        _STORE,
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".sqlite"),
        environment="GATEFIT_STORE",
    ),
    Option(
        ("--resume",),
        ("solve", "prove"),
        SEARCH,
        "Write every step of the search to this file, and go on from the steps that it holds.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".jsonl"),
    ),
    Option(
        ("--resume",),
        ("census",),
        SEARCH,
        "Write every layout and every box that is complete to this file, and go on from those that "
        "it holds.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".jsonl"),
    ),
    Option(
        ("--resume",),
        ("shrink",),
        SEARCH,
        "Write every gain to this file, and go on from the best that it holds.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".jsonl"),
    ),
    Option(
        ("--without",),
        ("solve",),
        SEARCH,
        "Switch off something that makes the search quicker, to measure what it saves: symmetry, "
        "order, monotone, compared, sensitive, links, first-tick, last-tick, tallest, "
        "structure, above, least-delay. Repeat it, or separate them by commas.",
        "NAME",
        multiple=True,
        complete=one_of(accelerations, listed=True),
    ),
    Option(
        ("--plain",), ("solve",), SEARCH, "Switch all of them off. The answers stay the same."
    ),
    Option(
        ("--fits",),
        ("library find",),
        ASKED,
        "In place of SPEC: list every function with a layout that fits this box: length, width and "
        "height in cells, such as 3x2x4.",
        "SIZE",
    ),
    Option(
        ("--most",),
        ("library find",),
        WRITTEN,
        "Show at most this many layouts.",
        "N",
        "10",
        10,
        kind=click.IntRange(1),
    ),
    Option(
        ("-o", "--output"),
        ("build", "solve", "shrink", "prove", "repair"),
        WRITTEN,
        "Write the layout to this file: a drawing if it ends in .drawing, else JSON.",
        "FILE",
        complete=files(".json", DRAWING_ENDING),
    ),
    Option(
        ("-o", "--output"),
        ("census",),
        WRITTEN,
        "Write the census to this file (JSON), every layout included.",
        "FILE",
        complete=files(".json"),
    ),
    Option(
        ("-o", "--output"),
        ("library find",),
        WRITTEN,
        "Write the best layout to this file: a drawing if it ends in .drawing, else JSON.",
        "FILE",
        complete=files(".json", DRAWING_ENDING),
    ),
    Option(
        ("-o", "--output"),
        ("frontier",),
        WRITTEN,
        "Write the layouts, and frontier.json, which lists them, to this folder.",
        "FOLDER",
        complete=folders(),
    ),
    Option(
        ("--plot",),
        ("frontier",),
        WRITTEN,
        "Draw the frontier to this file (.svg or .png). May be repeated.",
        "FILE",
        multiple=True,
        complete=files(".svg", ".png"),
        parameter="plots",
    ),
    Option(
        ("--poster",),
        ("census",),
        WRITTEN,
        "Draw a poster of all functions to this file (.svg or .png). May be repeated.",
        "FILE",
        multiple=True,
        complete=files(".svg", ".png"),
        parameter="posters",
    ),
    Option(
        ("--plot",),
        ("shrink",),
        WRITTEN,
        "Draw the measure over time to this file (.svg or .png). May be repeated.",
        "FILE",
        multiple=True,
        complete=files(".svg", ".png"),
        parameter="plots",
    ),
    Option(
        ("--certificate",),
        ("solve", "prove"),
        WRITTEN,
        "Write the proofs of the answer to this folder, for 'gatefit audit'. If the search was "
        "stopped, the next one goes on from the proofs there.",
        "FOLDER",
        kind=click.Path(),
        complete=folders(),
    ),
    Option(
        ("--certificate",),
        ("census",),
        WRITTEN,
        "Write the layouts, and the proof that nothing else fits, to this folder, for 'gatefit "
        "audit'. If the census was stopped, the next one goes on from the proofs there.",
        "FOLDER",
        kind=click.Path(),
        complete=folders(),
    ),
    Option(
        ("--json",),
        (*SEARCHING, "build", "census", "library find", "shrink", "prove", "repair"),
        WRITTEN,
        "Print only the answer as a JSON document.",
        parameter="as_json",
    ),
    Option(
        ("--json",), ("audit",), WRITTEN, "Print only the report as a JSON document.",
        parameter="as_json",
    ),
    Option(
        ("--json",),
        ("library build",),
        WRITTEN,
        "Print every event as a line of JSON.",
        parameter="as_json",
    ),
    Option(
        ("--quiet",),
        (*SEARCHING, "audit", "build", "census", "library build", "shrink", "prove", "repair"),
        WRITTEN,
        "Print only the answer, in one line: no progress, and no remarks unless something failed.",
    ),
)  # fmt: skip
"""Every option of the commands that search; a name stands once for each command that has it."""


def options_of(command: str) -> list[Option]:
    """The rows of a command, in the order of the table."""
    return [row for row in OPTIONS if command in row.commands]


def options(
    command: str, *, grouped: bool = True
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Add all options of a command to it.

    Args:
        command: its name after ``gatefit``, as ``library find``.
        grouped: whether its help shows them in groups; a few options need none.
    """

    def add(function: Callable[..., Any]) -> Callable[..., Any]:
        for row in reversed(options_of(command)):
            function = row.click()(function)
        if grouped:
            groups = {row.name: row.group for row in options_of(command)}
            function.__dict__["groups"] = {"--store": SEARCH} | groups
        return function

    return add


def row(name: str) -> Option:
    """The first row of that long name."""
    return next(row for row in OPTIONS if row.name == name)
