"""A comparison of two layouts as text: measures side by side, and the drawings of both."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from synth.layout import Layout
from synth.layout.drawing.glyphs import glyph
from synth.layout.pins import Pin, show_size
from synth.medium import Cell
from synth.reviewing.comparing import ADDED, CHANGED, TAKEN, CellChange, Comparison
from synth.simulator.verdict import Verdict
from synth.spec.function_text import function_text
from synth.views.text.layers import layers_text
from synth.views.text.verdict import delay_text
from synth.words import WIDTH, columns, counted, filled, listed

SIGNS = {ADDED: "+", TAKEN: "-", CHANGED: "*"}
"""Behind a cell that differs."""

MOST_LISTED = 200
"""More cells that differ than this are drawn, and not listed."""


def comparison_text(found: Comparison, names: tuple[str, str], *, width: int = WIDTH) -> str:
    """Everything for a reader: the answer first, then measures, drawings, and cells.

    Args:
        found: the comparison.
        names: what the layouts are called.
        width: columns of the page.
    """
    sections = [
        filled(answer_words(found), width=width),
        "\n".join(columns([("", "A", "B"), *facts(found, names)], indent="")),
    ]
    if not found.cells and not found.pins:
        return "\n\n".join(sections)
    for letter, layout, second in (("A", found.first, False), ("B", found.second, True)):
        lit = found.lit(second=second)
        if lit:
            sections.append(f"{letter}: {signs_words(lit)}")
        else:
            sections.append(f"{letter}: every part of it is in the other as well")
        sections.append(layers_text(layout, width=width, cell=_cell(layout, lit)))
    sections.append("\n".join(["What differs", *columns(differences(found))]))
    return "\n\n".join(sections)


_MEANINGS = {
    TAKEN: "what is in A only",
    ADDED: "what is in B only",
    CHANGED: "what is another part in the other",
}


def signs_words(lit: Mapping[Cell, str]) -> str:
    """What the signs at the cells of a layout mean, those that there are."""
    kinds = [kind for kind in _MEANINGS if kind in lit.values()]
    return ", ".join(f"{SIGNS[kind]} {_MEANINGS[kind]}" for kind in kinds)


def answer_words(found: Comparison) -> str:
    """The answer in a sentence or two: same function, faster, smaller, how much differs."""
    if found.same_function is None:
        said = [_why_unknown(found)]
    elif found.same_function:
        said = ["Both compute the same function."]
    else:
        said = ["They do not compute the same function."]
    if found.same_function:
        said.append(f"B is {_compared(found)}.")
    count = len(found.cells) + len(found.pins)
    if not count:
        said.append("No part and no pin differs.")
        return " ".join(said)
    differing = [(len(found.cells), "cell"), (len(found.pins), "pin")]
    words = listed([counted(number, thing) for number, thing in differing if number])
    moved = f", once A is moved by {list(found.offset)}" if any(found.offset) else ""
    said.append(f"{words} {'differs' if count == 1 else 'differ'}{moved}.")
    if found.image:
        said.append("B is A turned, mirrored or moved.")
    return " ".join(said)


def _why_unknown(found: Comparison) -> str:
    for letter, verdict in zip("AB", found.verdicts, strict=True):
        if not verdict.legal:
            return f"{letter} is not legal in the medium, so their functions cannot be compared."
        if any("x" in column for column in (verdict.outputs or {}).values()):
            return f"{letter} does not settle, so their functions cannot be compared."
    if not found.first.outputs and not found.second.outputs:
        return "Neither has outputs, so there are no functions to compare."
    return "They have other pins, so their functions cannot be compared."


def _compared(found: Comparison) -> str:
    """``faster by 1 tick, smaller by 16 cells and as many parts`` in words."""
    delay, volume = found.measures["delay"], found.measures["volume"]
    said = []
    if delay[0] is not None and delay[1] is not None:
        said.append(_than(delay[1] - delay[0], "faster", "slower", "tick") or "as fast")
    assert volume[0] is not None
    assert volume[1] is not None
    said.append(_than(volume[1] - volume[0], "smaller", "larger", "cell") or "as large")
    return " and ".join(said)


def _than(more: int, less_word: str, more_word: str, unit: str) -> str:
    if not more:
        return ""
    return f"{more_word if more > 0 else less_word} by {counted(abs(more), unit)}"


def facts(found: Comparison, names: tuple[str, str]) -> list[tuple[str, str, str]]:
    """What is said of both, a row each: what, of A, of B."""
    first, second = found.first, found.second
    before, after = found.verdicts
    rows = [
        ("layout", names[0], names[1]),
        ("computes", _function(first, before), _function(second, after)),
        ("delay", _delay(before), _delay(after)),
        ("stacks", _stacks(first, before), _stacks(second, after)),
        ("size", show_size(first.size), show_size(second.size)),
    ]
    for name in ("volume", "floor", "parts"):
        values = found.measures[name]
        rows.append((name, str(values[0]), str(values[1])))
    if first.ground != second.ground:
        rows.append(("ground", _yes_or_no(first.ground), _yes_or_no(second.ground)))
    return rows


def _yes_or_no(value: bool) -> str:
    return "yes" if value else "no"


def _function(layout: Layout, verdict: Verdict) -> str:
    if not verdict.legal:
        return "not legal"
    if not verdict.outputs:
        return "nothing: no outputs"
    return "; ".join(function_text(verdict.outputs, [pin.name for pin in layout.inputs]))


def _delay(verdict: Verdict) -> str:
    return delay_text(verdict) if verdict.legal else "not judged"


def _stacks(layout: Layout, verdict: Verdict) -> str:
    if layout.stack is None:
        return "not said"
    said = {True: "yes", False: "NO", None: "not judged"}[verdict.stacks]
    return f"{said}, along {layout.stack.axis} at pitch {layout.stack.pitch}"


def differences(found: Comparison) -> list[tuple[str, str, str]]:
    """Every cell and pin that differs, a row each: where, how, and what is there."""
    rows = [_cell_row(change) for change in found.cells[:MOST_LISTED]]
    if len(found.cells) > MOST_LISTED:
        rows.append(("...", f"{len(found.cells) - MOST_LISTED:,} more cells", ""))
    for pin in found.pins:
        kind = TAKEN if pin.after is None else ADDED if pin.before is None else CHANGED
        both = [_pin_words(side) for side in (pin.before, pin.after) if side is not None]
        rows.append((f"pin {pin.name}", kind, " -> ".join(both)))
    return rows


def _cell_row(change: CellChange) -> tuple[str, str, str]:
    both = [str(block) for block in (change.before, change.after) if block is not None]
    return (str(list(change.at)), change.kind, " -> ".join(both))


def _pin_words(pin: Pin) -> str:
    return f"{pin.role} at {list(pin.at)}, face {pin.face}, {pin.joint} joint"


def _cell(layout: Layout, lit: Mapping[Cell, str]) -> Callable[[Cell], str]:
    """The three characters of a cell: its pair, and a sign behind it if it differs."""
    return lambda at: glyph(layout.cells.get(at)) + (SIGNS[lit[at]] if at in lit else " ")
