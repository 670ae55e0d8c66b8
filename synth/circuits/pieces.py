"""Finds the pieces of a layout without feedback: which parts make each signal, which carry it.

They are read off the layout itself, however it was made. What a wire has power from are inverters
and inputs, seen through the buffers between: wires that have it from the same ones carry the same
signal. A signal is made by the inverters that it has power from, and by the wire that joins them:
its gate. All that leads on from there is its wire.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from synth.circuits.arrivals import Arrivals, Group, arrivals
from synth.layout import Layout, Piece, PieceKind
from synth.medium import ALL_DIRECTIONS, Cell, Direction, Part
from synth.simulator.acyclic import Network, Reached
from synth.simulator.fabric import Fabric, Sight, Table, fabric_of

Roots = frozenset[int]
"""The inverters and inputs that a signal has power from, by emitter number."""

_CARRIED = (Part.WIRE, Part.BUFFER)


@dataclass(frozen=True, slots=True)
class Step:
    """A step of a longest way.

    Attributes:
        tick: from which what is passed there is known.
        piece: the title of the piece, or ``input a``.
        at: the cell of the inverter or buffer; None of an input.
    """

    tick: int
    piece: str
    at: Cell | None


@dataclass(frozen=True)
class Pieces:
    """The pieces of a layout, and when each is done.

    Attributes:
        pieces: gates first, then wires; each in the order of their ticks.
        since, until: by title of piece, the ticks from which what it waits for, and what goes out,
            is known: by the play where all assignments were given, else upper bounds, the longest
            way (``synth.simulator.acyclic``).
        critical: one way to the output that is known last, from an input or from what is
            constant, or empty; of the same ticks.
        played: whether all assignments were played for them.
    """

    pieces: tuple[Piece, ...]
    since: Mapping[str, int]
    until: Mapping[str, int]
    critical: tuple[Step, ...]
    played: bool


def pieces_of(
    layout: Layout,
    network: Network,
    masks: Mapping[str, int],
    full: int,
    named: Mapping[str, int],
) -> Pieces:
    """The pieces of a layout.

    Args:
        layout: legal and without feedback.
        network: what the simulator read off it.
        masks: for each input pin the assignments in which it is on.
        full: the mask of these assignments. Where they are all there are, they are played for the
            ticks.
        named: names of signals with their values in these assignments. A signal of the layout that
            has the values of one takes its name; of an input, that of its pin. Others are called
            ``w1``, ``w2``, ...
    """
    return _Finder(layout, network).found(masks, full, named)


class _Finder:
    """Groups wires and buffers by signal, then gives every part to a piece."""

    def __init__(self, layout: Layout, network: Network) -> None:
        self.layout = layout
        self.network = network
        self.fabric: Fabric = fabric_of(layout)
        self.emitter_cells = (*self.fabric.inverters, *self.fabric.buffers)
        self.roots: dict[int, Roots] = {
            number: frozenset((number,)) for number in network.inputs.values()
        }
        for number in network.order:
            element = network.elements[number]
            own = frozenset((number,))
            self.roots[number] = own if element.inverts else self._union(element.sees)
        reached = Reached(self.fabric, links=None)
        self.wire_roots = [self._union(_bits(mask)) for mask in reached.wires]
        self.part_of = self._merged()
        self.signals = {self._signal(roots) for roots in self._carried()}
        self.owner = self._owners()
        self.played: Arrivals | None = None
        self.beside = self._beside()

    def _union(self, emitters: Iterable[int]) -> Roots:
        return frozenset().union(*(self.roots.get(number, ()) for number in emitters))

    def _carried(self) -> set[Roots]:
        """What wires and buffers carry, and what hosts, buffers and outputs look at besides."""
        fabric = self.fabric
        buffers = range(fabric.first_buffer, fabric.first_input)
        looks = [*fabric.hosts, *fabric.backs, *(port.sight for port in fabric.outputs)]
        found = {*self.wire_roots, *(self.roots[number] for number in buffers)}
        return found.union(*map(self._looked_at, looks)) - {frozenset()}

    def _fronts(self) -> Iterable[tuple[int, int]]:
        """Each buffer, by emitter number, with each wire that it powers."""
        for wire, sources in enumerate(self.fabric.sources):
            for number in sources:
                if self.fabric.first_buffer <= number < self.fabric.first_input:
                    yield number, wire

    def _looked_at(self, look: int | Sight | None) -> set[Roots]:
        """The signals that a host (its number), a buffer or an output looks at."""
        fabric = self.fabric
        if look is None:
            return set()
        if isinstance(look, Sight):
            if look.table is Table.ON:
                return {self.roots[look.index]}
            if look.table is Table.POWERED:
                return {self.wire_roots[look.index]}
            look = look.index
        found = {self.wire_roots[wire] for wire in fabric.chargers[look]}
        return found | {self.roots[number] for number in fabric.drivers[look]}

    def _merged(self) -> dict[Roots, Roots]:
        """Signals that nothing reads, each with the larger one that it goes into.

        Where a long wire is repeated between two inverters that power it, what the first makes is
        no signal of its own.
        """
        fabric = self.fabric
        looks = [*fabric.hosts, *(port.sight for port in fabric.outputs)]
        used = set().union(*map(self._looked_at, looks))
        into: dict[Roots, Roots] = {}
        steps = [
            (self.wire_roots[wire], self.wire_roots[other])
            for wire, others in enumerate(fabric.receivers)
            for other in others
        ]
        steps += [(self.roots[number], self.wire_roots[wire]) for number, wire in self._fronts()]
        for part, whole in sorted(steps, key=lambda step: -len(step[1])):
            if part and part < whole and part not in used:
                into[part] = whole
        return into

    def _signal(self, roots: Roots) -> Roots:
        while roots in self.part_of:
            roots = self.part_of[roots]
        return roots

    def _owners(self) -> dict[int, Roots]:
        """For each inverter and input the signal that it belongs to: the one of the fewest."""
        found: dict[int, Roots] = {}
        for signal in sorted(self.signals, key=lambda signal: (len(signal), sorted(signal))):
            for number in signal:
                found.setdefault(number, signal)
        return found

    def found(self, masks: Mapping[str, int], full: int, named: Mapping[str, int]) -> Pieces:
        """The pieces under their names."""
        names = self._names(masks, full, named)
        if full.bit_length() == 1 << len(self.network.inputs):
            self.played = arrivals(self.network, masks, full, self._timed_groups())
        held: dict[Cell, tuple[PieceKind, Roots]] = {}
        nodes = self._nodes()
        for signal in self.signals:
            for number in self._makers(signal):
                held[self.emitter_cells[number]] = (PieceKind.GATE, signal)
                host = self.fabric.solids[self.fabric.hosts[number]]
                held.setdefault(host, (PieceKind.GATE, signal))
            kept = self._joining(signal, nodes.get(signal, set()))
            for cell in nodes.get(signal, ()):
                held[cell] = (PieceKind.GATE if cell in kept else PieceKind.WIRE, signal)
        self._rest(held)
        return self._timed(self._grouped(held), names)

    def _grouped(
        self, held: Mapping[Cell, tuple[PieceKind, Roots]]
    ) -> dict[tuple[PieceKind, Roots], tuple[Cell, ...]]:
        cells: dict[tuple[PieceKind, Roots], list[Cell]] = {}
        for cell, group in held.items():
            cells.setdefault(group, []).append(cell)
        return {group: tuple(sorted(own)) for group, own in cells.items()}

    def _timed(
        self, cells: Mapping[tuple[PieceKind, Roots], tuple[Cell, ...]], names: Mapping[Roots, str]
    ) -> Pieces:
        """The pieces in order, with their ticks."""
        ticks = {
            cell: self._known_of((number,))
            for number, cell in enumerate(self.fabric.buffers, start=self.fabric.first_buffer)
        }
        pieces: list[Piece] = []
        since, until = {}, {}

        def place(group: tuple[PieceKind, Roots]) -> tuple[bool, int, str]:
            kind, signal = group
            return (kind is PieceKind.WIRE, self._known(signal), names[signal])

        for kind, signal in sorted(cells, key=place):
            gate = kind is PieceKind.GATE
            own = cells[kind, signal]
            piece = Piece(names[signal], kind, self._reads(signal, names) if gate else (), own)
            start = self._read_at(signal) if gate else self._known(signal)
            made = [self._known(signal), *(ticks[cell] for cell in own if cell in ticks)]
            until[piece.title] = max(made)
            # Where one of what a gate reads decides it, it waits for no other.
            since[piece.title] = min(start, max(0, self._known(signal) - 1)) if gate else start
            pieces.append(piece)
        title_at = {cell: piece.title for piece in pieces for cell in piece.cells}
        way = self._critical(title_at)
        return Pieces(tuple(pieces), since, until, way, self.played is not None)

    def _names(
        self, masks: Mapping[str, int], full: int, named: Mapping[str, int]
    ) -> dict[Roots, str]:
        values = self.network.values(dict(masks), full)
        free: dict[int, list[str]] = {}
        for name, value in named.items():
            if name not in self.network.inputs:
                free.setdefault(value, []).append(name)
        taken = {*named, *self.network.inputs}
        pins = {number: name for name, number in self.network.inputs.items()}
        found: dict[Roots, str] = {}
        count = 0
        for signal in sorted(self.signals, key=lambda signal: (self._latest(signal), *signal)):
            number = min(signal)
            if len(signal) == 1 and number in pins:
                found[signal] = pins[number]
                continue
            value = 0
            for number in signal:
                value |= values[number]
            known = free.get(value)
            if known:
                found[signal] = known.pop(0)
                continue
            count += 1
            while f"w{count}" in taken:
                count += 1
            found[signal] = f"w{count}"
        return found

    def _inverters(self, signal: Roots) -> list[int]:
        """What makes it; some may make another signal as well."""
        return [number for number in sorted(signal) if number < self.fabric.first_buffer]

    def _makers(self, signal: Roots) -> list[int]:
        """Its inverters that are no part of another gate."""
        return [number for number in self._inverters(signal) if self.owner[number] == signal]

    def _timed_groups(self) -> list[Group]:
        """What is asked when it is known: signals, what their inverters see, and buffers."""
        buffers = range(self.fabric.first_buffer, self.fabric.first_input)
        makers = [(signal, tuple(self._inverters(signal))) for signal in self.signals]
        seen = [self.network.elements[number].sees for _, made in makers for number in made]
        return [*(made for _, made in makers), *seen, *((number,) for number in buffers)]

    def _known_of(self, group: Group) -> int:
        """The tick from which the OR of some emitters is known."""
        if self.played is not None:
            return self.played.known[group]
        return max(map(self._tick, group), default=0)

    def _known(self, signal: Roots) -> int:
        """The tick from which it is known where it is made."""
        return self._known_of(tuple(self._inverters(signal)))

    def _read_at(self, signal: Roots) -> int:
        """The tick from which all that its gate reads is known."""
        elements = self.network.elements
        read = (self._known_of(elements[number].sees) for number in self._inverters(signal))
        return max(read, default=0)

    def _reads(self, signal: Roots, names: Mapping[Roots, str]) -> tuple[str, ...]:
        inputs = sorted(number for number in signal if number >= self.fabric.first_input)
        read = [names[self.owner[number]] for number in inputs]
        for number in self._inverters(signal):
            looked = map(self._signal, self._looked_at(self.fabric.hosts[number]) - {frozenset()})
            read += sorted(names[other] for other in looked)
        return tuple(dict.fromkeys(read))

    def _nodes(self) -> dict[Roots, set[Cell]]:
        """The wires and buffers of each signal."""
        fabric = self.fabric
        found: dict[Roots, set[Cell]] = {}
        for wire in range(fabric.box_wires):
            roots = self.wire_roots[wire]
            if roots:
                found.setdefault(self._signal(roots), set()).add(fabric.wires[wire])
        for number, cell in enumerate(fabric.buffers, start=fabric.first_buffer):
            if self.roots[number]:
                found.setdefault(self._signal(self.roots[number]), set()).add(cell)
        return found

    def _joining(self, signal: Roots, nodes: set[Cell]) -> set[Cell]:
        """What joins the inverters of a signal: its wires without all that hangs loose."""
        fabric = self.fabric
        makers = {*self._inverters(signal)}
        ends = {fabric.wires[w] for w, sources in enumerate(fabric.sources) if makers & {*sources}}
        kept = set(nodes)

        def hangs_loose(cell: Cell) -> bool:
            return cell not in ends and len(self.beside.get(cell, set()) & kept) <= 1

        loose = [cell for cell in nodes if hangs_loose(cell)]
        while loose:
            cell = loose.pop()
            if cell in kept:
                kept.discard(cell)
                loose += filter(hangs_loose, self.beside.get(cell, set()) & kept)
        return kept

    def _beside(self) -> dict[Cell, set[Cell]]:
        """The wires and buffers that each one hands power on to or has it from."""
        beside: dict[Cell, set[Cell]] = {}
        for one, other in self._touching():
            beside.setdefault(one, set()).add(other)
            beside.setdefault(other, set()).add(one)
        return beside

    def _touching(self) -> Iterable[tuple[Cell, Cell]]:
        fabric = self.fabric
        for wire, others in enumerate(fabric.receivers):
            for other in others:
                yield fabric.wires[wire], fabric.wires[other]
        for number, wire in self._fronts():
            yield self.emitter_cells[number], fabric.wires[wire]
        for cell, back in zip(fabric.buffers, fabric.backs, strict=True):
            if back is not None and back.table is Table.POWERED:
                yield fabric.wires[back.index], cell
            elif back is not None and back.table is Table.ON and back.index < fabric.first_input:
                yield self.emitter_cells[back.index], cell

    def _rest(self, held: dict[Cell, tuple[PieceKind, Roots]]) -> None:
        """Blocks go with what rests on them, all others with a neighbour."""
        cells = self.layout.cells
        for cell in [cell for cell in held if cells[cell].part in _CARRIED]:
            below = Direction.NZ.step(cell)
            if below in cells:
                held.setdefault(below, held[cell])
        ways = (Direction.PZ, *(way for way in ALL_DIRECTIONS if way is not Direction.PZ))
        waiting = [cell for cell in cells if cell not in held]
        grown = True
        while grown and waiting:
            grown = False
            for cell in list(waiting):
                near = next((way.step(cell) for way in ways if way.step(cell) in held), None)
                if near is not None:
                    held[cell] = held[near]
                    waiting.remove(cell)
                    grown = True

    def _critical(self, title_at: Mapping[Cell, str]) -> tuple[Step, ...]:
        """One way to the output that is known last."""
        way = self._longest() if self.played is None else self.played.way
        inputs = {number: name for name, number in self.network.inputs.items()}
        steps = []
        for number, tick in way:
            cell = None if number in inputs else self.emitter_cells[number]
            piece = f"input {inputs[number]}" if cell is None else title_at[cell]
            steps.append(Step(tick, piece, cell))
        return tuple(steps)

    def _longest(self) -> tuple[tuple[int, int], ...]:
        """The longest way, emitter and tick."""
        shown = [number for numbers in self.network.outputs.values() for number in numbers]
        way = []
        while shown:
            at = max(shown, key=lambda number: (self._tick(number), -number))
            way.append((at, self._tick(at)))
            inside = at < self.fabric.first_input
            shown = list(self.network.elements[at].sees) if inside else []
        return tuple(reversed(way))

    def _latest(self, signal: Roots) -> int:
        """The longest way to where it is made: names go by that, played or not."""
        return max(map(self._tick, self._inverters(signal)), default=0)

    def _tick(self, number: int) -> int:
        return self.network.elements[number].known_at if number < self.fabric.first_input else 0


def _bits(mask: int) -> Iterable[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
