"""The facts of the page as plain values: measures, truth table, pins, parts, faults, legend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from synth.layout import Layout
from synth.layout.pins import show_size
from synth.medium import RULE_TEXT, Cell
from synth.simulator import Verdict
from synth.spec.function_text import function_text
from synth.views.judged import Judged
from synth.views.page.symbols import UNIT
from synth.views.page.symbols import legend as symbols_and_words
from synth.views.templating import drawn
from synth.views.text.verdict import MAX_TABLE_ROWS, delay_text, link_delay_text, stacks_unjudged
from synth.words import ticks


@dataclass(frozen=True, slots=True)
class Value:
    """An output in one row: what it reads, and what was asked if that differs."""

    reads: str
    asked: str = ""


@dataclass(frozen=True, slots=True)
class Truth:
    """The settled outputs for rows of inputs.

    Attributes:
        inputs, outputs: names of the columns.
        rows: number of the row, bits of the inputs, values of the outputs, in counting order.
        count: how many rows there are. If they are too many to show, ``rows`` holds only those
            that are not as asked.
        unknown: whether any value stays unknown.
    """

    inputs: Sequence[str]
    outputs: Sequence[str]
    rows: Sequence[tuple[int, str, Sequence[Value]]]
    count: int
    unknown: bool


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """A symbol in a state, and what it means."""

    art: Markup
    state: str
    text: str
    side: int = UNIT


def headline(judged: Judged) -> Sequence[str]:
    """What the layout computes, one line for each output; or that it is not legal."""
    outputs = judged.verdict.outputs
    if outputs is not None:
        return function_text(outputs, judged.inputs)
    return [f"{len(judged.inputs)} inputs"] if judged.verdict.legal else ["not legal"]


def fact_rows(layout: Layout, judged: Judged) -> list[tuple[str, str]]:
    """Verdict and measures (section 9), as pairs of term and value."""
    verdict = judged.verdict
    rows = [
        ("verdict", str(judged.stand.value)),
        (
            "delay",
            delay_text(verdict) if judged.at_most is None else f"at most {ticks(judged.at_most)}",
        ),
        ("size", f"{show_size(layout.size)} cells"),
        ("volume", f"{layout.volume} cells"),
        ("parts", str(layout.part_count)),
    ]
    if layout.stack is not None:
        judged_so = None if stacks_unjudged(verdict) else verdict.stacks
        works = {True: "", False: "does not work: ", None: "not judged: "}[judged_so]
        rows.append(("stacks", f"{works}along {layout.stack}"))
    if verdict.chained:
        rows.append(("link delay", link_delay_text(verdict)))
    if layout.ground:
        rows.append(("ground", "carries wires and buffers"))
    return rows


def truth_of(judged: Judged) -> Truth | None:
    """The truth table, or None where there is none."""
    outputs = judged.verdict.outputs
    if not outputs:
        return None
    count = 1 << len(judged.inputs)
    wrong = judged.wrong_rows()
    shown = range(count) if count <= MAX_TABLE_ROWS else wrong[:MAX_TABLE_ROWS]

    def value(name: str, row: int) -> Value:
        reads = outputs[name][row]
        asked = (judged.asked or {}).get(name, outputs[name])[row]
        return Value(reads, "" if asked in ("-", reads) else asked)

    rows = [
        (
            row,
            format(row, f"0{len(judged.inputs)}b") if judged.inputs else "",
            [value(name, row) for name in outputs],
        )
        for row in shown
    ]
    unknown = any("x" in column for column in outputs.values())
    return Truth(judged.inputs, list(outputs), rows, count, unknown)


def part_rows(layout: Layout) -> list[tuple[str, str]]:
    """How many of each part."""
    return [(str(count), name) for name, count in layout.bill_of_materials().items()]


def pin_rows(layout: Layout) -> list[tuple[str, str, str, str, str]]:
    """Where the pins are and what stands outside."""
    return [
        (pin.name, str(pin.role), f"({', '.join(map(str, pin.at))})", str(pin.face), str(pin.joint))
        for pin in layout.pins
    ]


@dataclass(frozen=True, slots=True)
class FaultRow:
    """A fault: its rule, its cell, that cell's number on the page, and what is wrong."""

    rule: str
    cell: str
    number: int | None
    text: str
    rule_text: str


def fault_rows(verdict: Verdict, number: Mapping[Cell, int]) -> list[FaultRow]:
    """Every fault with its rule and cell."""
    return [
        FaultRow(
            str(fault.rule),
            f"({', '.join(map(str, fault.at))})",
            number.get(fault.at),
            fault.text,
            RULE_TEXT[fault.rule],
        )
        for fault in verdict.faults
    ]


def legend() -> list[LegendEntry]:
    """Every symbol with its name: off, and also on if it can have power."""
    return [LegendEntry(drawn(art), state, text) for art, state, text in symbols_and_words()]
