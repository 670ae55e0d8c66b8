"""Reads a circuit from a file; the ending says how it is written."""

from __future__ import annotations

from pathlib import Path

from synth import fields
from synth.circuits.circuit import Circuit
from synth.circuits.reading.aiger import parse_aiger
from synth.circuits.reading.blif import parse_blif
from synth.circuits.reading.equations import parse_equations
from synth.circuits.reading.verilog import read_verilog
from synth.errors import InputError
from synth.files import read_bytes, read_text

KINDS = {
    ".v": "Verilog",
    ".blif": "BLIF",
    ".aag": "AIGER",
    ".aig": "AIGER",
    ".eqn": "equations",
}
"""What each ending stands for."""

MOST_BYTES = 4 * 1024 * 1024
"""Longest file of a circuit that is read."""


def read_circuit(path: str | Path, *, top: str | None = None) -> Circuit:
    """The circuit in a file, named after it.

    Args:
        path: a file that ends in ``.v``, ``.blif``, ``.aag``, ``.aig`` or ``.eqn``.
        top: of Verilog: the module, where there are several.

    Raises:
        InputError: naming file and line.
    """
    ending = Path(path).suffix.lower()
    if Path(path).is_dir():
        raise InputError("is a directory", file=str(path), way_out="name a file in it")
    if ending not in KINDS:
        known = ", ".join(f"{end} ({kind})" for end, kind in KINDS.items())
        raise InputError(
            f"no kind of circuit is known by the ending {ending!r}",
            file=str(path),
            way_out=f"end the name in one of {known}",
        )
    if top is not None and ending != ".v":
        raise InputError(
            f"there are no modules in {KINDS[ending]} to choose {fields.shown(top)} from",
            file=str(path),
            place="--top",
            way_out="leave it out, or give Verilog, whose name ends in .v",
        )
    name = Path(path).stem
    try:
        circuit = _read(Path(path), ending, name, top)
        for word in (circuit.name, *circuit.inputs, *circuit.outputs):
            fields.line(word, "names")
    except InputError as error:
        raise error if error.file else error.in_file(str(path)) from None
    return circuit


def _read(path: Path, ending: str, name: str, top: str | None) -> Circuit:
    if KINDS[ending] == "AIGER":
        return parse_aiger(read_bytes(path, MOST_BYTES), name)
    text = read_text(path, MOST_BYTES)
    if ending == ".v":
        return read_verilog(text, top=top, name=name)
    return parse_blif(text, name) if ending == ".blif" else parse_equations(text, name)
