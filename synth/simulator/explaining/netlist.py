"""The netlist of a layout: which inverters and buffers see which others, through the wires.

Whatever an inverter, a buffer or an output looks at has power exactly when at least one of a
fixed set of emitters (inputs, inverters, buffers) is on, because power (section 4) only adds up. So
every inverter is a NOR of its set and every buffer or output an OR of its set: a gate-level netlist
without wires. The cells that carry each connection are kept with it, for people who want to see
the way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum

import networkx as nx

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Rules
from synth.simulator import touch
from synth.simulator.fabric import Fabric, Sight, Table, fabric_of
from synth.simulator.row import Row
from synth.simulator.settling import refuse_illegal


class NodeKind(Enum):
    """What a node of a netlist is."""

    INPUT = "input"
    INVERTER = "inverter"
    BUFFER = "buffer"
    OUTPUT = "output"

    def __str__(self) -> str:
        return self.value


@dataclass(frozen=True, slots=True)
class Node:
    """An input, inverter, buffer or output.

    Attributes:
        name: unique in its netlist: the pin's name, or kind and cell (``inverter_0_0_2``).
        kind: what it is.
        at: its cell; for a pin, the cell that it sits on.
        delay: the ticks from what it sees to what it does: 1 for an inverter, 0 for a pin.
        sees: the names of the nodes that give it power, in the order of the netlist; any one is
            enough. With power an inverter is off, a buffer or output on. An input sees nothing.
        routes: for each name in ``sees``, the cells that carry the power from there to here by the
            shortest way, without the two ends.
        held_by: names of buffers that point into a side of this buffer (section 5).
    """

    name: str
    kind: NodeKind
    at: Cell
    delay: int
    sees: tuple[str, ...]
    routes: Mapping[str, tuple[Cell, ...]]
    held_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Netlist:
    """The nodes of a layout: inputs, inverters, buffers, then outputs, by pins and by cells.

    Attributes:
        layout: the layout that it was extracted from.
        nodes: the nodes by name.
    """

    layout: Layout
    nodes: Mapping[str, Node]

    def of_kind(self, kind: NodeKind) -> list[Node]:
        """The nodes of one kind, in order."""
        return [node for node in self.nodes.values() if node.kind is kind]

    @property
    def holding(self) -> list[Node]:
        """The buffers that can be held: a layout with one is sequential."""
        return [node for node in self.nodes.values() if node.held_by]

    def graph(self) -> nx.DiGraph:
        """Nodes by name; an edge leads from a node to each node that sees it.

        ``ticks`` of an edge is the delay of the node that it leads to.
        """
        graph = nx.DiGraph()
        graph.add_nodes_from(self.nodes)
        for node in self.nodes.values():
            for seen in (*node.sees, *node.held_by):
                graph.add_edge(seen, node.name, ticks=node.delay)
        return graph

    def ahead_of_outputs(self) -> set[str]:
        """Names of the nodes that some output depends on, outputs included."""
        graph = self.graph()
        names = [node.name for node in self.of_kind(NodeKind.OUTPUT)]
        found = set(names)
        for name in names:
            found |= nx.ancestors(graph, name)
        return found


def netlist_of(layout: Layout, rules: Rules = DEFAULT_RULES) -> Netlist:
    """Extract the netlist of a legal layout that stands alone.

    Raises:
        InputError: if the layout is not legal, naming rule and cell.
    """
    refuse_illegal(layout, rules)
    return _Extraction(layout, rules).netlist()


_Way = tuple[Cell, ...]


class _Extraction:
    """Follows power outwards from every emitter, over at most ``reach - 1`` links."""

    def __init__(self, layout: Layout, rules: Rules) -> None:
        self.layout = layout
        self.reach = rules.reach
        self.row = Row(layout)
        self.fabric: Fabric = fabric_of(layout)
        fabric = self.fabric
        self.names = self._names()
        self.places = [
            *fabric.inverters,
            *fabric.buffers,
            *(port.pin.outside for port in fabric.inputs),
        ]
        self.powered: list[dict[int, _Way]] = [{} for _ in fabric.wires]
        for emitter in range(fabric.fog):
            self._spread(emitter)

    def _names(self) -> list[str]:
        """A name for each emitter; a pin keeps its own name, and a part avoids it."""
        fabric = self.fabric
        taken = {pin.name for pin in self.layout.pins}
        names = []
        for kind, cells in (("inverter", fabric.inverters), ("buffer", fabric.buffers)):
            for cell in cells:
                name = "_".join([kind, *map(str, cell)])
                while name in taken:
                    name += "_"
                taken.add(name)
                names.append(name)
        return names + [port.pin.name for port in fabric.inputs]

    def _spread(self, emitter: int) -> None:
        """The wires that one emitter powers (section 4), each with the cells on the way there."""
        fabric = self.fabric
        front: dict[int, _Way] = {}
        for wire, cell in enumerate(fabric.wires):
            if emitter in fabric.sources[wire]:
                front[wire] = (*self._through(emitter, cell), cell)
        steps = 1
        while front:
            for wire, way in front.items():
                self.powered[wire][emitter] = way
            if steps == self.reach:
                return
            ahead: dict[int, _Way] = {}
            for wire, way in front.items():
                for other in fabric.receivers[wire]:
                    if emitter not in self.powered[other] and other not in ahead:
                        ahead[other] = (*way, fabric.wires[other])
            front = ahead
            steps += 1

    def _through(self, emitter: int, wire: Cell) -> _Way:
        """The driven solid between an emitter and a wire that it powers, if there is one."""
        place = self.places[emitter]
        # The lead of an input is both its emitter and its wire.
        if place == wire or place in set(touch.powering_cells(self.row, wire)):
            return ()
        for solid in touch.neighbouring_solids(self.row, wire):
            if place in set(touch.driving_cells(self.row, solid)):
                return (solid,)
        raise AssertionError(f"{place} does not power {wire}")

    def _charging(self, solid: int) -> dict[int, _Way]:
        """The emitters that charge a solid (section 4), each with the way, the solid included."""
        fabric = self.fabric
        cell = fabric.solids[solid]
        found: dict[int, _Way] = dict.fromkeys(fabric.drivers[solid], (cell,))
        for wire in fabric.chargers[solid]:
            for emitter, way in self.powered[wire].items():
                longer = (*way, cell)
                if emitter not in found or len(longer) < len(found[emitter]):
                    found[emitter] = longer
        return found

    def _seen(self, sight: Sight | None) -> dict[int, _Way]:
        if sight is None:
            return {}
        if sight.table is Table.ON:
            return {sight.index: ()}
        if sight.table is Table.POWERED:
            return self.powered[sight.index]
        return self._charging(sight.index)

    def netlist(self) -> Netlist:
        """All nodes."""
        nodes = [*self._inputs(), *self._inverters(), *self._buffers(), *self._outputs()]
        return Netlist(self.layout, {node.name: node for node in nodes})

    def _inputs(self) -> Iterator[Node]:
        for port in self.fabric.inputs:
            yield Node(port.pin.name, NodeKind.INPUT, port.pin.at, 0, (), {})

    def _inverters(self) -> Iterator[Node]:
        for number, (cell, host) in enumerate(
            zip(self.fabric.inverters, self.fabric.hosts, strict=True)
        ):
            sees, routes = self._named(self._charging(host))
            yield Node(self.names[number], NodeKind.INVERTER, cell, 1, sees, routes)

    def _buffers(self) -> Iterator[Node]:
        fabric = self.fabric
        for index, cell in enumerate(fabric.buffers):
            sees, routes = self._named(self._seen(fabric.backs[index]))
            yield Node(
                self.names[fabric.first_buffer + index],
                NodeKind.BUFFER,
                cell,
                fabric.delays[index],
                sees,
                routes,
                tuple(self.names[holder] for holder in fabric.holders[index]),
            )

    def _outputs(self) -> Iterator[Node]:
        for port in self.fabric.outputs:
            sees, routes = self._named(self._seen(port.sight))
            yield Node(port.pin.name, NodeKind.OUTPUT, port.pin.at, 0, sees, routes)

    def _named(self, ways: Mapping[int, _Way]) -> tuple[tuple[str, ...], dict[str, _Way]]:
        """Names in the order of the netlist, inputs first, and the ways by name."""
        fabric = self.fabric
        order = sorted(ways, key=lambda emitter: (emitter < fabric.first_input, emitter))
        return (
            tuple(self.names[emitter] for emitter in order),
            {self.names[emitter]: ways[emitter] for emitter in order},
        )
