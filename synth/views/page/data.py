"""What the page knows: the layout, what touches what, and the play worked out in advance.

All of it comes from the simulator, so that the page itself only looks things up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from synth.layout import Layout
from synth.medium import Block, Cell, Joint, Part, Role, Rules
from synth.simulator.explaining.moments import Moments, moments_of, playable
from synth.simulator.row import Row
from synth.simulator.verdict import Fault
from synth.views.judged import Judged
from synth.views.page.bodies import body_data
from synth.views.page.touches import Touches
from synth.views.titles import title_of as title_of_layout

DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
"""The first characters that stand for numbers in ``looks``; code points from 256 on follow."""

INERT = {
    Part.CLEAR: "See-through cube: never charged, stops no link, carries a wire.",
    Part.LEDGE: "Half-height see-through shelf: never charged, stops no link, carries a wire or "
    "a buffer.",
}
"""What there is to say of parts that have no power (section 2)."""


def numbers_of(layout: Layout, faults: Iterable[Fault]) -> dict[Cell, int]:
    """The number of each cell that the page knows.

    Cells that hold a part come first; then those outside the box, one for each pin in order of
    pins; then the empty cells that faults name.
    """
    cells = [*layout.cells, *(pin.outside for pin in layout.pins)]
    faulty = (fault.at for fault in faults)
    return {cell: index for index, cell in enumerate(dict.fromkeys((*cells, *faulty)))}


def page_data(layout: Layout, rules: Rules, judged: Judged) -> dict[str, Any]:
    """The data of the page, ready for JSON.

    Args:
        layout: the layout; if it is not legal, it is drawn but not played.
        rules: the rule table it is played with.
        judged: the verdict, and what was asked.

    Cells are numbered by ``numbers_of``.
    """
    number = numbers_of(layout, judged.verdict.faults)
    played = judged.verdict.legal and playable(layout)
    return still_data(layout, rules, number, judged.verdict.faults) | {
        "name": title_of_layout(layout, rules),
        "pieces": [
            {
                "title": piece.title,
                "name": piece.name,
                "kind": str(piece.kind),
                "reads": list(piece.reads),
                "box": [list(corner) for corner in piece.box],
                "cells": [number[cell] for cell in piece.cells],
            }
            for piece in layout.pieces
        ],
        "asked": None
        if judged.asked is None and judged.delay is None
        else {"columns": dict(judged.asked or {}), "delay": judged.delay},
        "play": _play(layout, moments_of(layout, rules), number) if played else None,
    }


def still_data(
    layout: Layout,
    rules: Rules,
    number: Mapping[Cell, int],
    faults: Iterable[Fault],
    touches: Touches | None = None,
) -> dict[str, Any]:
    """What a page needs to draw a layout that is not played, ready for JSON.

    Args:
        layout: any layout, legal or not.
        rules: the rule table.
        number: of each cell that is drawn, as ``numbers_of`` gives it, in that order.
        faults: what is wrong; each names a cell that has a number.
        touches: of the layout, where others ask for them, too.
    """
    touches = touches or Touches(Row(layout))
    outside = {pin.outside for pin in layout.pins}
    return {
        "size": list(layout.size),
        "reach": rules.reach,
        "ground": layout.ground,
        "stack": None
        if layout.stack is None
        else {"axis": layout.stack.axis, "pitch": layout.stack.pitch},
        "cells": [_cell(touches, cell, cell in outside) for cell in number],
        "bodies": body_data(touches, list(number), outside),
        "links": _links(touches, list(number), number),
        "faults": [{"cell": number[fault.at], "text": fault.text} for fault in faults],
        "pins": [
            {
                "name": pin.name,
                "role": str(pin.role),
                "face": str(pin.face),
                "at": list(pin.at),
                "joint": str(pin.joint),
                "cell": number[pin.outside],
            }
            for pin in layout.pins
        ],
    }


def title_of(block: Block, cell: Cell) -> str:
    """A part and where it is, for a heading: ``inverter on -x (1,0,2)``."""
    return f"{block} at ({', '.join(map(str, cell))})"


def _cell(touches: Touches, cell: Cell, outside: bool) -> dict[str, Any]:
    row = touches.row
    block = row.block(cell)
    if block is None:
        return {
            "at": list(cell),
            "part": "empty",
            "facing": None,
            "delay": 0,
            "outside": False,
            "title": f"empty cell at ({', '.join(map(str, cell))})",
            "note": "",
            "runs": [],
        }
    pin = row.pin(cell) if outside else None
    if pin is None:
        title = title_of(block, cell)
    else:
        what = "lead" if pin.joint is Joint.WIRE else "outside buffer"
        title = f"{what} of {pin.role} {pin.name}"
    return {
        "at": list(cell),
        "part": str(block.part),
        "orientation": None if block.facing is None else str(block.facing),
        "delay": 0 if outside else block.delay,
        "outside": outside,
        "title": title,
        "note": INERT.get(block.part, ""),
        "runs": sorted(str(way) for way in touches.runs(cell)) if block.part is Part.WIRE else [],
    }


def _links(touches: Touches, cells: Sequence[Cell], number: Mapping[Cell, int]) -> list[list[int]]:
    """Every link once: the lower or first wire, the other, and whether strength also descends."""
    found = []
    for cell in cells:
        block = touches.row.block(cell)
        if block is None or block.part is not Part.WIRE:
            continue
        for other, _, gives, receives in touches.links(cell):
            if gives and (other[2] > cell[2] or (other[2] == cell[2] and cell < other)):
                found.append([number[cell], number[other], int(receives)])
    return found


def _play(layout: Layout, moments: Moments, number: dict[Cell, int]) -> dict[str, Any]:
    """The graph of moments: looks as one character for each live cell, edges as lists of pairs."""
    most = max((len(kinds) for kinds in moments.situations), default=0)
    alphabet = DIGITS + "".join(chr(256 + index) for index in range(max(0, most - len(DIGITS))))
    sentences: dict[str, int] = {}
    situations = [
        [
            [s.value, _numbered(sentences, s.text), _numbered(sentences, s.why)]
            for s in kinds
        ]
        for kinds in moments.situations
    ]  # fmt: skip
    return {
        "inputs": [pin.name for pin in layout.inputs],
        "outputs": [pin.name for pin in layout.pins if pin.role is Role.OUTPUT],
        "live": [number[cell] for cell in moments.cells],
        "alphabet": alphabet,
        "sentences": list(sentences),
        "situations": situations,
        "moments": [
            [
                moment.row,
                "".join(alphabet[look] for look in moment.looks),
                "".join(map(str, moment.outputs)),
                moment.after,
            ]
            for moment in moments.moments
        ],
        "enter": [[part for pair in entries.items() for part in pair] for entries in moments.enter],
        "rest": [[row, moment] for row, moment in moments.rest.items()],
        "settles": sorted(moments.settles),
        "jumps": moments.jumps,
        "free": moments.free,
    }


def _numbered(sentences: dict[str, int], text: str) -> int:
    return sentences.setdefault(text, len(sentences))
