"""Why Verilog is refused, in words of ours, with the line.

Some of it is seen in the source, the rest in what the synthesis tool says and in the cells that it
finds: registers, latches and the like, each with its place in the source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from synth.circuits.reading.names import error_at
from synth.errors import InputError

_MESSAGE = re.compile(
    r"^(?:\S*?source\.v:(?P<line>\d+)[^:]*: )?ERROR: ?(?P<text>.*)$", re.MULTILINE
)
_UNDRIVEN = re.compile(
    r"^Warning: Wire \S*?\\(?P<wire>\S+).* is used but has no driver", re.MULTILINE
)
_LOOP = re.compile(r"^Warning: found logic loop in module.*", re.MULTILINE | re.DOTALL)
_DRIVERS = re.compile(r"^Warning: multiple conflicting drivers for (\S+?):", re.MULTILINE)
_MISSING = re.compile(r"Module `\\?(\S+)' referenced in")
_SOURCE = re.compile(r"source\.v:(\d+)")
_CELL = re.compile(r"cell \$(\w+)")
_ASSIGNED = re.compile(r"\bassign\s+([A-Za-z_][A-Za-z0-9_$]*)\s*=")
_FLOATING = re.compile(r"'\s*[bohBOH]\s*[0-9a-fA-F_]*[zZ]")

_COMBINATIONAL = "give one combinational module of IEEE Std 1364"
_STATELESS = "give one that keeps no state: layouts are made of combinational circuits only"


def refuse_by_source(bare: str) -> None:
    """Refuse what can be seen in the source without comments; lines are those of the file.

    Raises:
        InputError: naming the line.
    """
    if not re.search(r"\bmodule\b", bare):
        raise InputError("holds no module", way_out=_COMBINATIONAL)
    for number, line in enumerate(bare.split("\n"), start=1):
        if "`include" in line:
            raise error_at(number, "`include is not read", "put the text of that file here")
        if re.search(r"\binout\b", line):
            raise error_at(
                number, "an inout port is both input and output", "make it an input or an output"
            )
        if _FLOATING.search(line) and not re.search(r"\bcase[xz]\b", bare):
            raise _floating(number)


def _floating(line: int | None) -> InputError:
    return _at(
        line, "drives z: a wire of the medium is on or off", "give it a value of 0 or 1 instead"
    )


def _at(line: int | None, problem: str, way_out: str) -> InputError:
    if line is None:
        return InputError(problem, way_out=way_out)
    return error_at(line, problem, way_out)


def refuse_cells(found: str) -> None:
    """Refuse cells that are no logic.

    Args:
        found: what the tool tells of them, with their attributes before each.

    Raises:
        InputError: naming the line of the first.
    """
    for kind, line in _cells(found):
        if kind == "tribuf":
            raise _floating(line)
        if "latch" in kind or kind == "sr":
            raise _at(
                line,
                "a latch: a signal keeps its value on some way through here; the circuit is "
                "sequential",
                "give the signal a value on every way",
            )
        if "ff" in kind:
            raise _at(line, "a register: the circuit is sequential", _STATELESS)
        if kind.startswith("mem"):
            raise _at(line, "a memory: the circuit is sequential", _STATELESS)
        what = {"print": "$display", "check": "an assertion"}.get(kind, f"${kind}")
        raise _at(line, f"{what} is no logic", "leave it out")


def _cells(found: str) -> Iterator[tuple[str, int | None]]:
    """The kind and line of each cell."""
    line: int | None = None
    for text in found.split("\n"):
        source = _SOURCE.search(text)
        if "attribute \\src" in text and source is not None:
            line = int(source[1])
        cell = _CELL.search(text)
        if cell is not None and text.lstrip().startswith("cell"):
            yield cell[1], line
            line = None


def refusal(said: str, bare: str) -> InputError:
    """What the tool says, in words of ours where it is about the circuit itself.

    Args:
        said: all of it.
        bare: the source without comments.
    """
    undriven = _UNDRIVEN.search(said)
    if undriven is not None:
        wire = undriven["wire"].rstrip(".")
        return _at(
            _line_of(wire, bare),
            f"the net {wire!r} is used, but nothing drives it",
            "drive it, or make it an input",
        )
    loop = _LOOP.search(said)
    if loop is not None:
        place = _SOURCE.search(loop[0])
        return _at(
            None if place is None else int(place[1]),
            "the module has a loop of logic",
            "break it: layouts are made of combinational circuits only",
        )
    drivers = _DRIVERS.search(said)
    if drivers is not None:
        return _driven_twice(said[drivers.start() :], bare)
    found = _MESSAGE.search(said)
    if found is None:
        return InputError("cannot be read as Verilog", way_out="check it with a simulator")
    missing = _MISSING.search(found["text"])
    if missing is not None:
        return _at(
            _line_of(missing[1], bare),
            f"no module {missing[1]!r}",
            "put it into the same file",
        )
    text = found["text"].replace("source.v", "the file").rstrip(".!\n")
    text = re.sub(r"`\\?([^']*)'", r"'\1'", text)
    text = re.sub(r"TOK_(\w+)", lambda token: f"'{token[1].lower()}'", text)
    return _at(None if found["line"] is None else int(found["line"]), text, _COMBINATIONAL)


def _driven_twice(said: str, bare: str) -> InputError:
    """A net of several drivers: the one that is assigned twice, if that can be seen."""
    way_out = "give each signal one source"
    first: dict[str, int] = {}
    for found in _ASSIGNED.finditer(bare):
        line = bare.count("\n", 0, found.start()) + 1
        if found[1] in first:
            return error_at(
                line,
                f"{found[1]!r} is driven a second time (first in line {first[found[1]]})",
                way_out,
            )
        first[found[1]] = line
    place = _SOURCE.search(said)
    return _at(None if place is None else int(place[1]), "a net has several drivers", way_out)


def _line_of(name: str, bare: str) -> int | None:
    """The first line that mentions a name, without the instances that it lies in."""
    last = re.split(r"[.\[]", name.split(".")[-1])[0]
    found = re.search(rf"(?<![\w$]){re.escape(last)}(?![\w$])", bare)
    return None if found is None else bare.count("\n", 0, found.start()) + 1
