"""Specification documents: the TOML a specification is written in.

```toml
name = "sum_bit"             # optional, as is: description = "one line"
inputs = ["a", "b"]          # may be left out with expressions: in order of appearance
ground = false               # optional; section 8
joint = "wire"               # optional: what stands outside every pin that does not say

[outputs]                    # operators of IEEE 1364: ~ & | ^ ~^ ?: and 1'b0 1'b1
q = "a ^ b"

# or, instead of the [outputs] table, above the first [section]:
# outputs = ["q"]
# table = ["00 0", "01 1", "10 1", "11 0"]   # inputs, then outputs; '-' = don't care, in
#                                              outputs only; every input row exactly once

[limits]                     # every one optional: length width height volume floor parts delay
                             # link_delay
length = 5
width = 2
height = 5
delay = 2

[stack]
axis = "y"                   # and, optional: pitch = 2

# [[chain]]                  # optional: an output of each copy is an input of the next
# from = "co"                #   (section 11); link_delay = 2 under [limits] bounds its ticks
# to = "ci"

[pins]                       # every one optional: which faces, which cell, which joint
a = { faces = ["-x"] }
b = { at = [0, 1, 2], faces = ["-x"] }
q = { faces = ["+x"], joint = "buffer" }

[cells]                      # optional; only with all three sizes given
empty = [[0, 0, 4]]
fixed = [{ at = [1, 0, 0], part = "solid" }]
```
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields as fields_of
from pathlib import Path
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.medium import AXES, LEVEL_DIRECTIONS, Block, Cell, ChainLink, Joint
from synth.medium_document import read_block, read_cell, read_direction, read_joint, read_toml
from synth.spec.checks import check_spec
from synth.spec.demands import chained, with_limits
from synth.spec.expression import check_inputs, parse_function, parse_outputs
from synth.spec.function import BooleanFunction
from synth.spec.spec import Limits, PinDemand, Spec, StackDemand
from synth.spec.writing import spec_document, write_spec

__all__ = ["load_spec", "parse_spec", "read_spec", "spec_document", "write_spec"]

_KEYS = (
    "name",
    "description",
    "inputs",
    "outputs",
    "table",
    "ground",
    "joint",
    "limits",
    "stack",
    "chain",
    "pins",
    "cells",
)
_LIMITS = tuple(item.name for item in fields_of(Limits))


def parse_spec(text: str, **limits: Any) -> Spec:
    """A specification from text: ``q = a ^ b; c = a & b``.

    Args:
        text: one assignment for each output; see ``synth.spec.expression``.
        limits: what is asked besides; see ``synth.spec.demands.with_limits``.

    Raises:
        InputError: with the column, for what is no function; naming the limit otherwise.
    """
    inputs = limits.pop("inputs", None)
    names = None if inputs is None else fields.words(inputs, "inputs")
    return with_limits(Spec(parse_function(text, names)), **limits)


def load_spec(path: str | Path) -> Spec:
    """Read a specification file (TOML).

    Raises:
        InputError: naming the file, the place in it (line and column where it is no TOML) and
            what to write instead.
    """
    return read_spec(read_toml(path), file=str(path))


def read_spec(document: Mapping[str, Any], file: str | None = None) -> Spec:
    """A specification from its document; errors name ``file``.

    Raises:
        InputError: naming the place and what to write instead, if keys are unknown or missing,
            values are of a wrong kind, or what is asked does not agree with itself.
    """
    try:
        return _read(fields.table(document, None))
    except InputError as error:
        if file is None:
            raise
        raise error.in_file(file) from None


def _read(document: Mapping[str, Any]) -> Spec:
    fields.check_keys(document, _KEYS, None)
    function = _read_function(document)
    empty, fixed = _read_cells(document.get("cells", {}))
    name = document.get("name")
    chain = _read_chain(document.get("chain", []))
    spec = Spec(
        function=function,
        limits=_read_limits(document.get("limits", {})),
        pins=_read_pins(document, function, chain),
        stack=chained(_read_stack(document.get("stack")), chain),
        ground=fields.flag(document.get("ground", False), "ground"),
        empty=empty,
        fixed=fixed,
        name=None if name is None else fields.line(name, "name"),
        description=fields.line(document.get("description", ""), "description"),
    )
    return check_spec(spec)


def _read_function(document: Mapping[str, Any]) -> BooleanFunction:
    if "outputs" not in document:
        raise InputError(
            "the outputs are missing",
            way_out='add [outputs] with an expression each, or outputs = ["q"] and a table',
        )
    inputs = document.get("inputs")
    names = None if inputs is None else fields.items(inputs, "inputs")
    outputs = document["outputs"]
    if isinstance(outputs, Mapping):
        if "table" in document:
            raise InputError(
                "a table beside expressions",
                place="table",
                way_out='leave it out, or list the outputs\' names: outputs = ["q"]',
            )
        if not outputs:
            raise _no_outputs()
        return parse_outputs(
            {q: fields.text(text, fields.under("outputs", q)) for q, text in outputs.items()},
            names,
        )
    return _read_table(document, names, _output_names(outputs))


def _output_names(value: object) -> tuple[str, ...]:
    if not isinstance(value, list | tuple):
        raise InputError(
            f"{fields.shown(value)} does not list outputs",
            place="outputs",
            way_out='use [outputs] with an expression each, or outputs = ["q"] and a table',
        )
    if not value:
        raise _no_outputs()
    names: list[str] = []
    for index, entry in enumerate(value):
        place = fields.under("outputs", index)
        name = fields.name(entry, place)
        if name in names:
            raise InputError(
                f"the output {name!r} is listed twice", place=place, way_out="keep one of them"
            )
        names.append(name)
    return tuple(names)


def _no_outputs() -> InputError:
    return InputError("no outputs", place="outputs", way_out="name at least one")


def _read_table(
    document: Mapping[str, Any], inputs: Any, outputs: tuple[str, ...]
) -> BooleanFunction:
    for key, listed in (("inputs", inputs), ("table", document.get("table"))):
        if listed is None:
            raise InputError(
                f"outputs are listed by name, and the key {key!r} is missing",
                way_out="give inputs, outputs and a table, or [outputs] with expressions",
            )
    names = check_inputs(inputs, outputs)
    rows: dict[int, tuple[str, int]] = {}
    count = 1 << len(names)
    for index, entry in enumerate(fields.items(document["table"], "table")):
        place = fields.under("table", index)
        before, after = _split_row(fields.text(entry, place), len(names), len(outputs), place)
        row = int(before or "0", 2)
        if row in rows:
            raise InputError(
                f"the row {before!r} stands twice",
                place=place,
                way_out=f"keep this one or table[{rows[row][1]}]",
            )
        rows[row] = (after, index)
    missing = [format(row, f"0{len(names)}b") for row in range(count) if row not in rows]
    if missing:
        more = f" and {len(missing) - 1} more" if len(missing) > 1 else ""
        raise InputError(
            f"no row for the inputs {missing[0]!r}{more}",
            place="table",
            way_out=f"give each of the {count} input rows once; '-' in an output is a don't care",
        )
    columns = {
        name: "".join(rows[row][0][index] for row in range(count))
        for index, name in enumerate(outputs)
    }
    return BooleanFunction(names, columns)


def _split_row(row: str, inputs: int, outputs: int, place: str) -> tuple[str, str]:
    parts = row.split()
    if [len(part) for part in parts] != ([inputs, outputs] if inputs else [outputs]):
        raise InputError(
            f"the row {fields.shown(row)} does not fit {inputs} inputs and {outputs} outputs",
            place=place,
            way_out="write one digit per input, a space, and one digit per output: '01 1'",
        )
    before, after = parts[0] if inputs else "", parts[-1]
    if set(before) - set("01") or set(after) - set("01-"):
        raise InputError(
            f"the row {fields.shown(row)} has other characters than 0 and 1",
            place=place,
            way_out="use 0 and 1, and - for a don't care in outputs only",
        )
    return before, after


def _read_limits(value: object) -> Limits:
    entry = fields.table(value, "limits")
    fields.check_keys(entry, _LIMITS, "limits")
    return Limits(**entry)


def _read_stack(value: object) -> StackDemand | None:
    if value is None:
        return None
    entry = fields.table(value, "stack")
    fields.check_keys(entry, ("axis", "pitch"), "stack", required=("axis",))
    pitch = entry.get("pitch")
    return StackDemand(
        fields.choice(entry["axis"], AXES, "stack.axis", "axis"),
        None if pitch is None else fields.whole(pitch, "stack.pitch", low=1),
    )


def _read_chain(value: object) -> tuple[ChainLink, ...]:
    links = []
    for index, listed in enumerate(fields.items(value, "chain")):
        place = fields.under("chain", index)
        entry = fields.table(listed, place)
        fields.check_keys(entry, ("from", "to"), place, required=("from", "to"))
        ends = (fields.name(entry[key], fields.under(place, key)) for key in ("from", "to"))
        links.append(ChainLink(*ends))
    return tuple(links)


def _read_pins(
    document: Mapping[str, Any], function: BooleanFunction, chain: tuple[ChainLink, ...]
) -> dict[str, PinDemand]:
    entries = fields.table(document.get("pins", {}), "pins")
    joint = read_joint(document["joint"], "joint") if "joint" in document else None
    names = (*function.inputs, *function.outputs)
    for name in entries:
        if name not in names:
            raise InputError(
                f"no input or output {fields.shown(name)}",
                place=fields.under("pins", name),
                way_out=fields.suggestion(name, names, "the pins are"),
            )
    linked = {name for link in chain for name in (link.output, link.input)}
    return {
        name: _read_pin(entries.get(name, {}), f"pins.{name}", None if name in linked else joint)
        for name in names
    }


def _read_pin(value: object, place: str, joint: Joint | None) -> PinDemand:
    entry = fields.table(value, place)
    fields.check_keys(entry, ("faces", "at", "joint"), place)
    faces = None
    if "faces" in entry:
        at = fields.under(place, "faces")
        listed = fields.items(entry["faces"], at)
        faces = tuple(
            read_direction(face, LEVEL_DIRECTIONS, fields.under(at, index))
            for index, face in enumerate(listed)
        )
    cell = read_cell(entry["at"], fields.under(place, "at")) if "at" in entry else None
    if "joint" in entry:
        joint = read_joint(entry["joint"], fields.under(place, "joint"))
    return PinDemand(faces, cell, joint)


def _read_cells(value: object) -> tuple[frozenset[Cell], dict[Cell, Block]]:
    entry = fields.table(value, "cells")
    fields.check_keys(entry, ("empty", "fixed"), "cells")
    empty: set[Cell] = set()
    for index, listed in enumerate(fields.items(entry.get("empty", []), "cells.empty")):
        place = fields.under("cells.empty", index)
        cell = read_cell(listed, place)
        if cell in empty:
            raise InputError(
                f"the cell {list(cell)} is listed twice", place=place, way_out="keep one of them"
            )
        empty.add(cell)
    fixed: dict[Cell, Block] = {}
    for index, listed in enumerate(fields.items(entry.get("fixed", []), "cells.fixed")):
        place = fields.under("cells.fixed", index)
        cell, block = read_block(listed, place)
        if cell in fixed:
            raise InputError(
                f"two parts at {list(cell)}: {fixed[cell]} and {block}",
                place=fields.under(place, "at"),
                way_out="keep one of them",
            )
        fixed[cell] = block
    return frozenset(empty), fixed
