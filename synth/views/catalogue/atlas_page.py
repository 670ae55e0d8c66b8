"""The atlas page: functions against boxes, the first box that holds each, what is ruled out.

One kind of question is shown at a time: a stacking, joints and ticks. Without a script it is the
table of the kind that most gates were asked by; the script shows the others and filters rows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from synth.layout.pins import show_size
from synth.medium import Size
from synth.questions.box import BoxQuestion
from synth.questions.cover import answers_for
from synth.views.catalogue.gates import Gate, Item, short
from synth.views.catalogue.words import amount, joint_text, stack_text
from synth.views.templating import render, script_json
from synth.words import ticks

Ask = tuple[str, str, int]
"""Stacking, joints, and the ticks asked."""

SIGNS = {
    "smallest": "\N{BLACK SQUARE}",
    "best": "\N{WHITE SQUARE}",
    "out": "\N{MULTIPLICATION SIGN}",
}
"""What stands in a cell, by what is known of it."""


@dataclass(frozen=True, slots=True)
class Row:
    """What is known of one gate for one kind of question.

    Attributes:
        column: the column of its first box, or None.
        sign: a key of ``SIGNS`` for that box.
        delay: ticks that the layout meets, or None.
        link: the address of the layout.
        out: the columns of boxes that are ruled out.
        known: in a few words.
    """

    column: int | None
    sign: str
    delay: int | None
    link: str
    out: tuple[int, ...]
    known: str

    def data(self) -> list[object]:
        """The row as the script reads it."""
        return [self.column, self.sign, self.delay, self.link, list(self.out), self.known]


def atlas_html(gates: Sequence[Gate], title: str) -> str:
    """The page; of a catalogue without any answer to such a question, an empty one."""
    asks = _asks(gates)
    sizes = _sizes(gates)
    rows = {gate.slug: _rows(gate, asks, sizes) for gate in gates}
    first = 0
    shown = [gate for gate in gates if first in rows[gate.slug]]
    return render(
        "catalogue/atlas.html",
        root="",
        title=f"{title}: atlas",
        asks=[(number, _ask_text(ask)) for number, ask in enumerate(asks)],
        inputs=sorted({gate.inputs for gate in gates}),
        sizes=[(number, show_size(size)) for number, size in enumerate(sizes)],
        heads=[_head(size) for size in sizes],
        signs=SIGNS,
        rows=[_cells(gate, rows[gate.slug][first], len(sizes)) for gate in shown],
        data=script_json(
            {
                "sizes": [list(size) for size in sizes],
                "signs": SIGNS,
                "rows": [
                    [
                        gate.title,
                        gate.slug,
                        _words(gate),
                        gate.inputs,
                        {number: row.data() for number, row in rows[gate.slug].items()},
                    ]
                    for gate in gates
                ],
            }
        ),
    )


def _asks(gates: Sequence[Gate]) -> list[Ask]:
    """Every kind of question, that of most gates first."""
    count: Counter[Ask] = Counter()
    for gate in gates:
        count.update({ask for item in gate.items if (ask := _ask(item)) is not None})
    return sorted(count, key=lambda ask: (-count[ask], -ask[2], ask))


def _ask(item: Item) -> Ask | None:
    entry = item.entry
    return None if entry.delay_asked is None else (entry.stack, entry.joints, entry.delay_asked)


def _ask_text(ask: Ask) -> str:
    stack, joints, delay = ask
    return f"{stack_text(stack)}, {joint_text(joints)}, within {ticks(delay)}"


def _sizes(gates: Sequence[Gate]) -> list[Size]:
    """The sizes of all layouts, by volume."""
    found = {item.layout.size for gate in gates for item in gate.layouts if item.layout is not None}
    return sorted(found, key=lambda size: (size[0] * size[1] * size[2], size))


def _head(size: Size) -> tuple[str, int]:
    length, width, height = size
    return show_size(size).replace(" x ", "\N{MULTIPLICATION SIGN}"), length * width * height


def _words(gate: Gate) -> str:
    """What can be searched for."""
    return " ".join([*gate.names, gate.title, *gate.expressions, *gate.columns]).lower()


def _rows(gate: Gate, asks: Sequence[Ask], sizes: Sequence[Size]) -> Mapping[int, Row]:
    """What is known of a gate for each kind of question that it was asked by."""
    found = {}
    for number, ask in enumerate(asks):
        items = [item for item in gate.items if _ask(item) == ask]
        if items:
            found[number] = _row(gate, min(items, key=_strength), sizes)
    return found


def _strength(item: Item) -> tuple[object, ...]:
    """Answers with a layout first, then those for good, then the smaller."""
    entry = item.entry
    return (item.layout is None, not entry.proven, entry.volume or 0, item.number)


def _row(gate: Gate, item: Item, sizes: Sequence[Size]) -> Row:
    out = tuple(number for number, size in enumerate(sizes) if _is_out(item, size))
    if item.layout is None:
        known = "no layout under the limits asked" if item.entry.proven else "undecided"
        link = f"gates/{gate.slug}.html"
        if item.entry.beyond is not None:
            more = amount(item.entry.beyond.volume, "volume")
            known, link = f"{known}; {more} beyond them", f"{link}#layout-{item.number}"
        return Row(None, "", None, link, out, known)
    sign = "smallest" if item.entry.proven else "best"
    word = "smallest" if item.entry.proven else "best known"
    known = f"{amount(item.entry.volume, 'volume')}, {word}"
    shown = next((first for first, group in gate.alike.items() if item in group), item.number)
    link = f"gates/{gate.slug}.html#layout-{shown}"
    return Row(sizes.index(item.layout.size), sign, item.entry.delay, link, out, known)


def _is_out(item: Item, size: Size) -> bool:
    """Whether a box is ruled out for an answer's question, by itself or by a taller one."""
    if item.entry.delay_asked is None:
        return False
    need = BoxQuestion(size, item.entry.delay_asked)
    return any(answers_for(box, need, lower_too=item.lower_too) for box in item.ruled_out)


def _cells(gate: Gate, row: Row, count: int) -> dict[str, object]:
    """A row of the table as the page is made with it."""
    signs = dict.fromkeys(row.out, "out")
    if row.column is not None:
        signs[row.column] = row.sign
    return {
        "title": gate.title,
        "slug": gate.slug,
        "line": short(gate.lines[0], 60) if gate.lines else "",
        "cells": [signs.get(column, "") for column in range(count)],
        "link": row.link,
        "delay": row.delay,
        "known": row.known,
    }
