"""The facts of the page as plain values: measures, truth table, pins, parts, faults, legend."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from synth.layout import Layout
from synth.layout.layout import show_size
from synth.medium import CLEAR, LEDGE, RULE_TEXT, SOLID, WIRE, Direction, buffer, inverter
from synth.simulator import Verdict
from synth.spec.function_text import function_text
from synth.views.page.symbols import UNIT, symbol
from synth.views.templating import drawn
from synth.views.text.verdict import MAX_TABLE_ROWS, delay_text


@dataclass(frozen=True, slots=True)
class Truth:
    """The settled outputs for every row of inputs.

    Attributes:
        inputs, outputs: names of the columns.
        rows: bits of the inputs and values of the outputs, in counting order; None if there are
            too many to draw.
        count: how many rows there are.
        unknown: whether any value stays unknown.
    """

    inputs: Sequence[str]
    outputs: Sequence[str]
    rows: Sequence[tuple[str, str]] | None
    count: int
    unknown: bool


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """A symbol in a state, and what it means."""

    art: Markup
    state: str
    text: str
    side: int = UNIT


def headline(layout: Layout, verdict: Verdict) -> Sequence[str]:
    """What the layout computes, one line an output; or that it is not legal."""
    if verdict.outputs is None:
        return ["not legal"]
    return function_text(verdict.outputs, [pin.name for pin in layout.inputs])


def fact_rows(layout: Layout, verdict: Verdict) -> list[tuple[str, str]]:
    """Verdict and measures (section 9), as terms and what they are."""
    rows = [
        ("verdict", "passes" if verdict.passes else "fails"),
        ("delay", delay_text(verdict)),
        ("size", f"{show_size(layout.size)} cells"),
        ("volume", f"{layout.volume} cells"),
        ("parts", str(layout.part_count)),
    ]
    if layout.stack is not None:
        works = {True: "", False: "does not work: ", None: "not judged: "}[verdict.stacks]
        rows.append(("stacks", f"{works}along {layout.stack.axis}, pitch {layout.stack.pitch}"))
    if layout.ground:
        rows.append(("ground", "carries wires and buffers"))
    return rows


def truth_of(layout: Layout, verdict: Verdict) -> Truth | None:
    """The truth table, or None where there is none."""
    if not verdict.outputs:
        return None
    inputs = [pin.name for pin in layout.inputs]
    count = 1 << len(inputs)
    rows = None
    if count <= MAX_TABLE_ROWS:
        rows = [
            (
                format(row, f"0{len(inputs)}b") if inputs else "",
                "".join(column[row] for column in verdict.outputs.values()),
            )
            for row in range(count)
        ]
    unknown = any("x" in column for column in verdict.outputs.values())
    return Truth(inputs, list(verdict.outputs), rows, count, unknown)


def part_rows(layout: Layout) -> list[tuple[str, str]]:
    """How many of each part."""
    return [(str(count), name) for name, count in layout.bill_of_materials().items()]


def pin_rows(layout: Layout) -> list[tuple[str, str, str, str, str]]:
    """Where the pins are and what stands outside."""
    return [
        (pin.name, str(pin.role), f"({', '.join(map(str, pin.at))})", str(pin.face), str(pin.joint))
        for pin in layout.pins
    ]


def fault_rows(verdict: Verdict) -> list[tuple[str, str, str, str]]:
    """Every fault with its rule and cell."""
    return [
        (str(fault.rule), f"({', '.join(map(str, fault.at))})", fault.text, RULE_TEXT[fault.rule])
        for fault in verdict.faults
    ]


def legend() -> list[LegendEntry]:
    """Every symbol with its name, off, and where it can have power, on."""
    level = Direction.PX
    wire_runs = (Direction.PX, Direction.NX)
    entries = [
        (symbol(SOLID), "", "solid, not charged"),
        (symbol(SOLID), "is-on", "solid, charged: hatched"),
        (symbol(SOLID), "is-on is-driven", "solid, driven: cross-hatched"),
        (symbol(CLEAR), "", "clear"),
        (symbol(LEDGE), "", "ledge"),
        (symbol(WIRE, wire_runs), "", "wire without power: thin, open"),
        (symbol(WIRE, wire_runs), "is-on", "wire with power: thick, filled, its strength"),
        (symbol(WIRE, wire_runs, up=(level,)), "", "wire, linked to one a step up"),
        (symbol(WIRE, wire_runs, down=(level,)), "", "wire, linked to one a step down"),
        (symbol(inverter(Direction.NX)), "", "inverter off; its flat side is at its host"),
        (symbol(inverter(Direction.NX)), "is-on", "inverter on: filled"),
        (symbol(inverter(Direction.NZ)), "", "inverter standing on its host"),
        (symbol(buffer(level, 1)), "", "buffer, pointing to its front; its delay in ticks"),
    ]
    return [LegendEntry(drawn(art), state, text) for art, state, text in entries]
