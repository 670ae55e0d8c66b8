"""A frontier as text: a table with a row for each step, and the claim behind each."""

from __future__ import annotations

from synth.views.text.frontier_chart import (
    BEST_KNOWN,
    NONE,
    OPEN,
    SMALLEST,
    Chart,
    ChartStep,
    span,
)
from synth.words import filled, in_units


def frontier_text(chart: Chart, assumed: tuple[str, ...] = ()) -> str:
    """Heading, table, claims, and a summary.

    Args:
        chart: the frontier.
        assumed: what was assumed because the user did not say it, one phrase each.
    """
    first, second = chart.axes
    heading = f"Smallest {first} of {chart.function} for each {second}"
    asked = f"Asked: {'; '.join(chart.asked)}."
    sections = [f"{filled(heading)}\n{filled(asked, '  ')}", _table(chart)]
    claims = [
        filled(f"{second} {span(step)}: {step.claim}", "  ") for step in chart.steps if step.claim
    ]
    if claims:
        sections.append("\n".join(["What it rests on", *claims]))
    answer = [filled(_sum(chart))]
    if assumed:
        text = f"Assumed: {'; '.join(assumed)}. Options say otherwise."
        answer.append(filled(text, "  "))
    sections.append("\n".join(answer))
    return "\n\n".join(sections)


def _table(chart: Chart) -> str:
    first, second = chart.axes
    files = any(step.file for step in chart.steps)
    rows = [[in_units(second), in_units(first), "size", "parts", "known"]]
    rows += [_row(step) for step in chart.steps]
    if files:
        for row, file in zip(
            rows, ["layout", *(step.file or "" for step in chart.steps)], strict=True
        ):
            row.append(file)
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    lines.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join(lines)


def _row(step: ChartStep) -> list[str]:
    value = "-" if step.value is None else str(step.value)
    parts = "" if step.parts is None else str(step.parts)
    return [span(step), value, step.size_text or "-", parts or "-", standing_text(step)]


def standing_text(step: ChartStep) -> str:
    """What is known of a step, in a few words."""
    return {
        SMALLEST: "smallest",
        BEST_KNOWN: f"best known; {step.bound} or more",
        OPEN: f"open; {step.bound} or more",
        NONE: "no layout",
    }[step.standing]


def _sum(chart: Chart) -> str:
    """A summary in a sentence or two."""
    first, second = chart.axes
    undecided = [step for step in chart.steps if step.standing in (BEST_KNOWN, OPEN)]
    points = [step for step in chart.steps if step.point]
    if undecided:
        where = ", ".join(span(step) for step in undecided)
        return f"UNDECIDED for {second} {where}; all else is decided."
    if not points:
        return f"IMPOSSIBLE: no layout for any {second} asked."
    least = points[0].first
    text = f"Complete: the least {second} is {least}"
    last = points[-1]
    if last.first < chart.steps[-1].last:
        text += f"; allowing more than {last.first} does not reduce the {first}"
    return f"{text}. Whatever is ruled out was ruled out by the solver; no proof is kept here."
