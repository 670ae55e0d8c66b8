"""Answers as rows of the store, and rows as entries."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import UTC, datetime
from typing import Any

from synth.library.answer import Answer
from synth.library.canonical import Canonical, function_key
from synth.library.columns import require_row
from synth.library.entry import BeyondSize, Entry
from synth.library.words import expressions
from synth.printable import cleaned
from synth.questions.outcome import Status

ENTRY_NAMES = tuple(item.name for item in fields(Entry) if item.name != "beyond")
_MINIMIZE, _PROVEN, _STATUS = map(ENTRY_NAMES.index, ("minimize", "proven", "status"))

BEYOND_NAMES = tuple(item.name for item in fields(BeyondSize))

ENTRY_COLUMNS = ", ".join(
    [f'"{name}"' for name in ENTRY_NAMES] + [f"beyond_{name}" for name in BEYOND_NAMES]
)
"""The columns of an entry, in the order of its attributes; those of what lies beyond come last."""

ENTRY_TABLES = (
    "results LEFT JOIN (SELECT number, "
    + ", ".join(f"{name} AS beyond_{name}" for name in BEYOND_NAMES)
    + " FROM beyond) USING (number)"
)
"""What to select them from."""


def row_of(asked: Canonical, answer: Answer) -> dict[str, Any]:
    """The columns of a result, except its number and name."""
    function = asked.spec.function
    layout = answer.layout
    length, width, height = layout.size if layout else (None, None, None)
    joints = {str(asked.spec.joint(name)) for name in asked.spec.pin_names}
    return {
        "key": asked.key,
        "asked": json.dumps(asked.document(), separators=(",", ":")),
        "function_key": function_key(function),
        "inputs": len(function.inputs),
        "outputs": len(function.outputs),
        "function": "; ".join(expressions(function)),
        "table": " ".join(function.outputs.values()),
        "stack": asked.spec.stack.axis if asked.spec.stack else "",
        "joints": joints.pop() if len(joints) == 1 else "mixed",
        "minimize": ",".join(asked.minimize),
        "delay_asked": asked.spec.limits.delay,
        "status": str(answer.status),
        "proven": int(answer.proven),
        "length": length,
        "width": width,
        "height": height,
        "volume": layout and layout.size[0] * layout.size[1] * layout.size[2],
        "floor": layout and layout.size[0] * layout.size[1],
        "parts": layout and layout.part_count,
        "delay": answer.delay,
        "bound": answer.bound,
        # A reason may quote any text.
        "claim": cleaned(answer.claim),
        "proof": answer.proof,
        "solver": answer.solver,
        "seed": answer.seed,
        "seconds": answer.seconds,
        "version": answer.version,
        "made": answer.made or datetime.now(UTC).date().isoformat(),
    }


def entry_of(row: tuple[Any, ...], file: str) -> Entry:
    """The entry of a row that holds ``ENTRY_COLUMNS``, with text that is fit to be shown.

    A list makes thousands of them, so this has to be quick.

    Raises:
        InputError: naming the store, the row and the column, if a value is not valid there.
    """
    own, beyond = row[: len(ENTRY_NAMES)], row[len(ENTRY_NAMES) :]
    require_row("results", ENTRY_NAMES, own, file=file, number=row[0])
    values: list[Any] = [cleaned(value) if isinstance(value, str) else value for value in own]
    values[_MINIMIZE] = tuple(values[_MINIMIZE].split(","))
    values[_PROVEN] = values[_PROVEN] == 1
    values[_STATUS] = Status(values[_STATUS])
    if None not in beyond:
        require_row("beyond", BEYOND_NAMES, beyond, file=file, number=row[0])
        values.append(BeyondSize(*beyond))
    return Entry(*values)
