"""Suspects: where in a wrong layout to look first, by signals that would put all outputs right.

An output is wrong; the mistake may be far upstream. Each inverter and buffer is given, in the rows
in which an output is wrong, the other value than it has, whatever it sees. If all outputs are right
then, the mistake is in it, or in how its power comes to it. No judgement rests on that.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import replace

import networkx as nx

from synth.medium import Cell
from synth.reviewing.subject import Effort, Subject
from synth.simulator.explaining.netlist import Netlist, NodeKind, netlist_of
from synth.simulator.fabric import Fabric, Sight, Table
from synth.simulator.settling import input_masks, play_unknown


def suspects(subject: Subject, effort: Effort) -> list[Cell]:
    """Cells of a layout where to look first, the farthest upstream first.

    Where no single signal would put all right, these are what wrong outputs look at. Empty where
    the layout is not legal, or no output is wrong.
    """
    if not subject.verdict.legal:
        return []
    settled, wanted = subject.settled, subject.wanted
    fabric, last = settled.fabric, settled.ticks[-1]
    wrong = 0
    for port in fabric.outputs:
        wrong |= wanted.wrong(port, last)
    if not wrong:
        return []
    netlist = netlist_of(subject.layout, subject.rules)
    devices = (*fabric.inverters, *fabric.buffers)
    names = {
        node.at: name
        for name, node in netlist.nodes.items()
        if node.kind in (NodeKind.INVERTER, NodeKind.BUFFER)
    }
    ahead = netlist.ahead_of_outputs()
    order = _upstream_first(netlist)
    guilty = []
    for number, cell in enumerate(devices):
        if names[cell] not in ahead:
            continue
        if not effort.spend(subject.cost):
            break
        if any(_rights(subject, fabric, number, mask) for mask in _other(subject, number, wrong)):
            guilty.append(cell)
    guilty.sort(key=lambda cell: (order.get(names[cell], 0), cell))
    found: dict[Cell, None] = {}
    nets: dict[Cell, None] = {}
    number_of = {cell: number for number, cell in enumerate(devices)}
    for cell in guilty:
        node = netlist.nodes[names[cell]]
        found[cell] = None
        looks_at = subject.layout.cells[cell].facing
        if looks_at is not None:
            # An inverter faces its host, a buffer turns its back to what it sees.
            way = looks_at if node.kind is NodeKind.INVERTER else looks_at.opposite
            found[way.step(cell)] = None
        for route in node.routes.values():
            found.update(dict.fromkeys(route))
        sight = _sight(fabric, number_of[cell])
        nets.update(dict.fromkeys(_net(fabric, _wires_seen(fabric, sight))))
    for port in fabric.outputs:
        if wanted.wrong(port, last):
            nets.update(dict.fromkeys(_net(fabric, _wires_seen(fabric, port.sight))))
    found |= nets
    return [cell for cell in found if subject.layout.inside(cell)]


def _net(fabric: Fabric, looked_at: Sequence[int]) -> list[Cell]:
    """All wires on one net with some, the farthest first: a net that is cut ends at the cut."""
    linked: list[list[int]] = [[] for _ in fabric.wires]
    for wire, others in enumerate(fabric.receivers[: len(fabric.wires)]):
        for other in others:
            linked[wire].append(other)
            linked[other].append(wire)
    seen = dict.fromkeys(looked_at)
    front = list(seen)
    while front:
        front = [other for one in front for other in linked[one] if other not in seen]
        front = list(dict.fromkeys(front))
        seen.update(dict.fromkeys(front))
    return [fabric.wires[wire] for wire in reversed(seen)]


def _wires_seen(fabric: Fabric, sight: Sight | None) -> tuple[int, ...]:
    """The wires that somebody looks at, directly or by the solid that they charge."""
    if sight is None or sight.table is Table.ON:
        return ()
    return (sight.index,) if sight.table is Table.POWERED else fabric.chargers[sight.index]


def _sight(fabric: Fabric, number: int) -> Sight | None:
    """What a device looks at."""
    if number < fabric.first_buffer:
        return Sight(Table.CHARGED, fabric.hosts[number])
    return fabric.backs[number - fabric.first_buffer]


def _upstream_first(netlist: Netlist) -> dict[str, int]:
    """How far down from the inputs each node is, loops taken as one."""
    graph = nx.condensation(netlist.graph())
    depth: dict[int, int] = {}
    for group in nx.topological_sort(graph):
        depth[group] = max((depth[one] + 1 for one in graph.predecessors(group)), default=0)
    return {name: depth[group] for name, group in graph.graph["mapping"].items()}


def _other(subject: Subject, number: int, wrong: int) -> Iterator[int]:
    """What a device may be given: the other value in the wrong rows; unknown ones as 1, then 0."""
    last = subject.settled.ticks[-1]
    sure, possible = last.sure.on[number], last.possible.on[number]
    yield sure ^ wrong
    if sure != possible:
        yield (sure ^ wrong) & ~(possible & ~sure)


def _rights(subject: Subject, fabric: Fabric, number: int, mask: int) -> bool:
    """Whether every output is right in the end where a device is on just in the rows of a mask."""
    wanted = subject.wanted
    masks = [(one, one) for one in input_masks(len(subject.layout.inputs))]
    forced = _as_input(fabric, number)
    played = play_unknown(forced, subject.rules, wanted.full, [*masks, (mask, mask)])
    last = deque(played, maxlen=1)[0]
    return not any(wanted.wrong(port, last) for port in forced.outputs)


def _as_input(fabric: Fabric, number: int) -> Fabric:
    """The fabric with one device as a further input: its number goes behind those of the inputs."""
    behind = fabric.fog - 1

    def now(one: int) -> int:
        return behind if one == number else one - 1 if number < one < fabric.fog else one

    def table(targets: tuple[tuple[int, ...], ...]) -> tuple[tuple[int, ...], ...]:
        return tuple(tuple(map(now, numbers)) for numbers in targets)

    def sight(seen: Sight | None) -> Sight | None:
        if seen is None or seen.table is not Table.ON:
            return seen
        return Sight(Table.ON, now(seen.index))

    buffer = number - fabric.first_buffer
    kept = [index for index in range(len(fabric.buffers)) if index != buffer]
    inverters = range(len(fabric.inverters))
    return replace(
        fabric,
        inverters=tuple(fabric.inverters[one] for one in inverters if one != number),
        hosts=tuple(fabric.hosts[one] for one in inverters if one != number),
        buffers=tuple(fabric.buffers[one] for one in kept),
        delays=tuple(fabric.delays[one] for one in kept),
        backs=tuple(sight(fabric.backs[one]) for one in kept),
        holders=table(tuple(fabric.holders[one] for one in kept)),
        first_input=fabric.first_input - 1,
        sources=table(fabric.sources),
        drivers=table(fabric.drivers),
        inputs=tuple(replace(port, emitter=now(port.emitter)) for port in fabric.inputs),
        outputs=tuple(replace(port, sight=sight(port.sight)) for port in fabric.outputs),
    )
