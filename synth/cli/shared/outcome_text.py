"""An outcome for a reader and for a program."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

from synth.layout import Layout
from synth.questions.outcome import Outcome, Status
from synth.spec import Spec
from synth.views.text.layers import WIDTH, layout_text
from synth.views.text.verdict import verdict_text

HEADLINES = {
    Status.FOUND: "found",
    Status.IMPOSSIBLE: "IMPOSSIBLE",
    Status.UNDECIDED: "UNDECIDED",
    Status.REFUSED: "REFUSED",
}


def outcome_text(outcome: Outcome, spec: Spec, question: str) -> str:
    """The outcome of asking for ``question``: layout and verdict first, the answer last."""
    sections = []
    if outcome.layout is not None:
        sections.append(layout_text(outcome.layout))
        if outcome.verdict is not None:
            sections.append(
                verdict_text(
                    outcome.verdict,
                    outcome.layout,
                    asked=asked_columns(spec, outcome.layout),
                    stack=outcome.layout.stack,
                )
            )
    answer = [_paragraph(f"{question}: {HEADLINES[outcome.status]}.")]
    answer += [
        _paragraph(text, label=label)
        for label, text in (
            ("Reason:", outcome.reason),
            ("Claim:", outcome.claim),
        )
        if text
    ]
    if outcome.parts:
        answer.append(_paragraph(f"{outcome.parts}."))
    if outcome.advice:
        answer.append(advice_text(outcome.advice))
    if outcome.assumed:
        assumed = "; ".join(outcome.assumed)
        answer.append(_paragraph(f"{assumed}. Options say otherwise.", label="Assumed:"))
    sections.append("\n".join(answer))
    return "\n\n".join(sections)


def advice_text(advice: Sequence[str]) -> str:
    """What stands in the way of an impossible question, a line each."""
    first, *rest = advice
    lines = [_paragraph(f"{first}{':' if rest else '.'}", label="Advice:")]
    lines += [_paragraph(text, label="  -") for text in rest]
    return "\n".join(lines)


def asked_columns(spec: Spec, layout: Layout) -> Mapping[str, str]:
    """The columns asked for, in the order of the layout's inputs, as its verdict gives them."""
    names = [pin.name for pin in layout.inputs]
    if set(names) != set(spec.function.inputs):
        return spec.function.outputs
    order = tuple(spec.function.inputs.index(name) for name in names)
    return spec.function.permuted(order).outputs


def _paragraph(text: str, *, label: str = "") -> str:
    return textwrap.fill(
        f"{label} {text}" if label else text,
        WIDTH,
        subsequent_indent="    " if label.startswith(" ") else "  " if label else "",
        break_long_words=False,
        break_on_hyphens=False,
    )
