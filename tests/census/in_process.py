"""A census without child processes: boxes are worked on in this one, in turns."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

import synth.census.taking
from synth.census.running import Ended, Model, Task, run

Watch = Callable[[int], None]
"""Told how much was told before, at each step; may raise."""


class HelpersHere:
    """Stands in for ``synth.census.helpers.Helpers``."""

    watch: Watch | None = None

    def __init__(self, places: int) -> None:
        self.places = places
        self._busy: list[tuple[int, Iterator[Model | Ended]]] = []
        self._steps = 0

    def __enter__(self) -> HelpersHere:
        return self

    def __exit__(self, *error: object) -> None:
        self._busy.clear()

    @property
    def busy(self) -> list[int]:
        return [number for number, _ in self._busy]

    @property
    def free(self) -> bool:
        return len(self._busy) < self.places

    def begin(self, number: int, task: Task) -> None:
        self._busy.append((number, run(task)))

    def take(self, until: float | None) -> tuple[int, Model | Ended] | None:
        if type(self).watch is not None:
            type(self).watch(self._steps)
        self._steps += 1
        number, told = self._busy.pop(0)
        what = next(told)
        if isinstance(what, Model):
            self._busy.append((number, told))
        return number, what


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> type[HelpersHere]:
    """Census without child processes."""
    monkeypatch.setattr(synth.census.taking, "Helpers", HelpersHere)
    monkeypatch.setattr(HelpersHere, "watch", None)
    return HelpersHere
