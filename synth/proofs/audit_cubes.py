"""The audit of questions that were answered by cubes: do the cubes cover the whole question?

This is worked out from the specification, not from the way in which the search splits a question.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from synth.encoding import Question, encode
from synth.encoding.formula import Formula
from synth.encoding.geometry import Slot
from synth.encoding.statics import Statics
from synth.encoding.symmetry import images
from synth.medium import Rules
from synth.proofs.audit_report import QuestionAudit
from synth.proofs.evidence import stem_of
from synth.proofs.index_entries import Split
from synth.proofs.symmetry_check import NotShown, check_symmetry
from synth.spec import Spec


class NotCovered(Exception):
    """The cubes of a question do not cover it; the text says what they leave out."""


def question_of(split: Split, spec: Spec, rules: Rules) -> Question:
    """The question that was split."""
    size, delay, parts = split.question
    return Question(spec, size, delay, parts=parts, rules=rules)


def check_cover(split: Split, question: Question, audited: Mapping[str, QuestionAudit]) -> bool:
    """Check that the cubes of a question cover it.

    In a layout that answers the question, the pin that the cubes hold has some place. It is enough
    that the layout, or one of its images that also answers the question, has the pin at a place
    where a cube holds it.

    Args:
        split: the question and the names of its cubes.
        question: the same question for the encoder.
        audited: the audits of the questions and cubes of the certificate, by name.

    Returns:
        Whether images were needed.

    Raises:
        NotCovered: if the cubes leave something out.
    """
    if split.stem != stem_of(question):
        raise NotCovered(f"{split.stem} is not the name of {split.question}")
    held: set[Slot] = set()
    pins: set[str] = set()
    for stem in split.cubes:
        audit = audited.get(stem)
        if audit is None or audit.cube is None or audit.question != split.question:
            raise NotCovered(f"{stem} is no cube of {split.stem}")
        pins.add(audit.cube.pin)
        held.add(Slot(audit.cube.cell, audit.cube.face))
    if len(pins) != 1:
        raise NotCovered(f"the cubes of {split.stem} hold {len(pins)} pins in place of one")
    statics = Statics(Formula(), question)
    (pin,) = pins
    group = images(question, statics)
    for slot in statics.slots[pin]:
        if not held & {image.slot(slot) for image in group}:
            place = f"{pin} at {list(slot.cell)} on {slot.face}"
            raise NotCovered(f"no cube of {split.stem} is left for layouts with {place}")
    return not held.issuperset(statics.slots[pin])


def images_unchecked(question: Question) -> str | None:
    """Why it was not checked on the clauses that images answer a question; None if it was."""
    try:
        check_symmetry(encode(replace(question, parts=None)))
    except NotShown as reason:
        return str(reason)
    return None
