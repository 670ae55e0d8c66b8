"""Adds an output to a layout: what stands stays as it is, and the output is placed beside it.

The signals of a right layout are known (``synth.encoding.windows.labels``): those of its inputs,
inverters and buffers. A network is found that makes one more output out of them. It has few
inverters, because much of what the output needs is there already. These are placed in a window of
empty cells: those of the box, and of slices put beside it. That is a small question even where the
whole is too large to be placed.

Where that is in vain, a strip of what stands is freed as well, one after another along the longest
side: its signals are placed anew, together with those that are added. That costs more, and often
opens a way for the output where the empty cells alone have none.

Slices are put only on sides without pins, so that all pins stay at the edge. Like everything that
places known signals it proves nothing: other signals, or another layout to begin with, may do.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain, islice

from synth.encoding import Question
from synth.encoding.geometry import Geometry, Slot
from synth.encoding.placing.signals import Origin, Signal
from synth.encoding.windows.labels import Label, Labels
from synth.encoding.windows.surroundings import labels_of
from synth.encoding.windows.window import Window
from synth.layout import Layout
from synth.medium import ALL_DIRECTIONS, AXES, DEFAULT_RULES, Cell, Direction, Rules, Size
from synth.search.placing.networks import Network, as_given, networks
from synth.search.placing.turns import Tries
from synth.search.placing.windowed import Answer, asked_window
from synth.search.workers.task import works
from synth.spec import BooleanFunction, Spec

CONFLICTS = 10_000
"""The conflicts of one try: what can be placed is mostly placed within a tenth of them."""

MOST_NETWORKS = 3
"""How many networks are tried together for each layout, those with fewest inverters."""

MOST_ROOMS = 8
"""In how many boxes they are tried beside what stands, the smallest first."""

SLICES = 2
"""Most slices put along an axis."""

STRIP = 3
"""Length of a strip that is freed: shorter ones are mostly in vain, longer ones too hard."""

LONGEST_RUN = 8
"""Most links between a wire and its source."""

Room = dict[Direction, int]
"""How many slices are put beside a box, by side."""


@dataclass(frozen=True)
class _Standing:
    """A layout that an output is added to, and what it carries."""

    layout: Layout
    labels: Labels
    spec: Spec
    added: str
    delay: int
    rules: Rules


def with_output(
    base: Layout,
    part: Spec,
    spec: Spec,
    delay: int,
    fits: Callable[[Size], bool] = lambda size: True,
    rules: Rules = DEFAULT_RULES,
) -> Tries:
    """One None after each try; returns a layout with one output more, or None.

    First all that stands stays, then strips of it are freed.

    Args:
        base: a layout; it meets the delay.
        part: what it was made for.
        spec: the same with one output more, wherever it stands among the others.
        delay: T, in ticks.
        fits: whether a box is of use.
        rules: the rule table.
    """
    labels = labels_of(base, part, delay, rules=rules)
    (added,) = spec.function.outputs.keys() - part.function.outputs.keys()
    standing = _Standing(base, labels, spec, added, delay, rules)
    made = [_labels(network) for network in _networks(standing)]
    if not made:
        return None
    rooms = [room for room in _rooms(base, spec) if fits(_size(base, room))]
    every = tuple(dict.fromkeys(chain(*made)))
    found = yield from _beside(standing, every, rooms)
    if found is None:
        found = yield from _into_strips(standing, made[0], rooms)
    return found


def part_of(spec: Spec, outputs: tuple[str, ...]) -> Spec:
    """What is asked of some of the outputs."""
    whole = spec.function
    function = BooleanFunction(whole.inputs, {name: whole.outputs[name] for name in outputs})
    pins = {name: spec.pins[name] for name in (*whole.inputs, *outputs)}
    return spec.replace(function=function, pins=pins)


def _networks(standing: _Standing) -> Iterator[Network]:
    """Networks of the added output out of the signals that are there."""
    wanted = part_of(standing.spec, (standing.added,)).function
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


def _labels(network: Network) -> tuple[Label, ...]:
    """The signals that a network adds."""
    return tuple(Label(signal.rows, signal.tick) for signal in network.made())


def _beside(standing: _Standing, made: tuple[Label, ...], rooms: list[Room]) -> Tries:
    """The output in empty cells: all that stands stays as it is."""
    for room in rooms[:MOST_ROOMS]:
        answer = _placed(standing, made, room)
        yield
        if isinstance(answer, Layout):
            return answer
    return None


def _into_strips(standing: _Standing, made: tuple[Label, ...], rooms: list[Room]) -> Tries:
    """The output in empty cells and in those of a strip, whose signals are placed anew.

    The largest box comes first. A strip in which there is no place then has none in smaller boxes
    either, which hold the same cells and fewer.
    """
    strips = _strips(standing)
    for room in sorted(filter(_is_thin, rooms), key=len, reverse=True):
        for strip in list(strips):
            answer = _placed(standing, made, room, strip)
            yield
            if isinstance(answer, Layout):
                return answer
            if answer is Answer.NO_PLACE:
                strips.remove(strip)
    return None


def _is_thin(room: Room) -> bool:
    """Whether no side has more than one slice."""
    return all(count == 1 for count in room.values())


def _strips(standing: _Standing) -> list[frozenset[Cell]]:
    """The cells of each strip along the longest axis that is not the stacking axis."""
    size, stack = standing.layout.size, standing.spec.stack
    axes = [axis for axis in range(3) if stack is None or AXES[axis] != stack.axis]
    along = max(axes, key=lambda axis: size[axis])
    return [
        frozenset(cell for cell in standing.layout.cells if start <= cell[along] < start + STRIP)
        for start in range(size[along] - STRIP + 1)
    ]


def _placed(
    standing: _Standing,
    made: tuple[Label, ...],
    room: Room,
    freed: frozenset[Cell] = frozenset(),
) -> Layout | Answer:
    """Further signals, placed in the empty cells of a box with more room and in freed ones.

    Pins of freed cells may move to other free cells.
    """
    base, spec = standing.layout, standing.spec

    def moved(cell: Cell) -> Cell:
        x, y, z = cell
        put = [room.get(side, 0) for side in (Direction.NX, Direction.NY, Direction.NZ)]
        return (x + put[0], y + put[1], z + put[2])

    geometry = Geometry(_size(base, room))
    where = {cell: moved(cell) for cell in base.cells if cell not in freed}
    slots = {Slot(pin.at, pin.face): Slot(moved(pin.at), pin.face) for pin in base.pins}
    free = frozenset(geometry.cells) - set(where.values())
    added = standing.added
    pins = {added: tuple(slot for slot in geometry.slots() if slot.face in spec.faces(added))}
    for pin in base.pins:
        slot = slots[Slot(pin.at, pin.face)]
        places = {slot}
        if slot.cell in free:
            faces = spec.faces(pin.name)
            places |= {
                other for other in geometry.slots() if other.cell in free and other.face in faces
            }
        pins[pin.name] = tuple(sorted(places))
    window = Window(
        spec,
        geometry.size,
        standing.delay,
        {where[cell]: base.cells[cell] for cell in where},
        free,
        pins,
        labels=standing.labels.moved(where, slots).with_new(made, free),
        longest_run=LONGEST_RUN,
        rules=standing.rules,
    )
    layout = asked_window(window, CONFLICTS)
    if not isinstance(layout, Layout):
        return layout
    question = Question(spec, layout.size, standing.delay, rules=standing.rules)
    return layout if works(layout, question) else Answer.UNDECIDED
