"""Where every NAND of a circuit lies: slots along x, lanes along y, tried many times over.

A *row* carries a signal along +x in a lane, from where it is made to where it is read last; a
*column* is the wire of a NAND, across the lanes of what it reads to the lane of its own row. In a
slot lie as many columns as there is room for, none touching another. A lane is free again one slot
after its row has ended.

Placing is list scheduling: slot by slot the most urgent NANDs whose reads are there, each with the
free lane that makes its column shortest. Which order of inputs and which urgencies make the
smallest box is found by simulated annealing (S. Kirkpatrick and others, 1983).
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field

from synth.building.mapping import Gate, NandNetwork
from synth.medium import Size

PITCH = 2
"""Cells from one slot, and from one lane, to the next."""

HEIGHT = 4
"""Cells from the lowest ledge to the rows: ``synth.building.painting`` says what lies where."""

_HEAT = 0.005
"""Share of the price by which a worse placement may be taken at first (of 0.003, 0.01 and 0.03 the
lower ones gave smaller boxes, on an adder of four bits and a multiplier of three)."""


@dataclass(frozen=True)
class Column:
    """A NAND in its place.

    Attributes:
        gate: the NAND.
        slot: along x.
        lane: of its own row.
        reads: lanes of what it reads.
    """

    gate: Gate
    slot: int
    lane: int
    reads: tuple[int, ...]

    @property
    def sources(self) -> tuple[int, ...]:
        """Where along y its inverters are: each on the side of its row that is nearer home."""
        return tuple(PITCH * lane + (1 if lane < self.lane else -1) for lane in self.reads)

    @property
    def span(self) -> tuple[int, int]:
        """First and last cell of its wire along y."""
        cells = (PITCH * self.lane, *self.sources)
        return min(cells), max(cells)


@dataclass(frozen=True)
class Placement:
    """Every NAND in its place.

    Attributes:
        network: what is placed.
        columns: by name of the signal.
        heads: the lane of each input.
        spares: lanes of outputs that are constants.
        slots, lanes: how many there are.
    """

    network: NandNetwork
    columns: dict[str, Column]
    heads: dict[str, int]
    spares: dict[str, int]
    slots: int
    lanes: int

    @property
    def size(self) -> Size:
        """The box that it is painted in, at most."""
        return (PITCH * self.slots + 1, PITCH * self.lanes, HEIGHT)

    @property
    def area(self) -> int:
        """Cells seen from above."""
        return self.size[0] * self.size[1]

    def lane(self, signal: str) -> int:
        """The lane of a signal's row."""
        return self.heads[signal] if signal in self.heads else self.columns[signal].lane

    @property
    def wire(self) -> int:
        """Cells of all columns."""
        return sum(column.span[1] - column.span[0] + 1 for column in self.columns.values())


@dataclass
class Taste:
    """What annealing changes: who comes first, and where.

    Attributes:
        heads: inputs by lane; None: a lane left free for what is made.
        urgency: added to each NAND's height over the outputs.
        lean: lanes by which the lane of a NAND's row is wished away from the middle of its reads.
        held: slots for which a NAND waits though it could be made.
    """

    heads: list[str | None]
    urgency: dict[str, float] = field(default_factory=dict)
    lean: dict[str, float] = field(default_factory=dict)
    held: dict[str, int] = field(default_factory=dict)

    def changed(self, rng: random.Random, gates: list[str]) -> Taste:
        """A taste a little different."""
        made = Taste(list(self.heads), dict(self.urgency), dict(self.lean), dict(self.held))
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


def placed(
    network: NandNetwork,
    *,
    rounds: int = 400,
    seed: int = 0,
    price: Callable[[Placement], float] | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Placement:
    """The best placement of many.

    Args:
        network: what to place.
        rounds: how many placements are tried.
        seed: same seed, same placement.
        price: what is to be small; None: the area, then the wire.
        stop: asked after every round; true ends early.
    """
    rng = random.Random(seed)
    worth = price or (lambda placement: placement.area + 0.05 * placement.wire)
    taste = Taste([*network.inputs])
    gates = [gate.name for gate in network.gates]
    scheduler = _Scheduler(network)
    best = now = scheduler.place(taste)
    best_price = now_price = worth(now)
    heat = _HEAT * now_price
    for number in range(rounds):
        if stop():
            break
        other = taste.changed(rng, gates)
        tried = scheduler.place(other)
        tried_price = worth(tried)
        warmth = heat * (1 - number / rounds) ** 2 + 1e-9
        if tried_price <= now_price or rng.random() < math.exp((now_price - tried_price) / warmth):
            taste, now_price = other, tried_price
            if tried_price < best_price:
                best, best_price = tried, tried_price
    return best


class _Scheduler:
    """Places a network by a taste."""

    def __init__(self, network: NandNetwork) -> None:
        self.network = network
        self.readers = network.readers()
        self.shown = {signal for signal in network.outputs.values() if signal}
        self.heights: dict[str, int] = {}
        for gate in reversed(network.gates):
            above = (self.heights[reader] for reader in self.readers[gate.name])
            self.heights[gate.name] = 1 + max(above, default=0)

    def place(self, taste: Taste) -> Placement:
        """The placement."""
        heads = {name: lane for lane, name in enumerate(taste.heads) if name is not None}
        lane_of = dict(heads)
        holder: dict[int, str] = {lane: name for name, lane in heads.items()}
        left = {name: len(readers) for name, readers in self.readers.items()}
        for name in self.network.inputs:
            if not left[name] and name not in self.shown:
                holder.pop(heads[name])  # Nobody reads it: its pin sits on an empty cell.
        waiting = {gate.name: gate for gate in self.network.gates}
        columns: dict[str, Column] = {}
        lanes = len(taste.heads)
        slot = 0
        ready_since: dict[str, int] = {}
        while waiting:
            ready = []
            for gate in waiting.values():
                if all(read in lane_of for read in gate.reads):
                    since = ready_since.setdefault(gate.name, slot)
                    if slot - since >= taste.held.get(gate.name, 0):
                        ready.append(gate)
            ready.sort(key=lambda g: -self.heights[g.name] - taste.urgency.get(g.name, 0.0))
            taken: list[tuple[int, int]] = []
            made: list[Column] = []
            for gate in ready:
                wish = taste.lean.get(gate.name, 0.0)
                column = self._column(gate, slot, lane_of, holder, lanes, taken, wish)
                if column is None:
                    continue
                made.append(column)
                taken.append(column.span)
                holder[column.lane] = gate.name
                lanes = max(lanes, column.lane + 1)
            for column in made:
                name = column.gate.name
                columns[name] = column
                del waiting[name]
                lane_of[name] = column.lane
                for read in column.gate.reads:
                    left[read] -= 1
                    if not left[read] and read not in self.shown:
                        del holder[lane_of[read]]
            slot += 1
        spares = {}
        for name, signal in self.network.outputs.items():
            if not signal:
                # No input's lane either: where there is no NAND, both ends are one.
                taken_lanes = {*holder, *heads.values()}
                spares[name] = next(lane for lane in range(lanes + 1) if lane not in taken_lanes)
                holder[spares[name]] = name
                lanes = max(lanes, spares[name] + 1)
        return Placement(self.network, columns, heads, spares, slot, lanes)

    def _column(
        self,
        gate: Gate,
        slot: int,
        lane_of: dict[str, int],
        holder: dict[int, str],
        lanes: int,
        taken: list[tuple[int, int]],
        lean: float,
    ) -> Column | None:
        """The gate with the free lane that is best; None if there is no room in this slot."""
        reads = tuple(sorted(lane_of[read] for read in gate.reads))
        middle = reads[len(reads) // 2] + lean
        free = [lane for lane in range(lanes + 1) if lane not in holder]
        # The first lane beyond is always there, so that a slot without room is never one for ever.
        for lane in sorted(free, key=lambda lane: (abs(lane - middle), lane)):
            column = Column(gate, slot, lane, reads)
            low, high = column.span
            if all(high + 1 < first or last + 1 < low for first, last in taken):
                return column
        return None
