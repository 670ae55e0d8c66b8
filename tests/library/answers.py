"""Questions that are answered in a moment, and made-up answers to others."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from synth.layout import Layout
from synth.library import Canonical
from synth.library.answer import Answer
from synth.medium import SOLID, Direction, Joint
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.search import Outcome, solve
from synth.spec import Limits, Spec

VOLUME = ("volume",)


@cache
def solved(text: str = "q = a & ~b", **limits: int | str) -> tuple[Spec, Outcome]:
    """A small question and its real answer."""
    small: dict[str, int | str] = {"length": 3, "width": 2, "height": 3, "delay": 2}
    spec = Spec.parse(text, **(small | limits))
    return spec, solve(spec, workers=1)


@cache
def pins_asked() -> tuple[Spec, Outcome]:
    """The answer to a question in which no two pins are asked the same."""
    spec = Spec.parse("q = ~a | b | c", length=2, width=2, height=2, delay=2)
    asks = spec.pins | {
        "a": replace(spec.pins["a"], faces=(Direction.NX,)),
        "c": replace(spec.pins["c"], joint=Joint.BUFFER),
    }
    asking = spec.replace(pins=asks)
    return asking, solve(asking, workers=1)


def question(delay: int = 2, text: str = "q = a & ~b", length: int = 20) -> Canonical:
    """A question in canonical form, with room for the boxes that are made up here."""
    return Canonical.of(Problem(Spec.parse(text, delay=delay, length=length), VOLUME))[0]


def box(length: int, parts: int = 0) -> Layout:
    """A layout of so many cells, with so many parts; it computes nothing."""
    cells = {(x, 0, 0): SOLID for x in range(parts)}
    return Layout((length, 1, 1), cells)


def found(volume: int, parts: int = 0, **more: object) -> Answer:
    """A made-up smallest layout."""
    return _answer(Status.FOUND, True, box(volume, parts), more)


def best_so_far(volume: int | None, bound: int | None, **more: object) -> Answer:
    """A made-up undecided answer."""
    layout = None if volume is None else box(volume)
    return _answer(Status.UNDECIDED, False, layout, more | {"bound": bound})


def impossible(**more: object) -> Answer:
    """A made-up answer of impossible."""
    return _answer(Status.IMPOSSIBLE, True, None, more)


def _answer(status: Status, proven: bool, layout: Layout | None, more: dict[str, object]) -> Answer:
    plain: dict[str, object] = {
        "delay": None if layout is None else 1,
        "claim": f"made up: {status}",
        "proof": "answers of cadical195, no proof kept" if proven else None,
        "solver": "cadical195",
        "seconds": 1.0,
        "version": "0.0.1",
        "made": "2026-01-01",
    }
    return Answer(status, proven, layout, **(plain | more))  # type: ignore[arg-type]


def free_limits(spec: Spec) -> Spec:
    """The same function and pins without limits."""
    return spec.replace(limits=Limits())
