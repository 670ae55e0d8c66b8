"""Placements tried many times over, each a little different, from many starts.

Which tastes make the smallest box is found by simulated annealing (S. Kirkpatrick
and others, 1983).
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass

from synth.building.mapping import NandNetwork
from synth.building.placing import Placement, Scheduler, Taste

HEAT = 0.005
"""Share of the price by which a worse placement may be taken at first (of 0.003, 0.01 and 0.03 the
lower ones gave smaller boxes, on an adder of four bits and a multiplier of three)."""

Price = Callable[[Placement], float]


@dataclass(frozen=True)
class Annealed:
    """What came of annealing: the best placement, how it was chosen, and what it costs."""

    placement: Placement
    taste: Taste
    price: float


def area(placement: Placement) -> float:
    """What a placement costs where nothing else is asked: its area, then its wire."""
    return placement.area + 0.05 * placement.wire


def plain(network: NandNetwork) -> Taste:
    """The taste that wishes nothing."""
    return Taste([*network.inputs])


def placed(network: NandNetwork, *, rounds: int = 0, seed: int = 0) -> Placement:
    """The best placement of a few, from the taste that wishes nothing.

    Args:
        network: what to place.
        rounds: how many placements are tried after the first.
        seed: same seed, same placement.
    """
    return anneal(network, plain(network), rounds=rounds, seed=seed).placement


def anneal(
    network: NandNetwork,
    taste: Taste,
    *,
    rounds: int,
    seed: int = 0,
    heat: float = HEAT,
    price: Price = area,
    stop: Callable[[], bool] = lambda: False,
) -> Annealed:
    """The best placement of many, none of them far from the one before.

    Args:
        network: what to place.
        taste: what to begin with.
        rounds: how many placements are tried after the first.
        seed: same seed, same placement.
        heat: share of the price by which a worse placement may be taken at first.
        price: what is to be small.
        stop: asked after every round; true ends early.
    """
    rng = random.Random(seed)
    gates = [gate.name for gate in network.gates]
    scheduler = Scheduler(network)
    first = scheduler.place(taste)
    best = now = Annealed(first, taste, price(first))
    heat *= now.price
    for number in range(rounds):
        if stop():
            break
        other = changed(now.taste, rng, gates)
        placement = scheduler.place(other)
        tried = Annealed(placement, other, price(placement))
        warmth = heat * (1 - number / rounds) ** 2 + 1e-9
        gain = now.price - tried.price
        if gain >= 0 or rng.random() < math.exp(gain / warmth):
            now = tried
            if now.price < best.price:
                best = now
    return best


def changed(taste: Taste, rng: random.Random, gates: list[str]) -> Taste:
    """A taste a little different."""
    made = Taste(
        list(taste.heads), dict(taste.urgency), dict(taste.lean), dict(taste.held), taste.pull
    )
    if rng.random() < 0.03:
        made.pull = min(1.2, max(0.0, taste.pull + rng.gauss(0, 0.15)))
        return made
    kind = rng.random()
    if kind < 0.3 and len(made.heads) > 1:
        one, other = rng.sample(range(len(made.heads)), 2)
        if rng.random() < 0.5:
            made.heads[one], made.heads[other] = made.heads[other], made.heads[one]
        else:
            made.heads.insert(other, made.heads.pop(one))
    elif kind < 0.4:
        free = [lane for lane, head in enumerate(made.heads) if head is None]
        if free and rng.random() < 0.5:
            made.heads.pop(rng.choice(free))
        else:
            made.heads.insert(rng.randrange(len(made.heads) + 1), None)
    elif gates:
        name = rng.choice(gates)
        if kind < 0.6:
            made.urgency[name] = made.urgency.get(name, 0.0) + rng.gauss(0, 1.5)
        elif kind < 0.85:
            made.lean[name] = made.lean.get(name, 0.0) + rng.gauss(0, 2.0)
        else:
            made.held[name] = max(0, made.held.get(name, 0) + rng.choice((-1, 1)))
    return made
