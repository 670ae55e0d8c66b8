"""Adds an output to a layout: what stands stays as it is, and the output is placed beside it.

The signals of a right layout are known (``synth.encoding.windows.labels``): those of its inputs,
inverters and buffers. A network is found that makes one more output out of them. It has few
inverters, because much of what the output needs is there already. These are placed in a window of
empty cells: those of the box, and of slices put beside it. That is a small question even where the
whole is too large to be placed.

Slices are put only on sides without pins, so that all pins stay at the edge. Like everything that
places known signals it proves nothing: other signals, or another layout to begin with, may do.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from itertools import islice

from synth.encoding import Question
from synth.encoding.geometry import Geometry, Slot
from synth.encoding.placing.signals import Origin, Signal
from synth.encoding.windows.encoder import encode_window
from synth.encoding.windows.labels import Label, Labels
from synth.encoding.windows.surroundings import labels_of, pins_of
from synth.encoding.windows.window import Window
from synth.layout import Layout
from synth.medium import ALL_DIRECTIONS, AXES, DEFAULT_RULES, Cell, Direction, Rules, Size
from synth.search.placing.networks import Network, as_given, networks
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.search.workers.task import works
from synth.spec import BooleanFunction, Spec

CONFLICTS = 10_000
"""The conflicts of one try: what can be placed is mostly placed within a tenth of them."""

MOST_NETWORKS = 3
"""How many networks are tried for each layout, those with fewest inverters."""

MOST_ROOMS = 8
"""In how many boxes each of them is tried, the smallest first."""

SLICES = 2
"""Most slices put along an axis."""

LONGEST_RUN = 8
"""Most links between a wire and its source."""

Room = dict[Direction, int]
"""How many slices are put beside a box, by side."""


@dataclass(frozen=True)
class _Standing:
    """A layout that outputs are added to, and what it carries."""

    layout: Layout
    labels: Labels
    spec: Spec
    delay: int
    rules: Rules


def with_output(
    base: Layout,
    part: Spec,
    spec: Spec,
    delay: int,
    fits: Callable[[Size], bool] = lambda size: True,
    rules: Rules = DEFAULT_RULES,
) -> Generator[None, None, Layout | None]:
    """One None after each try; returns a layout with one output more, or None.

    Args:
        base: a layout; it meets the delay.
        part: what it was made for.
        spec: the same with one output more, the last.
        delay: T, in ticks.
        fits: whether a box is of use.
        rules: the rule table.
    """
    labels = labels_of(base, part, delay, rules=rules)
    standing = _Standing(base, labels, spec, delay, rules)
    chosen = list(_networks(standing))
    rooms = [room for room in _rooms(base, spec) if fits(_size(base, room))]
    for room in rooms[:MOST_ROOMS]:
        for network in chosen:
            found = _placed(standing, network, room)
            yield
            if found is not None and works(found, Question(spec, found.size, delay, rules=rules)):
                return found
    return None


def part_of(spec: Spec, outputs: tuple[str, ...]) -> Spec:
    """What is asked of some of the outputs."""
    whole = spec.function
    function = BooleanFunction(whole.inputs, {name: whole.outputs[name] for name in outputs})
    pins = {name: spec.pins[name] for name in (*whole.inputs, *outputs)}
    return spec.replace(function=function, pins=pins)


def _networks(standing: _Standing) -> Iterator[Network]:
    """Networks of the last output out of the signals that are there."""
    spec = standing.spec
    *_, name = spec.function.outputs
    wanted = BooleanFunction(spec.function.inputs, {name: spec.function.outputs[name]})
    there = (Signal("", rows, tick, Origin.INVERTER) for rows, tick in standing.labels.signals)
    given = as_given(there, standing.delay)
    return islice(networks(wanted, standing.delay, more=1, given=given), MOST_NETWORKS)


def _rooms(base: Layout, spec: Spec) -> list[Room]:
    """Slices on sides without pins and not along the stacking axis, the fewest cells first."""
    taken = {pin.face for pin in base.pins}
    stacked = None if spec.stack is None else spec.stack.axis
    sides = [
        side
        for side in ALL_DIRECTIONS
        if side not in taken and side.axis != stacked and not (spec.ground and side is Direction.NZ)
    ]
    rooms: list[Room] = [{}]
    rooms += [{side: count} for side in sides for count in range(1, SLICES + 1)]
    rooms += [
        {side: 1, side.opposite: 1}
        for side in sides
        if side.opposite in sides and side.value.startswith("+")
    ]
    return sorted(rooms, key=lambda room: math.prod(_size(base, room)))


def _size(base: Layout, room: Room) -> Size:
    sides = list(base.size)
    for side, count in room.items():
        sides[AXES.index(side.axis)] += count
    return (sides[0], sides[1], sides[2])


def _placed(standing: _Standing, network: Network, room: Room) -> Layout | None:
    """What a network adds, placed in the empty cells of a box with more room."""
    base, spec = standing.layout, standing.spec

    def moved(cell: Cell) -> Cell:
        x, y, z = cell
        put = [room.get(side, 0) for side in (Direction.NX, Direction.NY, Direction.NZ)]
        return (x + put[0], y + put[1], z + put[2])

    geometry = Geometry(_size(base, room))
    where = {cell: moved(cell) for cell in base.cells}
    slots = {Slot(pin.at, pin.face): Slot(moved(pin.at), pin.face) for pin in base.pins}
    free = frozenset(geometry.cells) - set(where.values())
    pins = {name: tuple(slots[slot] for slot in places) for name, places in pins_of(base).items()}
    made = [Label(signal.rows, signal.tick) for signal in network.made()]
    *_, added = spec.function.outputs
    pins[added] = tuple(slot for slot in geometry.slots() if slot.face in spec.faces(added))
    window = Window(
        spec,
        geometry.size,
        standing.delay,
        {where[cell]: block for cell, block in base.cells.items()},
        free,
        pins,
        labels=standing.labels.moved(where, slots).with_new(made, free),
        longest_run=LONGEST_RUN,
        rules=standing.rules,
    )
    encoding = encode_window(window)
    if encoding.contradicts_itself:
        return None
    from pysat.solvers import Solver

    with Solver(name=DEFAULT_SOLVER, bootstrap_with=encoding.clauses) as solver:
        solver.conf_budget(CONFLICTS)
        return encoding.decode(solver.get_model()) if solver.solve_limited() else None
