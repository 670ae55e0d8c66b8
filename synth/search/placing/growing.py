"""Grows a slice of a chain: places the signals of a small network one by one.

A box of a hundred cells is too much to place a network in at once. So its inverters and outputs
are goals (``synth.encoding.placing.growth``), reached one after another: each time all cells but
those of a window stay as they are. Where a goal is not to be had, the window is changed without
it: a part goes, or an inverter moves elsewhere. After many tries without a new goal another network
is begun. Like everything that places known signals it proves nothing, and what it finds is to be
shrunk.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass, field
from typing import Any

from synth.encoding import Question
from synth.encoding.placing.growth import Growth, encode_growth, output_goal
from synth.encoding.placing.signals import REPEATED, Origin, Signal, Signals
from synth.layout import Layout
from synth.medium import AXES, Cell, Size
from synth.questions.problem import Problem
from synth.search.placing.networks import Network, inverter_name, networks, ticks_of_network
from synth.search.workers.task import works
from synth.spec import Limits

SOLVER = "glucose42"
"""It takes assumptions, a budget, and keeps its phases: so it stays near the last placement."""

CONFLICTS = 1_000
"""The conflicts of one try."""

PATIENCE = 300
"""Tries without a new goal after which another network is begun."""

WINDOWS = (36, 44, 52, 60, 70)
"""Cells of a window: one is drawn."""

CELLS = 18
"""Cells of the box for each inverter."""

SHORTEST, FEW = 4, 4
"""The least length of a box along the chain; how many inverters count as few."""

LOW, HIGH = (5,), (5, 6, 7)
"""Heights of a box for few inverters and for more: one is drawn."""

DEPTH = 5
"""The most inverters in a row of the networks."""

CHANGES = 2
"""How often a window is changed after a goal was not to be had there."""

LOOK_S = 10.0
"""Seconds after which no further networks are looked for."""

MOST_UNFIT = 20
"""Boxes in a row of no use after which none is thought to be of use."""

NEAR_SIGNALS = 0.6
"""How many windows lie where a signal is that the goal needs."""


def grown(
    problem: Problem, own: Limits, seed: int = 0, fits: Callable[[Size], bool] = lambda size: True
) -> Iterator[Layout | None]:
    """Slices of a chain, larger than need be: a layout when one is found, and None after each try.

    Args:
        problem: what is asked.
        own: the limits that the user gave; others do not hold here.
        seed: of all draws.
        fits: whether a box is still of use; asked anew for each.
    """
    spec = problem.spec.replace(limits=own)
    delay = problem.limits.delay or 0
    depth = min(DEPTH, ticks_of_network(spec, delay))
    found = list(networks(spec.function, depth, more=0, until=time.monotonic() + LOOK_S))
    generator = random.Random(seed)
    unfit = 0
    while found and unfit < MOST_UNFIT:
        network = generator.choice(found)
        size = _box(problem, own, len(network.hears), generator)
        if not fits(size):
            unfit += 1
            continue
        unfit = 0
        question = Question(spec, size, delay, rules=problem.rules)
        growth = encode_growth(question, _signals(network, problem))
        layout = yield from _Growing(network, growth, generator).tries()
        yield layout if layout is not None and works(layout, question) else None


def _box(problem: Problem, own: Limits, inverters: int, generator: random.Random) -> Size:
    """A box with room for a network, longer or shorter along the chain by chance."""
    stack = problem.spec.stack
    assert stack is not None
    along = AXES.index(stack.axis)
    across = own.length if along else own.width
    width = min(2, across or 2)
    height = generator.choice(HIGH if inverters > FEW else LOW)
    height = min(height, own.height or height)
    length = max(SHORTEST, math.ceil(CELLS * inverters / (width * height)))
    longest = own.width if along else own.length
    length = min(length + generator.choice((-1, 0, 0, 1)), longest or length + 1)
    return (width, length, height) if along else (length, width, height)


def _signals(network: Network, problem: Problem) -> Signals:
    """The signals of a network; early ones, and those of links, are repeated by buffers as well."""
    links = {link.output for link in problem.spec.chain}
    outputs = dict(zip(network.function.outputs, network.outputs, strict=True))
    handed_on = {name for link in links for name in outputs[link]}
    signals = network.signals()
    repeated = [
        Signal(signal.name + REPEATED, signal.rows, signal.tick + 1, Origin.BUFFER)
        for signal in signals
        if signal.tick <= 1 or signal.name in handed_on
    ]
    return Signals((*signals, *repeated), network.met)


@dataclass
class _Growing:
    """One box, one network."""

    network: Network
    growth: Growth
    generator: random.Random
    reached: list[str] = field(default_factory=list)
    model: set[int] = field(default_factory=set)

    def tries(self) -> Generator[None, None, Layout | None]:
        """One None after each try; returns a layout with every goal reached, or None."""
        from pysat.solvers import Solver

        growth = self.growth
        with Solver(name=SOLVER, bootstrap_with=growth.formula.clauses) as solver:
            if not self._ask(solver, [], CONFLICTS):
                return None
            idle = 0
            while len(self.reached) < len(growth.goals) and idle < PATIENCE:
                goal = self.generator.choice(self._ready()[:2])
                window = self._window(goal)
                idle += 1
                if self._ask(solver, [*self._held(window), growth.goals[goal]], CONFLICTS):
                    self.reached.append(goal)
                    idle = 0
                else:
                    for _ in range(CHANGES):
                        change = self._change(window)
                        self._ask(solver, [*self._held(window), *change], CONFLICTS // 2)
                yield
        return growth.decode(self.model) if len(self.reached) == len(growth.goals) else None

    def _ask(self, solver: Any, assumptions: list[int], conflicts: int) -> bool:
        """Whether there is a placement; it then is the one to go on from."""
        solver.conf_budget(conflicts)
        if not solver.solve_limited(assumptions=assumptions, expect_interrupt=False):
            return False
        self.model = {literal for literal in solver.get_model() if literal > 0}
        return True

    def _needs(self, goal: str) -> tuple[str, ...]:
        """The signals that a goal is made from."""
        heard = {
            inverter_name(number): names for number, names in enumerate(self.network.hears, start=1)
        }
        outputs = zip(self.network.function.outputs, self.network.outputs, strict=True)
        return (heard | {output_goal(name): names for name, names in outputs})[goal]

    def _ready(self) -> list[str]:
        """The goals not reached whose signals are there, those of links first."""
        goals = self.growth.goals
        links = {output_goal(link.output) for link in self.growth.question.spec.chain}
        found = [
            goal
            for goal in goals
            if goal not in self.reached
            and all(need in self.reached for need in self._needs(goal) if need in goals)
        ]
        return sorted(found, key=lambda goal: goal not in links)

    def _held(self, window: set[Cell]) -> list[int]:
        """What is reached, and every cell outside a window as it is."""
        growth = self.growth
        held = [growth.goals[goal] for goal in self.reached]
        for cell, literals in growth.parts.items():
            if cell not in window:
                there = [literal for literal in literals if literal in self.model]
                held += there or [growth.empty[cell]]
        return held

    def _window(self, goal: str) -> set[Cell]:
        """Cells near some place: mostly one that carries a signal that the goal needs."""
        draw = self.generator
        cells = list(self.growth.parts)
        center = draw.choice(cells)
        if draw.random() < NEAR_SIGNALS:
            carrying = [
                cell
                for need in self._needs(goal)
                for cell, literal in self.growth.carriers[need].items()
                if literal in self.model
            ]
            center = draw.choice(carrying or cells)
        stretch = [draw.choice((0.6, 1.0, 1.0, 1.6)) for _ in AXES]

        def far(cell: Cell) -> float:
            apart = zip(cell, center, stretch, strict=True)
            return max(abs(at - own) * by for at, own, by in apart) + 0.8 * draw.random()

        return set(sorted(cells, key=far)[: draw.choice(WINDOWS)])

    def _change(self, window: set[Cell]) -> list[int]:
        """A literal against the present placement: a part goes, or an inverter moves."""
        growth, draw = self.growth, self.generator
        made = [
            literal
            for goal in self.reached
            for cell, literal in growth.makers.get(goal, {}).items()
            if cell in window and literal in self.model
        ]
        if made and draw.random() < 0.5:
            return [-draw.choice(made)]
        held = [
            cell
            for cell in sorted(window)
            if any(literal in self.model for literal in growth.parts[cell])
        ]
        return [growth.empty[draw.choice(held)]] if held else []
