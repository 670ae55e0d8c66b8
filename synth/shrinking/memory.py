"""Remembers what was asked, so that nothing is asked twice, and what each kind of move has cost."""

from __future__ import annotations

import random
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field


@dataclass
class Memory:
    """Windows by their content: decided, or undecided within a number of conflicts."""

    decided: set[str] = field(default_factory=set)
    undecided: dict[str, int] = field(default_factory=dict)

    def knows(self, key: str, conflicts: int) -> bool:
        """Whether asking again, with that many conflicts, would tell nothing new."""
        return key in self.decided or self.undecided.get(key, 0) >= conflicts

    def note(self, key: str, answer: str, conflicts: int) -> None:
        """Keep an answer. Windows with a layout are not asked again either: walks would circle."""
        if answer == "undecided":
            self.undecided[key] = max(conflicts, self.undecided.get(key, 0))
        else:
            self.decided.add(key)
            self.undecided.pop(key, None)


FADING = 0.8
"""The share of a choice's record that stays after each gain: what helped may help no longer."""


@dataclass
class Choices:
    """Draws one of several choices by what each has gained for its effort so far.

    A rate of gains is drawn for each from what is known about it, and the best rate wins (W.
    Thompson, On the Likelihood that One Unknown Probability Exceeds Another, 1933; here for rates,
    with gamma distributions). So better choices are taken more often, and unknown ones are tried.

    Attributes:
        prices: the choices, with the effort after which one gain would be no surprise.
    """

    prices: dict[Hashable, int]
    gains: dict[Hashable, float] = field(default_factory=dict)
    effort: dict[Hashable, float] = field(default_factory=dict)

    def draw(self, generator: random.Random, among: Iterable[Hashable] | None = None) -> Hashable:
        """One of the choices, or of those in ``among``."""
        best: tuple[float, Hashable] | None = None
        for choice in self.prices if among is None else among:
            gains = 0.5 + self.gains.get(choice, 0.0)
            effort = self.prices[choice] + self.effort.get(choice, 0.0)
            rate = generator.gammavariate(gains, 1 / effort)
            if best is None or rate > best[0]:
                best = (rate, choice)
        assert best is not None
        return best[1]

    def note(self, choice: Hashable, gained: bool, effort: int) -> None:
        """Note what a choice has cost, and whether anything was gained."""
        self.effort[choice] = self.effort.get(choice, 0.0) + effort
        self.gains[choice] = self.gains.get(choice, 0.0) + gained

    def fade(self) -> None:
        """Let everything known count for less."""
        for record in (self.gains, self.effort):
            for choice in record:
                record[choice] *= FADING
