"""What is asked, and what smallest means."""

from __future__ import annotations

import click

from synth import defaults
from synth.cli.shared.completing import files, measures, one_of
from synth.cli.shared.option import ASKED, SMALLEST, Option
from synth.cli.shared.rows.common import ASKING, AXES, FACES, JOINTS, OF_SPEC
from synth.cli.shared.rows.limits import LIMITS, LIMITS_OF_A_CENSUS

ASKING_ROWS: tuple[Option, ...] = (
    *LIMITS,
    Option(
        ("--top",),
        ("build",),
        ASKED,
        "Of a circuit in Verilog: the module, where the file has several.",
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
        ("--balance",),
        ("build",),
        ASKED,
        "Make all outputs settle at the same tick.",
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
    *LIMITS_OF_A_CENSUS,
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
        ("--pins",),
        ("build",),
        ASKED,
        "Where pins may be: free (on any side) or ends (inputs on the side -x, outputs on the side "
        "+x).",
        "WHERE",
        "free",
        "free",
        kind=click.Choice(["free", "ends"]),
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
        ("--fits",),
        ("library find",),
        ASKED,
        "In place of SPEC: list every function with a layout that fits this box: length, width and "
        "height in cells, such as 3x2x4.",
        "SIZE",
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
        ("--minimize",),
        ("solve", "prove", "shrink"),
        SMALLEST,
        "What to make small: volume, floor, length, width, height, delay, parts; of a chain "
        "also link, the delay of its links (not with a store or a certificate). Repeat it, or "
        "separate them by commas; the first counts most.",
        "MEASURE",
        ",".join(defaults.MEASURES),
        multiple=True,
        complete=one_of(measures, listed=True),
    ),
    Option(
        ("--minimize",),
        ("library find",),
        SMALLEST,
        "What to make small: volume, floor, length, width, height, delay, parts. Repeat it, or "
        "separate them by commas; the first counts most.",
        "MEASURE",
        ",".join(defaults.MEASURES),
        multiple=True,
        complete=one_of(measures, listed=True),
    ),
    Option(
        ("--minimize",),
        ("census",),
        SMALLEST,
        "What to make small: volume, floor, length, width, height, delay. Repeat it, or "
        "separate them by commas; the first counts most.",
        "MEASURE",
        ",".join(defaults.MEASURES),
        multiple=True,
        complete=one_of(measures, listed=True),
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
)
