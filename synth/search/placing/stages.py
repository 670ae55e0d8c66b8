"""Large functions in two stages: cut the function, place each half, join the halves by wires.

The inputs are divided into a *bound set* and the rest, so that few wires cross: the first stage
computes some signals from the bound set alone, the second computes the outputs from these signals
and the rest. If the bound set affects the outputs in only ``m`` different ways, ``ceil(log2 m)``
signals are enough (R. L. Ashenhurst, The decomposition of switching functions, 1957; H. A. Curtis,
A New Approach to the Design of Switching Circuits, 1962; both from memory). Any code may stand for
any of these ways; unused codes are don't-cares of the second stage.

The stages stand one behind the other along x. Between them is a seam, one cell long, that holds the
crossing wires. Each is the lead of an output of the first stage and of an input of the second, and
both stages were placed with exactly such a lead outside. The simulator judges the whole.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, islice, permutations, product

from synth.encoding.placing.signals import Origin, Signal
from synth.layout import Layout, Pin
from synth.medium import LEDGE, WIRE, Cell, Direction, Joint
from synth.search.placing.networks import (
    MOST_INVERTERS,
    as_given,
    input_signals,
    networks,
)
from synth.spec import BooleanFunction, Limits, PinDemand, Spec

LOOK_AT = 12
"""The most networks of a stage that are compared."""

MOST_CODES = 120
"""The most codes that are tried for one bound set."""


@dataclass(frozen=True)
class Cut:
    """A function in two stages.

    Attributes:
        first: the first stage, from the bound set to the crossing signals.
        second: the second stage, from the crossing signals and the rest to the outputs.
        delays: the ticks of each stage.
        connections: for each stage, how many signals its inverters and outputs see in all, in the
            network with the fewest: this tells how hard the stage is to place.
    """

    first: BooleanFunction
    second: BooleanFunction
    delays: tuple[int, int]
    connections: tuple[int, int]

    @property
    def crossing(self) -> tuple[str, ...]:
        """The signals that cross the seam."""
        return tuple(self.first.outputs)


def cuts(
    function: BooleanFunction,
    delay: int,
    until: float | None = None,
    *,
    in_first: Iterable[str] = (),
    in_second: Iterable[str] = (),
) -> list[Cut]:
    """Ways to cut a function; those whose harder stage is easiest come first.

    Args:
        function: a function of three inputs or more.
        delay: the ticks of both stages together.
        until: when to stop looking for more, as ``time.monotonic`` gives it, or None.
        in_first: inputs that the first stage must have.
        in_second: inputs that it must not have.
    """
    found: list[Cut] = []
    seen: set[tuple[tuple[str, ...], ...]] = set()
    needed, barred = set(in_first), set(in_second)
    for size in range(2, len(function.inputs)):
        for bound in combinations(function.inputs, size):
            if not needed <= set(bound) or barred & set(bound):
                continue
            for first, second in _codes(function, bound):
                # Equivalent bound sets, such as those of a symmetric function, count once.
                columns = (tuple(first.outputs.values()), tuple(second.outputs.values()))
                if columns in seen:
                    continue
                seen.add(columns)
                if until is not None and time.monotonic() >= until:
                    break
                found += _timed(first, second, delay, until)
    return sorted(found, key=lambda cut: (max(cut.connections), sum(cut.connections)))


def _timed(
    first: BooleanFunction, second: BooleanFunction, delay: int, until: float | None
) -> Iterator[Cut]:
    """The cut with each division of the ticks in which both stages are possible."""
    for early in range(1, delay):
        halves = []
        for function, ticks in ((first, early), (second, delay - early)):
            found = list(networks(function, ticks, more=0, most=LOOK_AT, until=until))
            if not found:
                break
            halves.append(min(network.connections for network in found))
        if len(halves) == 2:
            yield Cut(first, second, (early, delay - early), (halves[0], halves[1]))


def inverters_beside(
    cut: Cut, further: BooleanFunction, delay: int, until: float | None = None
) -> int:
    """How many inverters further outputs need beside a cut whose stages have fewest.

    Args:
        cut: the cut of a function.
        further: other outputs of the same inputs.
        delay: T, in ticks.
        until: when to stop looking, as ``time.monotonic`` gives it, or None.

    Returns:
        Their number; ``MOST_INVERTERS`` if there was none, or no time, to be found.
    """
    known = {signal.name: signal for signal in input_signals(further)}
    made: list[Signal] = []
    for stage, ticks in ((cut.first, cut.delays[0]), (cut.second, cut.delays[1])):
        network = next(networks(stage, ticks, more=0, most=1, until=until), None)
        if network is None:
            return MOST_INVERTERS
        entering = [known[name] for name in stage.inputs]
        inside = {one.name: _behind(one, entering, further.rows) for one in network.signals()}
        made += [inside[signal.name] for signal in network.made()]
        for name, gathered in zip(stage.outputs, network.outputs, strict=True):
            rows, tick = 0, 0
            for one in gathered:
                rows, tick = rows | inside[one].rows, max(tick, inside[one].tick)
            known[name] = Signal(name, rows, tick, Origin.INVERTER)
    there = as_given(made, delay)
    beside = next(networks(further, delay, more=0, most=1, until=until, given=there), None)
    return MOST_INVERTERS if beside is None else len(beside.hears)


def _behind(signal: Signal, entering: list[Signal], rows: int) -> Signal:
    """A signal of a stage in terms of the whole function, from what enters the stage."""
    found = 0
    for row in range(rows):
        index = int("".join(str(one.rows >> row & 1) for one in entering), 2)
        found |= (signal.rows >> index & 1) << row
    tick = signal.tick + max((one.tick for one in entering), default=0)
    return Signal(signal.name, found, tick, signal.origin)


def _codes(
    function: BooleanFunction, bound: tuple[str, ...]
) -> Iterator[tuple[BooleanFunction, BooleanFunction]]:
    """Both stages for each code that a bound set can send to the second stage."""
    rest = tuple(name for name in function.inputs if name not in bound)
    views = {
        bits: _view(function, dict(zip(bound, bits, strict=True)), rest)
        for bits in product((0, 1), repeat=len(bound))
    }
    classes = list(dict.fromkeys(views.values()))
    wires = max(1, (len(classes) - 1).bit_length())
    if wires >= len(bound) and len(classes) == len(views) > 2:
        return  # As many signals cross as the bound set has inputs, so nothing is gained.
    names = fresh_names(wires, function)
    codes = permutations(product((0, 1), repeat=wires), len(classes))
    for code in islice(codes, MOST_CODES):
        if list(zip(*code, strict=True)) != sorted(zip(*code, strict=True)):
            continue  # These are the same wires in another order.
        of = dict(zip(classes, code, strict=True))
        columns = {
            name: "".join(str(of[view][index]) for view in views.values())
            for index, name in enumerate(names)
        }
        yield BooleanFunction(bound, columns), _second(function, names, rest, of)


def _view(
    function: BooleanFunction, bound: dict[str, int], rest: tuple[str, ...]
) -> tuple[str, ...]:
    """The outputs for every assignment of the rest, for one assignment of the bound set."""
    rows = []
    for bits in product((0, 1), repeat=len(rest)):
        values = bound | dict(zip(rest, bits, strict=True))
        row = int("".join(str(values[name]) for name in function.inputs), 2)
        rows.append("".join(column[row] for column in function.outputs.values()))
    return tuple(rows)


def _second(
    function: BooleanFunction,
    names: tuple[str, ...],
    rest: tuple[str, ...],
    code: dict[tuple[str, ...], tuple[int, ...]],
) -> BooleanFunction:
    seen = {bits: view for view, bits in code.items()}
    columns: dict[str, list[str]] = {name: [] for name in function.outputs}
    for bits in product((0, 1), repeat=len(names)):
        view = seen.get(bits)
        for index in range(1 << len(rest)):
            for number, name in enumerate(function.outputs):
                columns[name].append("-" if view is None else view[index][number])
    return BooleanFunction(
        (*names, *rest), {name: "".join(column) for name, column in columns.items()}
    )


def fresh_names(count: int, function: BooleanFunction) -> tuple[str, ...]:
    """Names for the crossing signals, different from those of all pins."""
    taken = {*function.inputs, *function.outputs}
    names = (f"m{number}" for number in range(1, count + len(taken) + 1))
    free = [name for name in names if name not in taken]
    return tuple(free[:count])


CrossingPlaces = Mapping[str, tuple[int, int]]
"""Where signals cross the seam: across and height, by name."""


def crossings(stage: Layout, cut: Cut) -> CrossingPlaces:
    """Where the crossing signals of a stage that was placed enter or leave it."""
    return {pin.name: (pin.at[1], pin.at[2]) for pin in stage.pins if pin.name in cut.crossing}


def first_spec(spec: Spec, cut: Cut, places: CrossingPlaces | None = None, length: int = 0) -> Spec:
    """The specification of the first stage: crossing signals leave on the +x side by wires.

    Args:
        spec: what is asked of the whole.
        cut: the cut.
        places: where signals cross; None: anywhere.
        length: the length of the first stage, in cells; only needed with ``places``.
    """
    pins = {name: _away_from(Direction.PX, spec, name) for name in cut.first.inputs}
    pins |= _crossing(cut, Direction.PX, places, length - 1)
    return Spec(
        cut.first,
        limits=Limits(delay=cut.delays[0]),
        pins=pins,
        stack=spec.stack,
        ground=spec.ground,
    )


def second_spec(spec: Spec, cut: Cut, places: CrossingPlaces | None = None) -> Spec:
    """The specification of the second stage: crossing signals enter on the -x side by wires.

    Args:
        spec: what is asked of the whole.
        cut: the cut.
        places: where signals cross; None: anywhere.
    """
    pins = _crossing(cut, Direction.NX, places, 0)
    for name in (*cut.second.inputs, *cut.second.outputs):
        if name not in pins:
            pins[name] = _away_from(Direction.NX, spec, name)
    return Spec(
        cut.second,
        limits=Limits(delay=cut.delays[1]),
        pins=pins,
        stack=spec.stack,
        ground=spec.ground,
    )


def _crossing(
    cut: Cut, face: Direction, places: CrossingPlaces | None, x: int
) -> dict[str, PinDemand]:
    """The pins of the signals that cross, at the side of a stage that faces the seam."""
    at = {} if places is None else {name: (x, *place) for name, place in places.items()}
    return {name: PinDemand((face,), at.get(name), Joint.WIRE) for name in cut.crossing}


def _away_from(face: Direction, spec: Spec, name: str) -> PinDemand:
    """A pin of the whole, kept off the side of its stage that faces the seam."""
    faces = tuple(other for other in spec.faces(name) if other is not face)
    return PinDemand(faces, None, spec.joint(name), spec.pins[name].spaced)


def only_at(spec: Spec, end: Direction) -> tuple[str, ...]:
    """The inputs that may sit at that end of the box alone: -x or +x."""
    return tuple(name for name in spec.function.inputs if set(spec.faces(name)) == {end})


def can_be_cut(spec: Spec) -> bool:
    """Whether a specification can be met by stages one behind the other along x."""
    return (
        len(spec.function.inputs) > 2
        and not spec.chain
        and not (spec.stack is not None and spec.stack.axis == "x")
        and not (spec.empty or spec.fixed)
        and all(ask.at is None for ask in spec.pins.values())
        and all(spec.faces(name) for name in spec.pin_names)
        and all(
            any(face is not Direction.NX for face in spec.faces(name))
            for name in spec.function.outputs
        )
    )


def has_seam(stage: Layout, cut: Cut) -> bool:
    """Whether the crossing wires of a stage find support: above height 0, or on ground."""
    return stage.ground or all(pin.at[2] > 0 for pin in stage.pins if pin.name in cut.crossing)


def joined(spec: Spec, cut: Cut, first: Layout, second: Layout) -> Layout:
    """Both stages, with the seam between them, as one layout."""
    seam = first.size[0]
    shift = seam + 1
    cells = dict(first.cells)
    cells |= {(x + shift, y, z): block for (x, y, z), block in second.cells.items()}
    for pin in first.outputs:
        _, y, z = pin.at
        cells[(seam, y, z)] = WIRE
        if z > 0:
            cells[(seam, y, z - 1)] = LEDGE
    pins = [pin for pin in first.pins if pin.name not in cut.crossing]
    pins += [
        Pin(pin.name, pin.role, _shifted(pin.at, shift), pin.face, pin.joint)
        for pin in second.pins
        if pin.name not in cut.crossing
    ]
    pins.sort(key=lambda pin: spec.pin_names.index(pin.name))
    size = (
        shift + second.size[0],
        max(first.size[1], second.size[1]),
        max(first.size[2], second.size[2]),
    )
    return Layout(
        size=size,
        cells=cells,
        pins=tuple(pins),
        stack=second.stack,
        ground=spec.ground,
        name=spec.name,
    )


def _shifted(cell: Cell, shift: int) -> Cell:
    return (cell[0] + shift, cell[1], cell[2])
