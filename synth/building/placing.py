"""Where every NAND of a circuit lies: slots along x, lanes along y.

A *row* carries a signal along +x in a lane, from where it is made to where it is read last; a
*column* is the wire of a NAND, across the lanes of what it reads to the lane of its own row. In a
slot lie as many columns as there is room for, none touching another. A lane is free again one slot
after its row has ended.

Placing is list scheduling: slot by slot the most urgent NANDs whose reads are there, each with the
free lane that makes its column shortest. Its own row may also lie nearer to what its readers read
besides it. Which order of inputs and which urgencies make the smallest box is found by
``synth.building.annealing``.
"""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Sequence
from dataclasses import dataclass, field

from synth.building.mapping import Gate, NandNetwork
from synth.medium import Size

PITCH = 2
"""Cells from one slot, and from one lane, to the next."""

HEIGHT = 4
"""Cells from the lowest ledge to the rows: ``synth.building.painting`` says what lies where."""


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
        wire: cells of all columns.
    """

    network: NandNetwork
    columns: dict[str, Column]
    heads: dict[str, int]
    spares: dict[str, int]
    slots: int
    lanes: int
    wire: int

    @property
    def size(self) -> Size:
        """The box that it is painted in, at most."""
        return (PITCH * self.slots + 1, PITCH * self.lanes, HEIGHT)

    @property
    def area(self) -> int:
        """Cells seen from above."""
        length, width, _ = self.size
        return length * width

    def lane(self, signal: str) -> int:
        """The lane of a signal's row."""
        return self.heads[signal] if signal in self.heads else self.columns[signal].lane


@dataclass
class Taste:
    """What may be chosen of a placement: who comes first, and where.

    Attributes:
        heads: inputs by lane; None: a lane left free for what is made.
        urgency: added to each NAND's height over the outputs.
        lean: lanes by which the lane of a NAND's row is wished away from the middle of its reads.
        held: slots for which a NAND waits though it could be made.
        pull: how much the lane of a NAND's row is drawn to what its readers read besides it: 0 not
            at all, 1 only there.
    """

    heads: list[str | None]
    urgency: dict[str, float] = field(default_factory=dict)
    lean: dict[str, float] = field(default_factory=dict)
    held: dict[str, int] = field(default_factory=dict)
    pull: float = 0.0


class Scheduler:
    """Places a network by a taste; lanes and cells of a slot are bits of whole numbers.

    Signals are numbered, inputs first, then the NANDs in their order.
    """

    def __init__(self, network: NandNetwork) -> None:
        self.network = network
        signals = [*network.inputs, *(gate.name for gate in network.gates)]
        number = {name: index for index, name in enumerate(signals)}
        self.first = len(network.inputs)
        self.reads = [[number[read] for read in gate.reads] for gate in network.gates]
        readers = network.readers()
        self.readers = [[number[reader] for reader in readers[name]] for name in signals]
        self.beside = [
            [read for reader in readers for read in self.reads[reader - self.first] if read != own]
            for own, readers in enumerate(self.readers)
        ]
        shown = {signal for signal in network.outputs.values() if signal}
        # A signal that a pin shows is never read for the last time.
        self.left = [len(readers[name]) + (name in shown) for name in signals]
        self.heights = [0] * len(signals)
        for index in range(len(signals) - 1, self.first - 1, -1):
            above = (self.heights[reader] for reader in self.readers[index])
            self.heights[index] = 1 + max(above, default=0)

    def place(self, taste: Taste) -> Placement:
        """The placement."""
        network, first = self.network, self.first
        heads = {name: lane for lane, name in enumerate(taste.heads) if name is not None}
        lane_of = [heads[name] for name in network.inputs] + [0] * len(network.gates)
        lanes = len(taste.heads)
        left = list(self.left)
        held = 0
        for index in range(first):
            if left[index]:  # Otherwise its pin sits on an empty cell.
                held |= 1 << lane_of[index]
        urgency = [taste.urgency.get(gate.name, 0.0) for gate in network.gates]
        lean = [taste.lean.get(gate.name, 0.0) for gate in network.gates]
        missing = [len(reads) for reads in self.reads]
        there = [True] * first + [False] * len(network.gates)
        coming: dict[int, list[int]] = {}
        ready: list[tuple[float, int]] = []
        columns: dict[str, Column] = {}
        slot = wire = 0

        def arrive(signal: int, at: int) -> None:
            """From a slot on, a signal is there to be read."""
            for reader in self.readers[signal]:
                missing[reader - first] -= 1
                if not missing[reader - first]:
                    wait = taste.held.get(network.gates[reader - first].name, 0)
                    coming.setdefault(at + wait, []).append(reader)

        for index in range(first):
            arrive(index, 0)
        while len(columns) < len(network.gates):
            for signal in coming.pop(slot, ()):
                insort(ready, (-self.heights[signal] - urgency[signal - first], signal))
            taken = 0
            made: list[int] = []
            refused: list[tuple[float, int]] = []
            for entry in ready:
                signal = entry[1]
                gate = signal - first
                reads = sorted([lane_of[read] for read in self.reads[gate]])
                middle: float = reads[len(reads) // 2]
                if taste.pull:
                    beside = [lane_of[other] for other in self.beside[signal] if there[other]]
                    if beside:
                        middle += taste.pull * (sum(beside) / len(beside) - middle)
                found = _lane(reads, middle + lean[gate], held, lanes, taken)
                if found is None:
                    refused.append(entry)
                    continue
                lane, low, high = found
                made.append(signal)
                taken |= _cells(low, high)
                wire += high - low + 1
                held |= 1 << lane
                lanes = max(lanes, lane + 1)
                lane_of[signal] = lane
                name = network.gates[gate].name
                columns[name] = Column(network.gates[gate], slot, lane, tuple(reads))
            ready = refused
            slot += 1
            for signal in made:
                there[signal] = True
                arrive(signal, slot)
                for read in self.reads[signal - first]:
                    left[read] -= 1
                    if not left[read]:
                        held &= ~(1 << lane_of[read])
        spares = {}
        # No input's lane either: where there is no NAND, both ends are one.
        for lane in heads.values():
            held |= 1 << lane
        for name, shown in network.outputs.items():
            if not shown:
                spares[name] = next(lane for lane in range(lanes + 1) if not held >> lane & 1)
                held |= 1 << spares[name]
                lanes = max(lanes, spares[name] + 1)
        return Placement(network, columns, heads, spares, slot, lanes, wire)


def _cells(low: int, high: int) -> int:
    """Cells of a slot from one to another, as bits."""
    return (1 << high + 1) - (1 << low)


def _lane(
    reads: Sequence[int], middle: float, held: int, lanes: int, taken: int
) -> tuple[int, int, int] | None:
    """The free lane nearest to the middle whose column has room, the lower one of two.

    Args:
        reads: lanes of what is read, from the lowest up.
        middle: where the lane is wished.
        held: lanes that are not free, as bits.
        lanes: how many there are; one more is always free.
        taken: cells of this slot that have a wire, as bits.

    Returns:
        The lane, and the first and last cell of the column's wire; None if no lane has room.
    """
    lowest, highest = PITCH * reads[0], PITCH * reads[-1]
    # Cells beside a wire must be free too; bits start one cell lower, for the one beside cell 0.
    taken <<= 1
    if highest > lowest and taken & _cells(lowest + 1, highest + 1):
        return None
    below = min(math.floor(middle), lanes)
    above = max(below + 1, 0)
    while below >= 0 or above <= lanes:
        if below >= 0 and (above > lanes or middle - below <= above - middle):
            lane = below
            below -= 1
        else:
            lane = above
            above += 1
        if held >> lane & 1:
            continue
        own = PITCH * lane
        low = min(own, lowest + 1 if lane > reads[0] else lowest - 1)
        high = max(own, highest + 1 if lane > reads[-1] else highest - 1)
        if not taken & _cells(low, high + 2):
            return lane, low, high
    return None
