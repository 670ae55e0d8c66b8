"""Slices along rails: right, within limits, shrunk, and only where they may be of use."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

import pytest

from synth.layout import Layout
from synth.questions.problem import Problem
from synth.search.above import along_rails as rails_module
from synth.search.above.along_rails import along_rails
from synth.search.placing.railed import railed
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.waiting import GUARD_S

AND_SLICE = Spec.parse("co = a & ci", stack="x", chain=[("co", "ci")], joint="buffer", delay=6)
TRIES = 60


@pytest.fixture(autouse=True)
def _soon_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """One short turn each."""
    monkeypatch.setattr(rails_module, "PATIENCE_S", 1e-6)
    monkeypatch.setattr(rails_module, "TURN", 2_000)


def made(spec: Spec, smallest: float = math.inf) -> Iterator[Layout | None]:
    problem, _ = Problem.of(spec)
    deadline = time.monotonic() + GUARD_S
    return along_rails(problem, spec.limits, 0, deadline, lambda: smallest)


def first(tries: Iterator[Layout | None]) -> Layout | None:
    return next((found for found in islice(tries, TRIES) if found is not None), None)


@pytest.mark.parametrize("limits", [Limits(delay=6), Limits(delay=6, length=20, link_delay=3)])
def test_a_slice_is_right_and_smaller_than_it_was_placed(limits: Limits) -> None:
    spec = AND_SLICE.replace(limits=limits)
    found = first(made(spec))
    assert found is not None
    verdict = check(found, spec, delay=6)
    assert verdict.passes, verdict.faults
    placed = first(railed(Problem.of(spec)[0], limits))
    assert placed is not None
    assert found.volume < placed.volume


def test_a_slice_that_is_too_large_in_the_end_is_of_no_use(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    placed = first(railed(Problem.of(AND_SLICE)[0], AND_SLICE.limits))
    assert placed is not None
    monkeypatch.setattr(rails_module, "railed", lambda *_: iter([placed]))
    assert first(made(AND_SLICE, placed.volume)) is not None
    monkeypatch.setattr(rails_module, "LARGER_END", 0.0)
    assert first(made(AND_SLICE, placed.volume)) is None


def test_nothing_is_placed_that_begins_far_too_large() -> None:
    assert list(made(AND_SLICE, 1.0)) == []


@pytest.mark.parametrize(
    "spec",
    [
        Spec.parse("q = a & b", stack="x", delay=6),
        AND_SLICE.replace(limits=replace(AND_SLICE.limits, link_delay=1)),
    ],
)
def test_what_no_rails_can_be_laid_for_has_none(spec: Spec) -> None:
    assert list(made(spec)) == []
