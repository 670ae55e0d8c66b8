"""A verdict as text: pass or fail in one word, what was found, the truth table, every fault."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from synth.layout import Layout, MadeFor, Stack
from synth.medium import RULE_TEXT, RuleId
from synth.simulator.verdict import Verdict
from synth.spec.function_names import name_of_column
from synth.spec.function_text import function_text
from synth.views.text.layers import beside, columns
from synth.views.text.purpose import purpose_words
from synth.words import WIDTH, ticks

MAX_TABLE_ROWS = 64
"""The most rows of a truth table that is printed."""

_TABLE_BLOCK = 16


def verdict_text(
    verdict: Verdict,
    layout: Layout,
    *,
    asked: Mapping[str, str] | None = None,
    stack: Stack | None = None,
    made_for: MadeFor | None = None,
    width: int = WIDTH,
) -> str:
    """The verdict on ``layout`` for a reader.

    Args:
        verdict: the simulator's verdict.
        layout: the layout that it judged.
        asked: the column of each output asked for, in the order of the layout's inputs: ``0``,
            ``1`` or ``-``; None if no function was asked.
        stack: the stacking that was judged, if any.
        made_for: what the layout was made for, if it was judged by that.
        width: columns of the page.
    """
    sections = [_summary(verdict, layout, stack, made_for, asks_function=asked is not None)]
    inputs = [pin.name for pin in layout.inputs]
    if verdict.outputs:
        # A long table adds nothing to the line above it that states the function.
        if 1 << len(inputs) <= MAX_TABLE_ROWS:
            sections.append(table_text(verdict.outputs, inputs, asked=asked, width=width))
        else:
            sections.append(f"Truth table: {1 << len(inputs)} rows, too long to print")
    if verdict.faults:
        sections.append(faults_text(verdict))
    return "\n\n".join(sections)


def _summary(
    verdict: Verdict,
    layout: Layout,
    stack: Stack | None,
    made_for: MadeFor | None,
    *,
    asks_function: bool,
) -> str:
    rows = [] if made_for is None else [("made for", purpose_words(made_for))]
    rows.append(("legal", _yes(verdict.legal)))
    if verdict.outputs is not None:
        if asks_function:
            rows.append(("function", _yes(verdict.function)))
        inputs = [pin.name for pin in layout.inputs]
        for column, line in zip(
            verdict.outputs.values(), function_text(verdict.outputs, inputs), strict=True
        ):
            name = name_of_column(column)
            rows.append(("computes", f"{line} ({name})" if name else line))
        rows.append(("delay", delay_text(verdict)))
        if stack is not None:
            said = WRONG if stacks_unjudged(verdict) else _yes(verdict.stacks)
            if verdict.chained:
                rows.append(("link delay", link_delay_text(verdict)))
            rows.append(("stacks", f"{said}, along {stack}"))
    word = "passes" if verdict.passes else "FAILS"
    return "\n".join([f"Verdict: {word}", *columns(rows)])


def _yes(value: bool | None) -> str:
    return {True: "yes", False: "NO", None: "not judged"}[value]


WRONG = "not judged: the function is wrong"
"""Said of delay and stacking where the function is wrong, so that neither means anything."""


def link_delay_text(verdict: Verdict) -> str:
    """Ticks after which the links of a chain are right, or that there are none."""
    return "none" if verdict.link_delay is None else ticks(verdict.link_delay)


def delay_text(verdict: Verdict) -> str:
    """``2 ticks``, or why the layout meets no delay."""
    if verdict.delay is not None:
        return ticks(verdict.delay)
    if verdict.function is False:
        return WRONG
    if verdict.fed_back:
        return "none: an input is fed back"
    unknown = any("x" in column for column in (verdict.outputs or {}).values())
    return "none: an output does not settle" if unknown else "none"


def stacks_unjudged(verdict: Verdict) -> bool:
    """Whether the only fault in stacking is that the layout is already wrong by itself."""
    own = {RuleId.STACK_FUNCTION, RuleId.STACK_ASK}
    forbidden = {
        fault.rule for fault in verdict.faults if fault.rule.value.startswith("stack")
    } - own
    return verdict.function is False and verdict.stacks is False and not forbidden


def table_text(
    outputs: Mapping[str, str],
    inputs: Sequence[str],
    *,
    asked: Mapping[str, str] | None = None,
    width: int = WIDTH,
) -> str:
    """The truth table of the layout; rows where another value was asked say so."""
    names = [*inputs, "|", *outputs]
    lines = [" ".join(names)]
    for row in range(1 << len(inputs)):
        bits = format(row, f"0{len(inputs)}b") if inputs else ""
        values = [*bits, "|", *(column[row] for column in outputs.values())]
        line = " ".join(value.rjust(len(name)) for name, value in zip(names, values, strict=True))
        lines.append(line + _complaint(outputs, asked or {}, row))
    head, body = lines[0], lines[1:]
    blocks = [
        [head, *body[start : start + _TABLE_BLOCK]] for start in range(0, len(body), _TABLE_BLOCK)
    ]
    legend = ["x: stays unknown"] if any("x" in column for column in outputs.values()) else []
    return "\n".join(
        ["Truth table", _indent(beside(blocks, width=width - 2)), *map(_indent, legend)]
    )


def _complaint(outputs: Mapping[str, str], asked: Mapping[str, str], row: int) -> str:
    wrong = [
        f"{name} = {column[row]}"
        for name, column in asked.items()
        if name in outputs and column[row] not in ("-", outputs[name][row])
    ]
    return f"   asked: {', '.join(wrong)}" if wrong else ""


def faults_text(verdict: Verdict) -> str:
    """Every fault: its rule, its cell and what is wrong there; then the broken rules in words."""
    lines = [f"Faults: {len(verdict.faults)}"]
    for fault in verdict.faults:
        lines.append(f"  {fault.rule} at {list(fault.at)}: {fault.text}")
    rules = dict.fromkeys(fault.rule for fault in verdict.faults)
    lines += ["", "Rules broken"]
    lines += columns([(str(rule), RULE_TEXT[rule]) for rule in rules])
    return "\n".join(lines)


def _indent(text: str) -> str:
    return "\n".join(f"  {line}".rstrip() for line in text.split("\n"))
