"""A census as text: a row for each class of functions, the boxes, and the sum of it."""

from __future__ import annotations

from synth.census.result import Census, Class
from synth.layout.pins import show_size
from synth.questions.census import shown
from synth.questions.outcome import Status
from synth.spec.classes import Columns
from synth.spec.function_text import expression_of
from synth.words import counted, filled

MOST_NAMED = 24
"""So many classes without a layout are named; more are counted."""


def census_text(census: Census, assumed: tuple[str, ...] = ()) -> str:
    """Table, what is known of the boxes, and the answer.

    Args:
        census: the census.
        assumed: what was assumed because nobody said it, a phrase each.
    """
    sections = [_table(census)] if census.classes else []
    sections.append(_boxes(census))
    if missing := _missing(census):
        sections.append(missing)
    answer = [filled(census_line(census), "  ")]
    if assumed:
        text = f"Assumed: {'; '.join(assumed)}. Options say otherwise."
        answer.append(filled(text, "  "))
    sections.append("\n".join(answer))
    return "\n\n".join(sections)


def function_words(census: Census, columns: Columns) -> str:
    """A function as short text: ``a ^ b``; where it has don't cares, its table."""
    function = census.asked.problem.spec.function
    texts = [
        None if "-" in column else expression_of(column, function.inputs) for column in columns
    ]
    return "; ".join(text if text is not None else shown(columns) for text in texts)


def _table(census: Census) -> str:
    rows = [["table", "function", "size", "volume", "delay", "parts", "known"]]
    rows += [_row(census, one) for one in census.classes]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    lines.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join(lines)


def _row(census: Census, one: Class) -> list[str]:
    known = "fits" if census.asked.box is not None else "best known"
    if one.smallest and census.asked.box is None:
        known = "smallest"
    return [
        shown(one.columns),
        function_words(census, one.columns),
        show_size(one.layout.size),
        str(one.layout.volume),
        str(one.delay),
        str(one.layout.part_count),
        known,
    ]


def _boxes(census: Census) -> str:
    done = sum(box.complete for box in census.boxes)
    still = [box for box in census.boxes if box.open]
    needless = len(census.boxes) - done - len(still)
    text = f"Boxes: {done} complete"
    if still:
        text += f", {len(still)} open (the first is {still[0].candidate})"
    if needless:
        text += f", {needless} that could hold nothing new"
    return filled(f"{text}.", "  ")


def _missing(census: Census) -> str:
    missing = census.without_layout
    if not missing:
        return ""
    said = f"No layout of {counted(len(missing), 'class')} that "
    said += "is" if len(missing) == 1 else "are"
    said += " counted"
    if len(missing) <= MOST_NAMED:
        said += f": {', '.join(function_words(census, one) for one in missing)}"
    return filled(f"{said}.", "  ")


def census_line(census: Census) -> str:
    """The answer in one sentence."""
    if census.status is Status.REFUSED:
        return "REFUSED: the simulator rejects a layout that the search found."
    claim = census.asked.claim(len(census.classes), complete=census.complete)
    if census.status is Status.UNDECIDED:
        why = f" ({census.reason})" if census.reason else ""
        return f"UNDECIDED{why}: so far {claim}."
    return f"COMPLETE: {claim}."
