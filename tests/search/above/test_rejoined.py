"""Slices of chains with wire joints, made with buffers first."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import islice
from types import SimpleNamespace
from typing import Any

import pytest

from synth.composing.kept_slices import slices_of
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Joint, Size
from synth.questions.problem import Problem
from synth.search.above import rejoined as rejoined_module
from synth.search.above.apart import Apart
from synth.search.above.rejoined import LARGER_START, SHRUNK, rejoined
from synth.search.placing.turns import Tries
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.waiting import GUARD_S


def chained(text: str, joint: str, **limits: int) -> Spec:
    return Spec.parse(text, stack="x", chain=[("co", "ci")], joint=joint, **limits)


PARITY = chained("co = a ^ ci", "wire", delay=12)
KNOWN_BY_NONE = chained("q = a; co = a ~^ ci", "wire", delay=8)


def made(spec: Spec, smallest: float = math.inf) -> Iterator[Layout | None]:
    deadline = time.monotonic() + GUARD_S
    return rejoined(Problem.of(spec)[0], spec.limits, 0, deadline, lambda: smallest)


def test_a_slice_that_is_kept_with_buffers_is_given_its_joints() -> None:
    found = next(layout for layout in made(PARITY) if layout is not None)
    verdict = check(found, PARITY)
    assert verdict.passes, verdict.faults
    assert found.pins[0].joint is Joint.WIRE


def test_of_other_joints_and_without_a_chain_nothing_is_made() -> None:
    assert list(made(chained("co = a ^ ci", "buffer", delay=12))) == []
    assert list(made(Spec.parse("q = a ^ b", delay=4))) == []


def test_what_is_placed_is_given_its_joints_as_well(monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[Layout] = []
    placed, smaller = Layout((4, 2, 4), {}), Layout((4, 2, 3), {})

    def shrunk(layout: Layout, spec: Spec, **others: Any) -> SimpleNamespace:
        assert layout == placed
        return SimpleNamespace(layout=smaller)

    class Placed:
        def __init__(self, problem: Problem, *others: Any) -> None:
            assert {problem.spec.joint(name) for name in problem.spec.pin_names} == {Joint.BUFFER}

        def tries(self) -> Iterator[Layout]:
            yield placed

    class Opened(Placed):
        def tries(self) -> Iterator[Layout]:
            yield from ()

    def jointed(layout: Layout, *others: Any) -> Tries:
        given.append(layout)
        yield
        return layout

    monkeypatch.setattr(rejoined_module, "PlacedStarts", Placed)
    monkeypatch.setattr(rejoined_module, "Opened", Opened)
    monkeypatch.setattr(rejoined_module, "jointed", jointed)
    monkeypatch.setattr(rejoined_module, "is_right", lambda *others: True)
    monkeypatch.setattr(rejoined_module, "shrink", shrunk)
    assert [one for one in made(KNOWN_BY_NONE) if one is not None] == [smaller] * SHRUNK
    assert given == [smaller] * SHRUNK


def test_boxes_beyond_limits_or_far_larger_are_of_no_use(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Callable[[Size], bool]] = []

    def jointed(layout: Layout, problem: Problem, own: Limits, fits: Any) -> Tries:
        asked.append(fits)
        yield
        return None

    monkeypatch.setattr(rejoined_module, "jointed", jointed)
    spec = PARITY.replace(limits=Limits(delay=12, length=7))
    assert list(islice(made(spec, 40), 2)) == [None, None]
    (fits,) = asked
    assert fits((7, 2, 4))
    assert not fits((8, 1, 3))
    assert not fits((6, 2, int(LARGER_START * 40 / 12) + 1))


def test_a_slice_with_wires_is_made_apart_first() -> None:
    deadline = time.monotonic() + GUARD_S
    problem = Problem.of(PARITY)[0]
    work = Apart(problem, PARITY.limits, 0, deadline)
    assert work.comes_first
    found = work.first(GUARD_S)
    assert found is not None
    assert check(found, PARITY).passes
    other = chained("co = a ^ ci", "buffer", delay=12)
    assert not Apart(Problem.of(other)[0], other.limits, 0, deadline).comes_first


def test_a_start_that_is_wrong_with_buffers_is_asked_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With faces asked that the kept slice has not."""
    asked: list[Layout] = []

    def jointed(layout: Layout, *others: Any) -> Tries:
        asked.append(layout)
        yield
        return None

    monkeypatch.setattr(rejoined_module, "jointed", jointed)
    kept = next(slices_of(chained("co = a ^ ci", "buffer"), DEFAULT_RULES))
    (at,) = (pin.face for pin in kept.pins if pin.name == "a")
    spec = PARITY.replace(
        pins={**PARITY.pins, "a": replace(PARITY.pins["a"], faces=(at.opposite,))}
    )
    assert list(islice(made(spec), 1)) == [None]
    assert not asked


def test_a_delay_that_was_only_assumed_is_the_one_that_is_asked() -> None:
    deadline = time.monotonic() + GUARD_S
    spec = chained("co = a ^ ci", "wire", delay=12)
    found = next(
        layout
        for layout in rejoined(Problem.of(spec)[0], Limits(), 0, deadline, lambda: math.inf)
        if layout is not None
    )
    assert check(found, spec).passes
