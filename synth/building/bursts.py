"""Bursts of placements, from many starts: in this process, or several at once beside it."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Generator
from dataclasses import dataclass

from synth.building.annealing import HEAT, Annealed, Price, anneal
from synth.building.mapping import NandNetwork
from synth.building.placing import Taste
from synth.search.workers.child import serve
from synth.shrinking.crew import Alone, Crew, Helpers

AGAIN = 0.002
"""``HEAT`` for a start that has been annealed before."""

STARTS = ((1, 0.6), (0, 0.0), (1, 0.8), (3, 0.6), (1, 0.0), (2, 0.8), (0, 0.6), (1, 1.0))
"""Free lanes before each input, and pull, of one start after the other. Which is best differs from
circuit to circuit; free lanes gave an arithmetic unit of 98 NANDs a fifth less area, and a pull
another sixth (4 starts, 1,500 rounds each)."""

BURST = 600
"""Placements from one start. Then as many more from the best so far, and another start."""


def started(network: NandNetwork, number: int) -> Taste:
    """The taste that a start begins with, by its number."""
    free, pull = STARTS[number % len(STARTS)]
    heads: list[str | None] = []
    for name in network.inputs:
        heads += [*[None] * free, name]
    return Taste(heads, pull=pull)


@dataclass(frozen=True)
class Burst:
    """Placements to try from one start.

    Attributes:
        network: what to place.
        taste: what to begin with.
        rounds: how many placements.
        seed: same seed, same placements.
        heat: as ``anneal`` has it.
        price: what is to be small.
        start: the number of the start.
    """

    network: NandNetwork
    taste: Taste
    rounds: int
    seed: int
    heat: float
    price: Price
    start: int = 0

    def run(self, until: float | None = None, parent: int | None = None) -> Annealed:
        """The best placement.

        Args:
            until: when to end, on the monotonic clock; None: after all rounds.
            parent: the process to live as long as; None: none.
        """

        def stop() -> bool:
            if parent is not None and os.getppid() != parent:
                os._exit(1)
            return until is not None and time.monotonic() >= until

        return anneal(
            self.network,
            self.taste,
            rounds=self.rounds,
            seed=self.seed,
            heat=self.heat,
            price=self.price,
            stop=stop,
        )


Until = Callable[[], float | None]


class Bursts:
    """Draws bursts: from a new start, from the best so far, from another start, and so on.

    Args:
        network: what to place.
        seed: same seed and answers, same bursts.
        price: what is to be small.
        rounds: at most so many placements in all, or None.

    Attributes:
        count: how many bursts there were.
        tried: how many placements were to be tried in them.
        best: the cheapest of those that were kept.
        idle: bursts since the last that was cheaper than all before.
    """

    def __init__(
        self, network: NandNetwork, *, seed: int, price: Price, rounds: int | None = None
    ) -> None:
        self.network = network
        self.seed = seed
        self.price = price
        self.left = rounds
        self.count = 0
        self.tried = 0
        self.best: Annealed | None = None
        self.idle = 0

    @property
    def over(self) -> bool:
        """Whether the rounds are used up."""
        return self.left == 0

    def next(self) -> Burst:
        """The next burst."""
        start, again = divmod(self.count, 2)
        taste, heat = started(self.network, self.seed + start), HEAT
        if again and self.best is not None:
            taste, heat = self.best.taste, AGAIN
        rounds = BURST if self.left is None else min(BURST, self.left)
        seed = self.seed + self.count
        number = start % len(STARTS)
        burst = Burst(self.network, taste, rounds, seed, heat, self.price, number)
        self.count += 1
        self.tried += rounds
        if self.left is not None:
            self.left -= rounds
        return burst

    def run(self, workers: int, until: Until) -> Generator[tuple[Burst, Annealed], None, None]:
        """Burst after burst as it ends, until the rounds are used up or the time is.

        Args:
            workers: processes that place at once; 1: this one alone.
            until: when to end, on the monotonic clock, asked again after each burst; None: never.
        """
        crew = placers(workers)
        asked: dict[int, Burst] = {}

        def is_late() -> bool:
            end = until()
            return end is not None and time.monotonic() >= end

        try:
            while not is_late():
                for place in range(crew.places):
                    if place not in asked and not self.over:
                        asked[place] = self.next()
                        crew.ask(place, asked[place])
                if not asked:
                    return
                taken = crew.take(until())
                if taken is not None:
                    place, found = taken
                    burst = asked.pop(place)
                    if found is not None:
                        yield burst, found
        finally:
            crew.close()

    def keep(self, found: Annealed) -> None:
        """Go on from a placement, because it can be painted, if it is the cheapest so far."""
        self.idle += 1
        if self.best is None or found.price < self.best.price:
            self.best = found
            self.idle = 0


Placers = Crew[Burst, Annealed | None]
"""Who tries bursts; None is the answer of a process that died."""


def placers(workers: int) -> Placers:
    """One worker is this process; more are child processes, to be closed in the end."""
    if workers == 1:
        return Alone(Burst.run)
    return Helpers(workers, "synth.building.bursts", None)


def main() -> None:
    """In a child process: try one burst after the other."""
    serve(lambda burst, parent: burst.run(parent=parent), None)
