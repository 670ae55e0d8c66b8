"""Whether what a store keeps about a question supports the answer.

A store keeps three things about a question: the answer's status and measures, its claim in words,
and the boxes that hold no layout. None of them may say more than the others support.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import fields

from synth.layout.pins import show_size
from synth.library.answer import Answer
from synth.library.beyond import Beyond
from synth.library.canonical import Canonical
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.cover import Claim, covers, needs
from synth.questions.measures import measured
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.spec import Limits

LIMITS = tuple(item.name for item in fields(Limits))

_LIMIT_AT = {name.replace("_", " "): name for name in sorted(LIMITS, key=len, reverse=True)}
"""The limits by their words, the longest first: a link delay is no delay."""

_AT_MOST = re.compile(rf"\b({'|'.join(_LIMIT_AT)}) at most (\d+)")
_SMALLEST = re.compile(r"smallest by (.+?), under ")
_VALUE = re.compile(r"(\w+) (\d+)")
_RULES = re.compile(r"reach (\d+) and buffer delays (\d+(?:, \d+)*)")


def not_shown(asked: Canonical, answer: Answer, boxes: Iterable[BoxAnswer]) -> list[BoxQuestion]:
    """The boxes that an answer needs to hold no layout, and that the store does not rule out.

    A proven answer needs every box that could hold something better. An open one needs the boxes
    below its bound.

    Args:
        asked: the question; its sizes and delay are limited.
        answer: its answer.
        boxes: the boxes that the store rules out (``Store.ruled_out``).
    """
    measures, values = asked.minimize, _values(asked, answer)
    if values is None or (answer.status is Status.FOUND and not values):
        return []  # Its other faults are reported elsewhere.
    if answer.proven:
        status = answer.status
    elif answer.bound is None or asked.minimize[0] == "parts":
        return []
    else:
        # A bound claims what a smallest layout with that measure would claim.
        status, measures = Status.FOUND, asked.minimize[:1]
        values = {measures[0]: answer.bound}
    claim = Claim(status, Problem(asked.spec, measures, asked.rules), values)
    kept: dict[tuple[int, int], list[BoxQuestion]] = defaultdict(list)
    for box in boxes:
        kept[box.question.size[:2]].append(box.question)
    return [
        need
        for need in needs(claim)
        if not any(covers(claim.problem, box, need) for box in kept[need.size[:2]])
    ]


def _values(asked: Canonical, answer: Answer) -> dict[str, int] | None:
    """The measures asked for of an answer's layout; empty without a layout, None if unknown."""
    found = {}
    for name in asked.minimize if answer.layout is not None else ():
        assert answer.layout is not None
        value = measured(answer.layout, answer.delay, name)
        if value is None:
            return None
        found[name] = value
    return found


def claim_faults(asked: Canonical, answer: Answer) -> Iterator[str]:
    """Where the words of a claim contradict the question or the layout.

    A claim is a sentence, and another version may word it differently. So only its numbers and
    names are compared with the question and the layout.
    """
    if not answer.proven:
        return
    text = answer.claim
    heads = {"smallest by ": Status.FOUND, "no layout under ": Status.IMPOSSIBLE}
    for head, status in heads.items():
        if text.startswith(head) and answer.status is not status:
            yield f"it says {answer.status}, and its claim begins with '{head}...'"
    smallest = _SMALLEST.match(text)
    if smallest:
        said = tuple((name, int(value)) for name, value in _VALUE.findall(smallest[1]))
        own = tuple((_values(asked, answer) or {}).items())
        # The claim may go on with further measures.
        if said[: len(own)] != own:
            shown = ", ".join(f"{name} {value}" for name, value in own)
            yield f"its claim says '{smallest[1]}', and its layout has {shown}"
    for name, most in _AT_MOST.findall(text):
        asked_most = getattr(asked.spec.limits, _LIMIT_AT[name])
        if asked_most != int(most):
            yield f"its claim says '{name} at most {most}', and {asked_most} was asked"
    rules = _RULES.search(text)
    if rules:
        own_delays = ", ".join(map(str, asked.rules.buffer_delays))
        if (rules[1], rules[2]) != (str(asked.rules.reach), own_delays):
            yield f"its claim is about another medium than its question: '{rules[0]}'"


def box_faults(
    asked: Canonical,
    known: Answer | Beyond,
    boxes: Iterable[BoxAnswer],
    called: str = "its layout",
) -> Iterator[str]:
    """Faults where a layout that is kept, ``called`` so, lies in a box that is ruled out."""
    layout, delay = known.layout, known.delay
    if layout is None or delay is None:
        return
    own = BoxQuestion(layout.size, delay, layout.part_count)
    problem = Problem(asked.spec, asked.minimize, asked.rules)
    for box in boxes:
        if covers(problem, box.question, own):
            yield f"{called} lies in a box that the store rules out: {box.question}"


def shown_needs(missing: list[BoxQuestion]) -> str:
    """The boxes that are not ruled out, in a few words: how many, and the first of them."""
    first = missing[0]
    text = f"{show_size(first.size)}, delay at most {first.delay}"
    if len(missing) == 1:
        return f"the store does not rule out {text}"
    return f"the store does not rule out {len(missing)} boxes (the first: {text})"
