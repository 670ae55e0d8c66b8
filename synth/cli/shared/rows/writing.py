"""What to write, where to, and how much of it."""

from __future__ import annotations

import click

from synth.cli.shared.completing import files, folders
from synth.cli.shared.option import WRITTEN, Option
from synth.cli.shared.rows.common import SEARCHING
from synth.layout.drawing import DRAWING_ENDING

WRITTEN_ROWS: tuple[Option, ...] = (
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
        ("--plot",),
        ("solve", "prove"),
        WRITTEN,
        "Draw the best layout and the bound over time to this file (.svg or .png). May be "
        "repeated.",
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
        ("--json",),
        ("audit",),
        WRITTEN,
        "Print only the report as a JSON document.",
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
)
