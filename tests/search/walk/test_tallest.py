"""Tall boxes are asked about for all lower ones: before a known layout, and where they are easy."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import synth
from synth.proofs.certificate_index import INDEX, Index
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.events import BoxStarted, Event
from synth.questions.journal import Journal
from synth.questions.outcome import Outcome, Status
from synth.search.walk.solve import solve
from synth.spec import Spec
from tests.proofs.certificates import forge

SPEC = Spec.parse("q = ~(a | b)", length=3, width=2, height=4, delay=1, stack="y")


class Sizes:
    """The boxes asked about, in order."""

    def __init__(self) -> None:
        self.asked: list[tuple[int, int, int]] = []

    def event(self, event: Event) -> None:
        if isinstance(event, BoxStarted):
            self.asked.append(event.size)


def known_ahead(spec: Spec = SPEC) -> Journal:
    """A journal that knows a layout, of the first box that is not the smallest."""
    smallest = solve(spec, workers=1).layout
    assert smallest is not None
    length, width, height = smallest.size
    size = (length, width, height + 1)
    journal = Journal({})
    journal.note(BoxAnswer(BoxQuestion(size, 1), smallest.replace(size=size)))
    return journal


def asked_of(outcome: Outcome) -> tuple[object, ...]:
    assert outcome.layout is not None
    return (outcome.status, outcome.layout.size, outcome.layout.part_count)


def test_fewer_questions_and_the_same_answer() -> None:
    first, with_all, without, plain = Sizes(), Sizes(), Sizes(), Sizes()
    unknown = solve(SPEC, workers=1, reporter=first)
    alone = solve(SPEC, workers=1, reporter=plain, without=["tallest"])
    tallest = solve(SPEC, workers=1, reporter=with_all, journal=known_ahead())
    each = solve(SPEC, workers=1, reporter=without, journal=known_ahead(), without=["tallest"])
    assert asked_of(unknown) == asked_of(alone) == asked_of(tallest) == asked_of(each)
    assert set(with_all.asked) < set(without.asked) <= set(plain.asked)
    # Easy boxes stand in for lower ones before any layout is known.
    assert len(first.asked) < len(plain.asked)
    # However it came about, as much is ruled out.
    assert unknown.claim == alone.claim == tallest.claim == each.claim


def test_stacked_upwards_each_box_is_asked_about() -> None:
    spec = Spec.parse("q = ~a", length=2, width=1, height=3, delay=1, stack="z")
    plain, ahead = Sizes(), Sizes()
    outcome = solve(spec, workers=1, reporter=plain, without=["tallest"])
    again = solve(spec, workers=1, reporter=ahead)
    assert outcome.status is again.status
    assert set(plain.asked) == set(ahead.asked)


def test_certificate_rests_on_taller_boxes(tmp_path: Path) -> None:
    folder = tmp_path / "c"
    outcome = solve(SPEC, workers=1, journal=known_ahead(), certificate=folder)
    assert outcome.status is Status.FOUND
    index = json.loads((folder / INDEX).read_text("utf-8"))
    sizes = ["x".join(map(str, box["size"])) for box in index["boxes"]]
    shown_by = [box["shown_by"] for box in index["boxes"]]
    assert not all(size in stem for size, stem in zip(sizes, shown_by, strict=True))
    report = synth.audit(folder)
    assert report.passes, report.problems
    assert any("shown by taller ones" in line for line in report.rests_on)

    # Lower boxes do not show what a taller one needs.
    def lowered(index: Index) -> Index:
        shortest = min(index.boxes, key=lambda box: box[0].size[2])[1]
        boxes = tuple((need, shortest) for need, _ in index.boxes)
        return replace(index, boxes=boxes)

    forge(folder, lowered)
    assert not synth.audit(folder, symmetry=False).passes
