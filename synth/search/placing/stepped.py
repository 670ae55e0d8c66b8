"""Slices of chains placed in steps: each step alone, behind the one before it, from end to end.

A box with room for a whole slice is too much to place a network in at once. So its network is
divided (``steps``), and each step is placed in a small box of its own: its tracks enter where the
step before has sent them, and leave where the solver likes. What enters the first step is the input
of the link, at a place that is chosen; what leaves the last one is its output, at the same place
across. A cell behind it stands the buffer of the link. Between steps is a seam, one cell long, with
the wires of the tracks.

Nothing of a slice but that buffer is near the copy behind it. Like everything that places known
signals it proves nothing, and what it finds is to be shrunk.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass, field, replace
from itertools import product

from synth.encoding import Question
from synth.encoding.placing.signals import Signals, without_repeats
from synth.layout import Layout, Pin, Stack
from synth.medium import LEDGE, WIRE, Block, Cell, Direction, Joint, Part, Size
from synth.questions.measures import keeps
from synth.questions.problem import Problem
from synth.search.placing.networks import LinkPath, networks, ticks_of_network
from synth.search.placing.pools import pools
from synth.search.placing.steps import Step, Steps, divided
from synth.search.placing.turns import share_of_round
from synth.search.workers.solvers import PLACING_SOLVER
from synth.search.workers.task import Task, answer, works
from synth.spec import Limits, PinDemand, Spec

SHARE = 16_000
"""The conflicts of one try in a cheap round; other rounds give it a power of two as many."""

LENGTHS = (4, 5, 6)
"""Lengths of a step's box, in cells: in shorter ones little can be placed."""

WIDTH, HEIGHT = 2, 5
"""Its width and height: low boxes are soonest placed, and three tracks need so much."""

SEEDS = 2
"""How often each box is tried in a round; no two rounds have a seed in common."""

SENT_ON = 2
"""From how many layouts of a step it is gone on to the next one."""

DEPTH = 5
"""The most inverters in a row of the networks."""

MOST_WAYS = 6
"""Ways to divide the network that are tried in a round."""

MOST_NETWORKS = 40
"""How many networks of a size are looked at: many of them need too many tracks."""

LOOK_S = 10.0
"""Seconds after which no further networks are looked for."""

Tries = Generator[None, None, list[Layout] | None]
"""One ``None`` after each question to a solver; returns the steps, or None."""


def stepped(
    problem: Problem, own: Limits, seed: int = 0, fits: Callable[[Size], bool] = lambda size: True
) -> Iterator[Layout | None]:
    """Slices of a chain along x, larger than need be: one when it is found, None after each try.

    Args:
        problem: what is asked.
        own: the limits that the user gave; others do not hold here.
        seed: of the solver's order.
        fits: whether a box is still of use; asked anew for each.
    """
    spec = problem.spec.replace(limits=own)
    across = (own.width or WIDTH, own.height or HEIGHT)
    places = _places(len(spec.chain))
    if not spec.chain or spec.stack is None or spec.stack.axis != "x" or not places:
        return
    if (
        across[0] < WIDTH
        or across[1] < HEIGHT
        or any(ask.at is not None for ask in spec.pins.values())
    ):
        return
    ways = _ways(problem, own)
    work = _Stepping(problem, spec, seed, places, fits)
    while True:
        work.rounds += 1
        before = work.asked
        for steps in ways:
            done = yield from work.placed(steps)
            layout = None if done is None else joined(spec, steps, done)
            if layout is not None and _is_right(layout, problem, own):
                yield layout
        if work.asked == before:
            return


def _ways(problem: Problem, own: Limits) -> list[Steps]:
    """Ways to divide networks, those first that are soonest placed, and no two alike."""
    spec = problem.spec
    depth = min(DEPTH, ticks_of_network(spec, problem.limits.delay or 0))
    until = time.monotonic() + LOOK_S
    # The buffer of the link takes a tick.
    path = None if own.link_delay is None else LinkPath(spec.chain, max(0, own.link_delay - 1))
    found = networks(spec.function, depth, most=MOST_NETWORKS, until=until, path=path)
    ways: dict[object, Steps] = {}
    for steps in divided(found, spec.chain, until):
        ways.setdefault(tuple(_shape(spec, step) for step in steps), steps)
    return list(ways.values())[:MOST_WAYS]


def _shape(spec: Spec, step: Step) -> tuple[object, ...]:
    """What placing a step depends on, whatever its pins and tracks are called."""
    network = step.network
    numbers = {name: str(number) for number, name in enumerate(network.function.inputs)}
    groups = tuple(
        tuple(sorted(numbers.get(name, name) for name in group))
        for group in (*network.hears, *network.outputs)
    )
    named = (*network.function.inputs, *network.function.outputs)
    asked = tuple(
        (spec.faces(name), spec.joint(name)) if name in spec.pin_names else None for name in named
    )
    return (groups, asked)


def _places(links: int) -> list[tuple[int, int]]:
    """Where the links are, (y, z): one above the other in the middle; none if they are too many."""
    lowest = HEIGHT // 2 - (links - 1)
    return [] if lowest < 0 else [(0, lowest + 2 * number) for number in range(links)]


def _is_right(layout: Layout, problem: Problem, own: Limits) -> bool:
    spec = problem.spec.replace(limits=own)
    delay = problem.limits.delay or 0
    right = works(layout, Question(spec, layout.size, delay, rules=problem.rules))
    return right and keeps(layout, None, replace(own, delay=None, link_delay=None))


@dataclass
class _Stepping:
    """Places steps, and remembers what cannot be placed.

    Attributes:
        problem: what is asked.
        spec: the same with the limits that the user gave.
        seed: of the first round.
        places: where the links are, (y, z).
        fits: whether a box is still of use.
        rounds: how many have begun.
        asked: how many questions solvers were asked.
    """

    problem: Problem
    spec: Spec
    seed: int
    places: list[tuple[int, int]]
    fits: Callable[[Size], bool]
    rounds: int = field(default=0, init=False)
    asked: int = field(default=0, init=False)
    _refuted: set[tuple[object, ...]] = field(default_factory=set, init=False)

    def placed(self, steps: Steps) -> Tries:
        """All of some steps."""
        inputs = [link.input for link in self.spec.chain]
        return self._from(steps, 0, dict(zip(inputs, self.places, strict=True)), 0)

    def _from(
        self,
        steps: Steps,
        number: int,
        enters: dict[str, tuple[int, int]],
        before: int,
    ) -> Tries:
        """The steps from one on, of which it is known where the tracks enter.

        ``before``: the cells along the chain that the earlier ones take, with their seams.
        """
        if number == len(steps):
            return []
        step, sent = steps[number], 0
        first = self.seed + (self.rounds - 1) * SEEDS
        share = SHARE * share_of_round(self.rounds)
        seeds = range(first, first + SEEDS)
        for seed, length, (signals, ticks) in product(seeds, LENGTHS, _signals(step)):
            least = before + length + 1 + (LENGTHS[0] + 1) * (len(steps) - number - 1)
            if not self.fits((least, WIDTH, HEIGHT)):
                continue
            size = (length, WIDTH, HEIGHT)
            spec = self._spec(steps, number, enters, length)
            key = (steps, number, size, ticks, *enters.values())
            if key in self._refuted:
                continue
            question = Question(spec, size, ticks, rules=self.problem.rules)
            reply = answer(Task(question, PLACING_SOLVER, seed, signals=signals, conflicts=share))
            self.asked += 1
            yield
            if reply.answer == "unplaced":
                self._refuted.add(key)
            if reply.layout is None:
                continue
            leaves = {pin.name: pin.at[1:] for pin in reply.layout.outputs}
            behind = yield from self._from(steps, number + 1, leaves, before + length + 1)
            if behind is not None:
                return [reply.layout, *behind]
            sent += 1
            if sent == SENT_ON:
                return None
        return None

    def _spec(
        self, steps: Steps, number: int, enters: dict[str, tuple[int, int]], length: int
    ) -> Spec:
        """What is asked of a step in a box of some length."""
        step, whole = steps[number], self.spec
        first, last = number == 0, number == len(steps) - 1
        pins: dict[str, PinDemand] = {}
        for name in (*step.network.function.inputs, *step.network.function.outputs):
            if name in step.entering:
                joint = Joint.BUFFER if first else Joint.WIRE
                pins[name] = PinDemand((Direction.NX,), (0, *enters[name]), joint)
            elif name in step.leaving and not last:
                pins[name] = PinDemand((Direction.PX,), None, Joint.WIRE)
            elif name in step.leaving:
                at = (length - 1, *self._place(name))
                pins[name] = PinDemand((Direction.PX,), at, Joint.BUFFER)
            else:
                pins[name] = PinDemand(whole.faces(name), None, whole.joint(name))
        return Spec(step.network.function, pins=pins, ground=whole.ground)

    def _place(self, output: str) -> tuple[int, int]:
        outputs = [link.output for link in self.spec.chain]
        return self.places[outputs.index(output)]


def _signals(step: Step) -> list[tuple[Signals, int]]:
    """The signals of a step, and its ticks: without any that buffers repeat, then with them."""
    ticks = step.ticks
    (repeated, *_) = pools([step.network], ticks + 1, chained=True)
    return [(without_repeats(repeated), ticks), (repeated, ticks + 1)]


def joined(spec: Spec, steps: Steps, done: list[Layout]) -> Layout:
    """The steps one behind the other, with the wires of the seams and the buffers of the links."""
    cells: dict[Cell, Block] = {}
    pins: list[Pin] = []
    before = 0
    for step, layout in zip(steps, done, strict=True):
        seam = before + layout.size[0]
        cells |= {(x + before, y, z): block for (x, y, z), block in layout.cells.items()}
        for pin in layout.pins:
            x, y, z = pin.at
            if pin.name in step.leaving:
                linked = spec.linked(pin.name)
                cells[seam, y, z] = Block(Part.BUFFER, Direction.PX, 1) if linked else WIRE
                if z > 0 or not spec.ground:
                    cells[seam, y, z - 1] = LEDGE
                if linked:
                    pins.append(replace(pin, at=(seam, y, z)))
            elif pin.name in spec.pin_names:
                pins.append(replace(pin, at=(x + before, y, z)))
        before = seam + 1
    pins.sort(key=lambda pin: spec.pin_names.index(pin.name))
    # What a wire at height 0 of a seam lies on would be below the box.
    raised = int(any(z < 0 for _, _, z in cells))
    cells = {(x, y, z + raised): block for (x, y, z), block in cells.items()}
    pins = [replace(pin, at=(*pin.at[:2], pin.at[2] + raised)) for pin in pins]
    return Layout(
        size=(before, WIDTH, HEIGHT + raised),
        cells=cells,
        pins=tuple(pins),
        stack=Stack("x", before, spec.chain),
        ground=spec.ground,
        name=spec.name,
    )
