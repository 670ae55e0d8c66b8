"""Slices of chains placed in steps: each step alone, behind the one before it, from end to end.

A box with room for a whole slice is too much to place a network in at once. So its network is
divided (``steps``), and each step is placed in a small box of its own: its tracks enter where the
step before has sent them, and leave where the solver likes. What enters the first step is the input
of the link, at a place that is chosen; what leaves the last one is its output, at the same place
across. A cell behind it stands the buffer of the link. Between steps is a seam, one cell long, with
the wires of the tracks.

The smallest slices come of *close* steps. Every track crosses by a buffer, so that steps are kept
from one another, and the last step, which is the hardest, is placed first, with its tracks and the
links where the solver likes. Then boxes of 3 x 2 x 6 cells hold three or four inverters.

Where the link delay is limited, or a network needs more than three tracks, boxes are taller and
seams *one-way*: a track that is not on the way from link to link crosses by a buffer. That takes a
tick which no copy of a row has to wait for, and it keeps the steps from one another: what a step
makes of such a track cannot run back. Four or five tracks are then placed as soon as three wires.
The way from link to link has no buffer but the last, so its wires reach only so far.

Nothing of a slice but that buffer is near the copy behind it. Like everything that places known
signals it proves nothing, and what it finds is to be shrunk.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import product

from synth.bounds import least_link_delay
from synth.encoding import Question
from synth.encoding.placing.signals import Signals, without_repeats
from synth.layout import Layout, Pin
from synth.medium import WIRE, Block, Cell, Direction, Joint, Size
from synth.questions.problem import Problem
from synth.search.placing.behind import BY_BUFFER, WIDTH, Attempts, closed, cross, is_right, suits
from synth.search.placing.networks import LinkPath, Network, networks, ticks_of_network
from synth.search.placing.pools import pools
from synth.search.placing.steps import CLOSE, LOW, TALL, Manner, Step, Steps, divided
from synth.search.placing.turns import share_of_round
from synth.search.workers.solvers import PLACING_SOLVER
from synth.search.workers.task import Task
from synth.spec import Limits, PinDemand, Spec

SHARE = 16_000
"""The conflicts of one try in a cheap round; other rounds give it a power of two as many."""

SEEDS = 2
"""How often each box of a further step is tried; of the first one ``Manner.seeds`` says it."""

SENT_ON = 2
"""From how many layouts of a step it is gone on to the next one."""

DEPTH = 5
"""The most inverters in a row of the networks."""

MOST_WAYS = 6
"""Ways to divide the network that are tried in a round."""

MOST_NETWORKS = 40
"""How many networks of a size are looked at: many of them need too many tracks."""

MANY = 5
"""How many times as many for one-way steps: few of them are soon placed."""

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
    if not suits(spec):
        return
    ways = _ways(problem, own)
    work = _Stepping(problem, spec, seed, fits)
    work.first_seed = seed
    for _ in work.in_rounds():
        for manner, steps in ways:
            done = yield from work.placed(manner, steps)
            work.first_seed += manner.seeds
            layout = None if done is None else joined(spec, manner, steps, done)
            if layout is not None and is_right(layout, problem, own):
                yield layout


Way = tuple[Manner, Steps]
"""How a network is divided and placed."""


def _ways(problem: Problem, own: Limits) -> list[Way]:
    """Ways to divide networks, those first that are soonest placed, and no two alike."""
    spec = problem.spec
    depth = min(DEPTH, ticks_of_network(spec, problem.limits.delay or 0))
    # The buffer of the link takes a tick.
    row = depth if own.link_delay is None else max(0, own.link_delay - 1)
    ways: list[Way] = []
    for manner in (CLOSE, LOW, TALL) if own.link_delay is None else (TALL, LOW):
        if own.height is not None and own.height < manner.height:
            continue
        if not _places(manner, len(spec.chain)):
            continue
        if manner.one_way and own.link_delay is None and any(not one.close for one, _ in ways):
            continue
        until = time.monotonic() + LOOK_S
        if manner.one_way and own.link_delay is not None:
            # What the way needs no inverter for is for buffers on it.
            needed = max(0, min(row, least_link_delay(spec).ticks - 1))
            manner = replace(manner, restored=row - needed)
        path = LinkPath(spec.chain, row - manner.restored, apart=manner.one_way)
        limited = manner.one_way or own.link_delay is not None
        found = networks(
            spec.function,
            depth,
            most=MOST_NETWORKS * (MANY if manner.one_way else 1),
            until=until,
            path=path if limited else None,
        )
        chosen: Iterable[Network] = found
        if manner.one_way:
            chosen = sorted(found, key=lambda network: network.connections)[:MOST_NETWORKS]
        different: dict[object, Steps] = {}
        for steps in divided(chosen, spec.chain, manner, time.monotonic() + LOOK_S):
            if manner.close and len(steps) == 1:
                # Nothing says where its links are. Low steps are as small there.
                continue
            different.setdefault(tuple(_shape(spec, step) for step in steps), steps)
        ways += [(manner, steps) for steps in list(different.values())[:MOST_WAYS]]
    return ways


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


def _places(manner: Manner, links: int) -> list[tuple[int, int]]:
    """Where the links are, (y, z), one above the other; none if they are too many.

    In the middle, or with as much room as may be between them where others pass in one-way seams.
    """
    lowest = manner.height // 2 - (links - 1)
    if lowest < 0:
        return []
    apart = 2
    if manner.one_way:
        lowest, apart = 1, (manner.height - 3) // max(1, links - 1)
    return [(0, lowest + apart * number) for number in range(links)]


class _Stepping(Attempts):
    """Places steps.

    Attributes:
        first_seed: of the next way. No two ways or rounds have a seed in common: ways differ
            little, and what one seed does not place of one it seldom places of another.
    """

    first_seed = 0

    def placed(self, manner: Manner, steps: Steps) -> Tries:
        """All of some steps: from the first on, or from the last on."""
        order = range(len(steps))
        return self._placed(
            manner, steps, [*(reversed(order) if manner.from_end else order)], {}, 0
        )

    def _placed(
        self,
        manner: Manner,
        steps: Steps,
        order: list[int],
        crossings: Mapping[str, tuple[int, int]],
        taken: int,
    ) -> Tries:
        """Steps by number, in order, of which it is known where tracks to those placed cross.

        ``taken``: the cells along the chain that others take, with their seams.
        """
        if not order:
            return []
        (number, *others), sent = order, 0
        step, last = steps[number], number == len(steps) - 1
        share = SHARE * share_of_round(self.rounds)
        count = SEEDS if taken else manner.seeds
        seeds = range(self.first_seed, self.first_seed + count)
        for seed, length, (signals, ticks) in product(
            seeds, manner.lengths, _signals(manner, step, last)
        ):
            along = taken + length + 1
            least = along + (manner.lengths[0] + 1) * len(others)
            if not self.fits((least, WIDTH, manner.height)):
                continue
            size = (length, WIDTH, manner.height)
            spec = self._spec(manner, steps, number, crossings, length)
            key = (steps, number, size, ticks, *(ask.at for ask in spec.pins.values()))
            question = Question(spec, size, ticks, rules=self.problem.rules)
            task = Task(question, PLACING_SOLVER, seed, signals=signals, conflicts=share)
            layout = yield from self.ask(task, key)
            if layout is None:
                continue
            found = {pin.name: pin.at[1:] for pin in layout.pins}
            further = yield from self._placed(manner, steps, others, {**crossings, **found}, along)
            if further is not None:
                return [*further, layout] if manner.from_end else [layout, *further]
            sent += 1
            if sent == SENT_ON:
                return None
        return None

    def _spec(
        self,
        manner: Manner,
        steps: Steps,
        number: int,
        crossings: Mapping[str, tuple[int, int]],
        length: int,
    ) -> Spec:
        """What is asked of a step in a box of some length."""
        step, whole = steps[number], self.spec
        pins: dict[str, PinDemand] = {}
        for name in (*step.network.function.inputs, *step.network.function.outputs):
            across = self._across(manner, step, name, crossings) or crossings.get(name)
            by_buffer = whole.linked(name) or _by_buffer(manner, step, name)
            joint = Joint.BUFFER if by_buffer else Joint.WIRE
            if name in step.entering:
                at = None if across is None else (0, *across)
                pins[name] = PinDemand((Direction.NX,), at, joint)
            elif name in step.leaving:
                at = None if across is None else (length - 1, *across)
                pins[name] = PinDemand((Direction.PX,), at, joint)
            else:
                pins[name] = PinDemand(whole.faces(name), None, whole.joint(name))
        return Spec(step.network.function, pins=pins, ground=whole.ground)

    def _across(
        self, manner: Manner, step: Step, name: str, crossings: Mapping[str, tuple[int, int]]
    ) -> tuple[int, int] | None:
        """Where a link crosses, (y, z): at the ends of the box, and at one-way seams straight on.

        Turns would cost its wires strength. Close steps have it where the last one has its output.
        """
        if manner.close:
            outputs = {link.input: link.output for link in self.spec.chain}
            return crossings.get(outputs.get(name, name))
        linked = name if self.spec.linked(name) else None
        if manner.one_way:
            linked = step.linked.get(name, linked)
        places = _places(manner, len(self.spec.chain))
        # Which of them is the higher one may matter.
        turned = manner.one_way and self.rounds % 2 == 1
        for link, place in zip(
            self.spec.chain, reversed(places) if turned else places, strict=True
        ):
            if linked in (link.input, link.output):
                return place
        return None


def _by_buffer(manner: Manner, step: Step, track: str) -> bool:
    """Whether a track crosses its seam by a buffer."""
    if manner.close:
        return True
    seam = step.number - (track in step.entering)
    return manner.one_way and (track not in step.linked or seam < manner.restored)


def _signals(manner: Manner, step: Step, last: bool) -> list[tuple[Signals, int]]:
    """The signals of a step, and its ticks: without any that buffers repeat, then with them.

    One-way steps, and the last close one, have their tracks where they like, and need none.
    """
    ticks = step.ticks
    (repeated, *_) = pools([step.network], ticks + 1, chained=True)
    bare = (without_repeats(repeated), ticks)
    free = manner.one_way or (manner.close and last)
    return [bare] if free else [bare, (repeated, ticks + 1)]


def joined(spec: Spec, manner: Manner, steps: Steps, done: list[Layout]) -> Layout:
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
                buffered = linked or _by_buffer(manner, step, pin.name)
                block = BY_BUFFER if buffered else WIRE
                cross(cells, (seam, y, z), block, spec)
                if linked:
                    pins.append(replace(pin, at=(seam, y, z)))
            elif pin.name in spec.pin_names:
                pins.append(replace(pin, at=(x + before, y, z)))
        before = seam + 1
    return closed(spec, done, before, cells, pins)
