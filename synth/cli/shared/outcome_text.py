"""An outcome for a reader and for a program."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from synth.layout import Layout
from synth.layout.pins import show_size
from synth.questions.outcome import Outcome, Status
from synth.spec import Spec
from synth.views.text.layers import layout_text
from synth.views.text.verdict import verdict_text
from synth.words import counted, filled

HEADLINES = {
    Status.FOUND: "found",
    Status.IMPOSSIBLE: "IMPOSSIBLE",
    Status.UNDECIDED: "UNDECIDED",
    Status.REFUSED: "REFUSED",
}


def outcome_text(outcome: Outcome, spec: Spec, question: str, *, store: str | None = None) -> str:
    """The outcome of asking for ``question``: layout and verdict first, the answer last.

    Args:
        outcome: what came of it.
        spec: what was asked.
        question: what the user calls it.
        store: the file that the answer was in, if nothing was searched for it.
    """
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
    answer = [paragraph(f"{question}: {HEADLINES[outcome.status]}.")]
    answer += [
        paragraph(text, label=label)
        for label, text in (
            ("Reason:", outcome.reason),
            ("Claim:", outcome.claim),
        )
        if text
    ]
    if outcome.parts:
        answer.append(paragraph(f"{outcome.parts}."))
    if store is not None:
        answer.append(
            paragraph(f"the answer was in {store}; nothing was searched.", label="Store:")
        )
    if outcome.advice:
        answer.append(advice_text(outcome.advice))
    if outcome.assumed:
        assumed = "; ".join(outcome.assumed)
        answer.append(paragraph(f"{assumed}. Options say otherwise.", label="Assumed:"))
    sections.append("\n".join(answer))
    return "\n\n".join(sections)


def outcome_line(outcome: Outcome, question: str, *, store: str | None = None) -> str:
    """The answer in one line: ``nor2: found, 1 x 2 x 3, delay 1, 3 parts, smallest by volume``.

    Arguments are those of ``outcome_text``.
    """
    said = [f"{question}: {HEADLINES[outcome.status]}"]
    layout, verdict = outcome.layout, outcome.verdict
    if layout is not None and verdict is not None:
        delay = "no delay" if verdict.delay is None else f"delay {verdict.delay}"
        said += [show_size(layout.size), delay, counted(layout.part_count, "part")]
    if outcome.status is Status.FOUND:
        said.append(f"smallest by {', then '.join(outcome.measures)}")
    elif outcome.status is Status.UNDECIDED and outcome.bound is not None:
        said.append(f"no {outcome.measures[0]} below {outcome.bound}")
    elif outcome.status is Status.REFUSED:
        said.append("a bug: do not build it")
    if store is not None:
        said.append(f"from {store}")
    return ", ".join(said)


def advice_text(advice: Sequence[str]) -> str:
    """What makes a question impossible, a line each."""
    first, *rest = advice
    lines = [paragraph(f"{first}{':' if rest else '.'}", label="Advice:")]
    lines += [paragraph(text, label="  -") for text in rest]
    return "\n".join(lines)


def asked_columns(spec: Spec, layout: Layout) -> Mapping[str, str]:
    """The columns asked for, in the order of the layout's inputs, as its verdict gives them."""
    names = [pin.name for pin in layout.inputs]
    if set(names) != set(spec.function.inputs):
        return spec.function.outputs
    order = tuple(spec.function.inputs.index(name) for name in names)
    return spec.function.permuted(order).outputs


def paragraph(text: str, *, label: str = "") -> str:
    """Text over as many lines as it needs, further ones indented, behind its label."""
    indent = "    " if label.startswith(" ") else "  " if label else ""
    return filled(f"{label} {text}" if label else text, indent)
