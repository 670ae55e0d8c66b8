"""What a layout's nodes compute, which of them form gates, and why an output is what it is.

It is based on the netlist and on the simulator's settled values; it reads no rule of the medium.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import networkx as nx

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator import Settling, check, settle
from synth.simulator.explaining.netlist import Netlist, Node, NodeKind, netlist_of
from synth.simulator.made_for import spec_made_for
from synth.simulator.verdict import Verdict
from synth.spec.function_names import function_name
from synth.spec.function_text import expression_of

MAX_LEAVES = 8
"""The most leaves that a gate may have for its truth table to be worked out."""


@dataclass(frozen=True, slots=True)
class Gate:
    """Inverters and buffers that together make one function of what they see.

    A gate is its root and every inverter or buffer on the way to it that sees one thing only and
    that nothing outside the gate sees. Where several nodes power an output, the joined wires
    alone are a gate.

    Attributes:
        root: the node whose output is the gate's.
        members: names of its nodes, from the root back.
        leaves: names of the nodes outside it that it sees, in the order of the netlist.
        column: its value for every assignment of the leaves in counting order; empty for more
            than ``MAX_LEAVES``.
    """

    root: str
    members: tuple[str, ...]
    leaves: tuple[str, ...]
    column: str

    @property
    def element(self) -> str:
        """The name of its function; empty if it has none."""
        return function_name(self.column)


@dataclass(frozen=True, slots=True)
class Cause:
    """Why a node is on or off, for one assignment, once all has settled.

    Attributes:
        node: the node.
        on: whether it is on.
        since: the tick from which that is certain, whatever was before.
        because: what makes it so, among what it sees: one that is on, or else all of them.
    """

    node: Node
    on: bool
    since: int
    because: tuple[str, ...]


class Explanation:
    """Everything there is to say about one layout; made by ``explain``.

    Attributes:
        layout, netlist, verdict: what it is based on.
        as_made: the verdict by what the layout was made for, or None if it does not say.
        graph: the netlist as a graph, edges from cause to effect.
        useful: names of the nodes that some output depends on.
        loops: the groups of nodes that see each other in a circle.
        critical: names along one way to the output that is known last, in an assignment in which
            it is; () if an output never is.
        critical_since: for each of them the tick from which it is known in that assignment.
        gates: the gates, in order from the inputs.
    """

    def __init__(
        self,
        netlist: Netlist,
        settled: Settling,
        verdict: Verdict,
        as_made: Verdict | None = None,
    ) -> None:
        self.layout = netlist.layout
        self.netlist = netlist
        self.verdict = verdict
        self.as_made = as_made
        self._settled = settled
        self.graph = netlist.graph()
        self.useful = netlist.ahead_of_outputs()
        self.loops = [
            sorted(group)
            for group in nx.strongly_connected_components(self.graph)
            if len(group) > 1 or any(self.graph.has_edge(name, name) for name in group)
        ]
        self.critical, self.critical_since = self._critical_path()
        self.gates = tuple(self._gates())

    @property
    def nodes(self) -> list[Node]:
        """Nodes from inputs to outputs: each after what it sees, except within loops."""
        order = self._order()
        return sorted(self.netlist.nodes.values(), key=lambda node: order[node.name])

    def _order(self) -> dict[str, tuple[int, int]]:
        places = {name: index for index, name in enumerate(self.netlist.nodes)}
        rank = self.ranks()
        last = max(rank.values(), default=0) + 1
        kinds = {node.name: node.kind for node in self.netlist.nodes.values()}
        return {
            name: (last if kinds[name] is NodeKind.OUTPUT else rank[name], index)
            for name, index in places.items()
        }

    def ranks(self) -> dict[str, int]:
        """The number of nodes on the longest way to each node; nodes of one loop share a rank."""
        condensed = nx.condensation(self.graph)
        depth: dict[int, int] = {}
        for group in nx.topological_sort(condensed):
            depth[group] = 1 + max((depth[prior] for prior in condensed.predecessors(group)),
                                   default=-1)  # fmt: skip
        return {name: depth[condensed.graph["mapping"][name]] for name in self.graph}

    def column(self, name: str) -> str:
        """The settled value of a node for every assignment: ``0``, ``1``, or ``x``."""
        sure, possible = self._masks(name, len(self._settled.ticks) - 1)
        rows = 1 << len(self.layout.inputs)
        return "".join(
            "1" if sure >> row & 1 else "x" if possible >> row & 1 else "0" for row in range(rows)
        )

    def logic(self, name: str) -> str:
        """What a node computes from the inputs, such as ``~a & b``, or that it does not settle."""
        column = self.column(name)
        if "x" in column:
            return "unsettled"
        expression = expression_of(column, [pin.name for pin in self.layout.inputs])
        return expression if expression is not None else f"truth table {column}"

    def _masks(self, name: str, tick: int) -> tuple[int, int]:
        """In which assignments a node is surely on at a tick, and in which possibly."""
        node, settled = self.netlist.nodes[name], self._settled
        if node.kind is NodeKind.OUTPUT:
            return settled.surely_reads(name, tick), settled.possibly_reads(name, tick)
        if node.kind is NodeKind.INPUT:
            both = settled.at(tick)
            port = next(port for port in settled.fabric.inputs if port.pin.name == name)
            return both.sure.on[port.emitter], both.possible.on[port.emitter]
        return settled.surely(node.at, tick), settled.possibly(node.at, tick)

    @property
    def ticks(self) -> int:
        """The tick at which the critical path ends; 0 without one."""
        return self.critical_since[-1] if self.critical_since else 0

    def _critical_path(self) -> tuple[tuple[str, ...], tuple[int, ...]]:
        """Back from the output that is known last: each node waits for the one before it.

        The longest way through the graph may take more ticks than the layout: not every way
        matters, where one signal decides another early.
        """
        ends = [self._known_last(node.name) for node in self.netlist.of_kind(NodeKind.OUTPUT)]
        if not ends or any(tick == len(self._settled.ticks) for tick, _, _ in ends):
            return (), ()
        since, row, name = max(ends, key=lambda end: end[0])
        path = [(name, since)]
        while True:
            ahead = [(seen, self._since(seen, row)) for seen in self._cause(name, row).because]
            # A buffer that can be held may wait for what holds it, which is not told.
            ahead = [(seen, at) for seen, at in ahead if seen not in dict(path)]
            if not ahead:
                break
            name, since = max(ahead, key=lambda found: found[1])
            path.append((name, since))
        path.reverse()
        return tuple(name for name, _ in path), tuple(since for _, since in path)

    def _known_last(self, output: str) -> tuple[int, int, str]:
        """From which tick an output is known, a row in which it is not before, and its name."""
        since = row = 0
        for tick in range(len(self._settled.ticks)):
            sure, possible = self._masks(output, tick)
            unknown = sure ^ possible
            if unknown:
                since, row = tick + 1, (unknown & -unknown).bit_length() - 1
        return since, row, output

    def _gates(self) -> Iterator[Gate]:
        """The gates of useful inverters and buffers, each in exactly one; loops stay single."""
        nodes = self.netlist.nodes
        looped = {name for group in self.loops for name in group}
        inner = [
            node.name
            for node in self.nodes
            if node.name in self.useful and node.kind in (NodeKind.INVERTER, NodeKind.BUFFER)
        ]

        def absorbed(name: str) -> str | None:
            """The one node that sees this one, if its gate can take this one in."""
            readers = [reader for reader in self.graph.successors(name) if reader in self.useful]
            alone = len(readers) == 1 and len(nodes[name].sees) == 1
            return readers[0] if alone and not looped & {name, readers[0]} else None

        owner = {name: absorbed(name) for name in inner}
        roots = [name for name in inner if owner[name] is None]
        # An output that joins several nodes is itself the root of their gate.
        outputs = [node.name for node in self.netlist.of_kind(NodeKind.OUTPUT)]
        for root in [*roots, *outputs]:
            members = [root]
            for name in members:
                members += [seen for seen in nodes[name].sees if owner.get(seen) == name]
            if root in outputs and len(members) == 1 and len(nodes[root].sees) < 2:
                continue  # an output that only reads a node
            yield self._gate(root, tuple(members))

    def _gate(self, root: str, members: tuple[str, ...]) -> Gate:
        nodes = self.netlist.nodes
        outside = {seen for name in members for seen in nodes[name].sees} - set(members)
        if root in {seen for name in members for seen in nodes[name].sees}:
            outside.add(root)
        leaves = tuple(name for name in nodes if name in outside)
        rows = 1 << len(leaves) if len(leaves) <= MAX_LEAVES else 0
        column = []
        for row in range(rows):
            known = {
                leaf: bool(row >> (len(leaves) - 1 - index) & 1)
                for index, leaf in enumerate(leaves)
            }
            column.append("1" if self._value(members, known) else "0")
        return Gate(root, members, leaves, "".join(column))

    def _value(self, members: Sequence[str], known: Mapping[str, bool]) -> bool:
        """The value of a gate's first member for known leaves.

        Each other member is seen by one before it, so values are worked out from the last on.
        """
        value: dict[str, bool] = {}
        for name in reversed(members):
            node = self.netlist.nodes[name]
            powered = any(known[seen] if seen in known else value[seen] for seen in node.sees)
            value[name] = not powered if node.kind is NodeKind.INVERTER else powered
        return value[members[0]]

    def causes(self, row: int) -> list[Cause]:
        """Why every output is on or off for one assignment, in order from the inputs.

        Args:
            row: the assignment in counting order, the first input the most significant bit.

        Raises:
            InputError: if an output does not settle, so that there is no chain of causes.
        """
        wanted: dict[str, Cause] = {}
        ahead = [node.name for node in self.netlist.of_kind(NodeKind.OUTPUT)]
        for name in ahead:
            if self.column(name)[row] == "x":
                raise InputError(
                    f"output {name!r} does not settle for these inputs",
                    place="--inputs",
                    way_out="play a trace to see what it does",
                )
        while ahead:
            name = ahead.pop()
            if name not in wanted:
                wanted[name] = self._cause(name, row)
                ahead += wanted[name].because
        order = self._order()
        return sorted(wanted.values(), key=lambda cause: (cause.since, order[cause.node.name]))

    def _cause(self, name: str, row: int) -> Cause:
        node = self.netlist.nodes[name]
        on = self.column(name)[row] == "1"
        since = self._since(name, row)
        powering = [seen for seen in node.sees if self.column(seen)[row] == "1"]
        if powering:
            # The one that is certain first decides.
            first = min(powering, key=lambda seen: (self._since(seen, row), node.sees.index(seen)))
            return Cause(node, on, since, (first,))
        return Cause(node, on, since, node.sees)

    def _since(self, name: str, row: int) -> int:
        """The first tick at which the value of a node is certain."""
        for tick in range(len(self._settled.ticks)):
            sure, possible = self._masks(name, tick)
            if (sure >> row & 1) == (possible >> row & 1):
                return tick
        return len(self._settled.ticks)


def explain(layout: Layout, rules: Rules = DEFAULT_RULES) -> Explanation:
    """Work out everything there is to say about a legal layout.

    Raises:
        InputError: if the layout is not legal or has too many inputs to settle.
    """
    settled = settle(layout, rules)
    purpose = spec_made_for(layout)
    as_made = None if purpose is None else check(layout, purpose, rules=rules)
    return Explanation(netlist_of(layout, rules), settled, check(layout, rules=rules), as_made)
