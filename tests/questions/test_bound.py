"""The bound told while a search goes on: it only rises, and ends at what was found."""

from __future__ import annotations

import pytest

from synth.questions.events import BoundRaised, Event
from synth.search import solve
from synth.spec import Spec


class Bounds:
    def __init__(self) -> None:
        self.values: list[int] = []

    def event(self, event: Event) -> None:
        if isinstance(event, BoundRaised):
            assert event.measure == "volume"
            self.values.append(event.value)


@pytest.mark.parametrize("workers", [1, 2])
def test_bound_rises_up_to_the_layout_found(workers: int) -> None:
    told = Bounds()
    spec = Spec.parse("q = ~(a | b)", length=2, width=2, height=3, delay=1, stack="y")
    layout = solve(spec, workers=workers, reporter=told).layout
    assert layout is not None
    assert told.values == sorted(set(told.values))
    assert told.values[-1] == layout.volume
