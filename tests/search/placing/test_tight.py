"""Halves in the smallest boxes that hold them: smaller ones before larger ones, hard ones never."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import islice

import pytest

from synth.encoding import Question
from synth.layout import Layout
from synth.medium import Size
from synth.questions.problem import Problem
from synth.search.placing import tight as tight_halves
from synth.search.placing.halves import Halves
from synth.search.placing.placer import Placer, Stage
from synth.search.placing.stages import Cut, cuts
from synth.search.placing.tight import pairs_of, tight
from synth.search.placing.turns import Tries
from synth.search.workers.task import works
from synth.spec import Spec

AND_3 = Spec.parse("q = a & b & c", stack="y", joint="buffer", width=2, delay=4)
"""Of three inputs, so that it can be cut, and soon placed."""

CUTS: list[Cut] = cuts(AND_3.function, 4, math.inf)[:4]
PLACER = Placer(Problem.of(AND_3)[0], lambda size: True)


def boxes(stage: Stage, rooms: Iterable[int]) -> list[Size]:
    """Two inverters in each, two or three storeys high."""
    return [(room // 2, 2, height) for room in rooms for height in (4, 5)]


def test_halves_that_are_joined_are_right() -> None:
    def is_right(layout: Layout) -> bool:
        return works(layout, Question(AND_3, layout.size, 4))

    assert any(found is not None for found in tight(PLACER, CUTS, boxes, 0, is_right))


def test_smaller_pairs_come_first_and_none_is_larger_than_one_of_use(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    placed: list[int] = []
    pairs = pairs_of(CUTS, boxes)
    volumes = [volume for volume, _ in pairs]
    assert volumes == sorted(volumes)
    smallest = volumes[len(volumes) // 2]
    of_pair = {halves.boxes: volume for volume, halves in pairs}

    def stub(placer: Placer, halves: Halves, share: int, seeds: tuple[int, int]) -> Tries:
        yield
        placed.append(of_pair[halves.boxes])
        return Layout((1, 1, 1), {}) if placed[-1] >= smallest else None

    monkeypatch.setattr(tight_halves, "WAYS", (stub,))
    tries = tight(PLACER, CUTS, boxes, 0, lambda layout: True)
    assert any(found is not None for found in islice(tries, 4 * len(pairs)))
    assert min(placed) == volumes[0]
    assert max(placed) == smallest


def test_hard_halves_are_not_placed(monkeypatch: pytest.MonkeyPatch) -> None:
    assert pairs_of(CUTS, boxes)
    monkeypatch.setattr(tight_halves, "EASY_HALF", 0)
    assert pairs_of(CUTS, boxes) == []
    assert list(tight(PLACER, CUTS, boxes, 0, lambda layout: True)) == []
