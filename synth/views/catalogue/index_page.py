"""The first page: every gate in a table that can be searched, filtered and sorted.

Without a script it is a plain table with links. The script finds all numbers it needs in the
page, for a page that is a file may not fetch another.
"""

from __future__ import annotations

from collections.abc import Sequence

from synth.views.catalogue.gates import Gate, Item, short
from synth.views.catalogue.words import NOTHING, stack_text
from synth.views.templating import render, script_json

_COLUMNS = (
    # key, heading, unit, what it is called in a list
    ("gate", "Gate", "", "gate"),
    ("inputs", "Inputs", "", "inputs"),
    ("outputs", "Outputs", "", "outputs"),
    ("volume", "Smallest", "cells", "volume of the smallest"),
    ("volume-delay", "its delay", "ticks", "delay of the smallest"),
    ("delay", "Fastest", "ticks", "delay of the fastest"),
    ("delay-volume", "its volume", "cells", "volume of the fastest"),
    ("layouts", "Layouts", "", "layouts"),
    ("proof", "Proof", "", "proof"),
)

_PROOFS = (
    ("proven", "smallest"),
    ("open", "best known"),
    ("none", "without any layout"),
)


def index_html(gates: Sequence[Gate], title: str) -> str:
    """The index of the gates, in their order."""
    stacks = sorted({item.entry.stack for gate in gates for item in gate.layouts})
    joints = sorted({item.entry.joints for gate in gates for item in gate.layouts})
    return render(
        "catalogue/index.html",
        root="",
        title=title,
        summary=_summary(gates),
        choices=_choices(gates, stacks, joints),
        columns=_COLUMNS,
        rows=[_row(gate) for gate in gates],
        data=script_json({"rows": [_numbers(gate, stacks, joints) for gate in gates]}),
    )


def _summary(gates: Sequence[Gate]) -> str:
    layouts = sum(len(gate.layouts) for gate in gates)
    proven = sum(item.entry.proven for gate in gates for item in gate.layouts)
    gates_word = "gate" if len(gates) == 1 else "gates"
    return (
        f"{len(gates)} {gates_word}, {layouts} layout{'s' * (layouts != 1)}, "
        f"{proven} of them the smallest under the limits asked."
    )


def _row(gate: Gate) -> dict[str, object]:
    """The row of one gate; the script only hides it, moves it and changes its figures."""
    lines = [short(line, 90) for line in gate.lines[:3] or gate.columns]
    more = len(gate.lines) - len(lines)
    if more > 0:
        lines.append(f"and {more} more outputs")
    cells = [
        ("inputs", gate.inputs),
        ("outputs", len(gate.columns)),
        ("volume", _figure(gate.smallest, "volume")),
        ("volume-delay", _figure(gate.smallest, "delay")),
        ("delay", _figure(gate.fastest, "delay")),
        ("delay-volume", _figure(gate.fastest, "volume")),
        ("layouts", len(gate.layouts)),
        ("proof", _proof(gate)),
    ]
    picture = None if gate.face is None else f"layouts/{gate.face.number}-space.svg"
    return {
        "slug": gate.slug,
        "title": gate.title,
        "lines": lines,
        "cells": cells,
        "picture": picture,
    }


def _figure(item: Item | None, measure: str) -> object:
    return NOTHING if item is None else getattr(item.entry, measure)


def _proof(gate: Gate) -> str:
    """What is known of a gate's layouts, in a few words.

    The script writes the same words for the layouts that a filter leaves, but never changes
    those of a gate without any layout.
    """
    count, proven = len(gate.layouts), sum(item.entry.proven for item in gate.layouts)
    if not count:
        # That no layout is known does not prove that there is none.
        if gate.beyond:
            return "beyond the limits asked"
        return "no layout" if all(item.entry.proven for item in gate.others) else "undecided"
    if proven == count:
        return "smallest"
    return f"{proven} of {count} smallest" if proven else "best known"


def _numbers(gate: Gate, stacks: Sequence[str], joints: Sequence[str]) -> list[object]:
    """What the script knows of a gate: text to search, inputs, outputs, layouts, columns."""
    words = " ".join([*gate.names, gate.title, *gate.expressions, *gate.columns])
    return [
        words.lower(),
        gate.inputs,
        len(gate.columns),
        [_layout_numbers(item, stacks, joints) for item in gate.layouts],
        " ".join(gate.columns),
    ]


def _layout_numbers(item: Item, stacks: Sequence[str], joints: Sequence[str]) -> list[object]:
    entry = item.entry
    return [
        entry.delay,
        entry.volume,
        entry.floor,
        entry.width,
        stacks.index(entry.stack),
        joints.index(entry.joints),
        int(entry.proven),
    ]


def _choices(
    gates: Sequence[Gate], stacks: Sequence[str], joints: Sequence[str]
) -> list[tuple[str, str, list[tuple[object, str]]]]:
    """The filters that offer only values that occur: name, label, and values with their words."""
    items = [item for gate in gates for item in gate.layouts]
    inputs = sorted({gate.inputs for gate in gates})
    outputs = sorted({len(gate.columns) for gate in gates})
    delays = sorted({item.entry.delay for item in items if item.entry.delay is not None})
    widths = sorted({item.entry.width for item in items if item.entry.width is not None})
    return [
        ("inputs", "Inputs", [(n, str(n)) for n in inputs]),
        ("outputs", "Outputs", [(n, str(n)) for n in outputs]),
        ("delay", "Delay", [(n, f"at most {n}") for n in delays]),
        ("width", "Width", [(n, f"at most {n}") for n in widths]),
        ("stack", "Stacking", [(i, stack_text(s)) for i, s in enumerate(stacks)]),
        ("joint", "Joints", [(i, j or "free") for i, j in enumerate(joints)]),
        ("proof", "Proof", list(_PROOFS)),
    ]
