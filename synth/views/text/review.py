"""A review as text: faults first, then warnings, then notes, each with its cells and a remedy."""

from __future__ import annotations

from collections.abc import Iterator

from synth.medium_rules import MEDIUM_RULES
from synth.reviewing import Finding, Place, Review, Severity
from synth.simulator.explaining.reasons import show_cell
from synth.words import WIDTH, counted, filled, listed

MAX_SHOWN = 12
"""Most findings of a short review."""

MAX_PLACES = 6
"""Most cells that a line names."""


def review_text(review: Review, *, everything: bool = False, width: int = WIDTH) -> str:
    """What a review found besides the verdict.

    Args:
        review: the review.
        everything: whether notes, every remedy and rule are told, however many findings there are.
        width: columns of the page.
    """
    told = [one for one in review.findings if everything or one.severity is not Severity.NOTE]
    shown = told if everything else told[:MAX_SHOWN]
    lines = [_head(review)]
    for finding in shown:
        lines += _finding(finding, everything, width, fails=not review.verdict.passes)
    hidden = len(review.findings) - len(shown)
    if hidden:
        lines.append(f"{counted(hidden, 'more finding')}: --review shows all.")
    for text in review.left_out:
        lines.append(filled(f"Left out: {text}.", "  ", width=width))
    return "\n".join(lines)


def _head(review: Review) -> str:
    if not review.findings:
        return "Review: nothing found."
    counts = [
        counted(len(found), str(severity))
        for severity in Severity
        if (found := review.of(severity))
    ]
    return f"Review: {listed(counts)}"


def _finding(finding: Finding, everything: bool, width: int, *, fails: bool) -> Iterator[str]:
    places = _places(finding.places)
    where = f" at {places}" if places else ""
    name = str(finding.rule or finding.kind)
    yield filled(f"  {finding.severity}: {name}{where}: {finding.text}.", "    ", width=width)
    if everything and finding.medium is not None:
        rule = f"    Rule {finding.medium}: {MEDIUM_RULES[finding.medium]}."
        yield filled(rule, "      ", width=width)
    remedies = finding.remedies if everything else finding.remedies[:1]
    for number, remedy in enumerate(remedies):
        label = "or" if number else "Remedy:"
        after = ""
        if fails and finding.severity is Severity.FAULT:
            after = "; then it passes" if remedy.passes else "; then this is mended"
        yield filled(f"    {label} {remedy.text}{after}.", "      ", width=width)


def _places(places: tuple[Place, ...]) -> str:
    words = [
        show_cell(place.at) + ("" if place.copy is None else f" of copy {place.copy}")
        for place in places[:MAX_PLACES]
    ]
    more = len(places) - len(words)
    return ", ".join([*words, *([f"{more} more"] if more else [])])
