"""Which signals of a window the goal looks at, directly or through others, backwards in time.

Only these get variables and clauses. Nothing is lost: whatever else happens is free.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from synth.encoding import causes
from synth.encoding.formula import FALSE
from synth.encoding.geometry import Slot
from synth.encoding.question import Question
from synth.encoding.windows.bounds import POSSIBLE, SURE, Bounds
from synth.encoding.windows.graph import NOTHING, Graph, Thing
from synth.encoding.windows.promises import Masks
from synth.medium import Joint, Role


@dataclass(frozen=True, slots=True)
class Demand:
    """Something that must hold at ``tick`` in the plays of ``mask``.

    On the sure rail: some of ``codes`` is on. On the possible rail: none of them is. Not where one
    of the ``unless`` literals is true.
    """

    rail: int
    tick: int
    mask: int
    codes: tuple[int, ...]
    unless: tuple[int, ...] = ()


def goal_of(graph: Graph, question: Question, places: Iterable[Slot] | None) -> Iterator[Demand]:
    """Section 5: outputs read their values at tick T, and no input is fed back.

    Args:
        places: the places of pins that count, or None for all.
    """
    spec, statics = question.spec, graph.statics
    wanted = None if places is None else set(places)
    for name, slots in statics.slots.items():
        for slot in slots:
            pin = statics.pin(name, slot)
            if pin == FALSE or (wanted is not None and slot not in wanted):
                continue
            if spec.role(name) is Role.INPUT:
                if spec.joint(name) is Joint.WIRE:
                    off = sum(1 << p.index for p in question.plays if name not in p.possibly)
                    lead = (graph.lead(slot.cell, slot.face),)
                    yield Demand(POSSIBLE, question.delay, off, lead, (-pin,))
                continue
            column = spec.function.outputs[name]
            seen = causes.read_by(graph, spec.joint(name), slot)
            codes = tuple(code for code in seen if code != NOTHING)
            for rail, value in ((SURE, "1"), (POSSIBLE, "0")):
                rows = (p for p in question.plays if p.row is not None and column[p.row] == value)
                mask = sum(1 << play.index for play in rows)
                if mask:
                    yield Demand(rail, question.delay, mask, codes, (-pin,))


def kept_of(
    graph: Graph, bounds: Bounds, kept: Mapping[int, Masks], answerable: Iterable[int]
) -> Iterator[Demand]:
    """What devices whose signals are promised must see, so that the promises hold."""
    for number in answerable:
        thing = graph.things[number]
        for tick, (sure, possible) in enumerate(kept[number]):
            never = bounds.full & ~possible
            if tick > 0 and (sure or never):
                yield from _device_demands(thing, tick, sure, never)


def _device_demands(thing: Thing, tick: int, sure: int, never: int) -> Iterator[Demand]:
    """Section 5: what a device must have seen to be surely on, or not possibly on, at a tick."""
    if thing.family == "inverter":
        codes = tuple(code for _, code in thing.hosts)
        if sure:
            yield Demand(POSSIBLE, tick - 1, sure, codes)
        if never:
            yield Demand(SURE, tick - 1, never, codes)
        return
    backs = tuple(thing.backs)
    for at in range(max(0, tick - thing.delay), tick):
        if sure:
            yield Demand(SURE, at, sure, backs)
    for at in range(max(0, tick - (2 * thing.delay - 1)), tick):
        if never:
            yield Demand(POSSIBLE, at, never, backs)


class Needs:
    """The plays in which each signal is looked at, where it is no constant.

    ``masks[rail][tick][number]``.
    """

    def __init__(
        self, graph: Graph, bounds: Bounds, ticks: range, demands: Iterable[Demand]
    ) -> None:
        self.graph = graph
        self.bounds = bounds
        count = len(graph.things)
        self.masks = [[[0] * count for _ in ticks] for _ in (SURE, POSSIBLE)]
        for demand in demands:
            for code in demand.codes:
                self._need(demand.rail, demand.tick, code, demand.mask)
        for tick in reversed(ticks):
            self._instant(tick)
            if tick > 0:
                for number in graph.devices:
                    self._device(number, tick)

    def _need(self, rail: int, tick: int, code: int, mask: int) -> bool:
        """Note that a cause is looked at; whether that is new."""
        number = code >> 1
        if code & 1:
            if rail == SURE or self.bounds.neighbour is None or not mask:
                return False
            mask = 1 << self.bounds.neighbour
        new = mask & self.bounds.open(rail, tick, number) & ~self.masks[rail][tick][number]
        self.masks[rail][tick][number] |= new
        return bool(new)

    def _instant(self, tick: int) -> None:
        graph = self.graph
        for rail in (SURE, POSSIBLE):
            needed = self.masks[rail][tick]
            for number in graph.charged:
                self._causes(rail, tick, number)
            ahead = [number for number in graph.wires if needed[number]]
            while ahead:
                number = ahead.pop()
                for _, code in graph.things[number].links:
                    if self._need(rail, tick, code, needed[number]):
                        ahead.append(code >> 1)
            for number in graph.wires:
                self._causes(rail, tick, number)
            for number in graph.driven:
                self._causes(rail, tick, number)

    def _causes(self, rail: int, tick: int, number: int) -> None:
        mask = self.masks[rail][tick][number]
        if mask:
            for _, code in self.graph.things[number].causes:
                self._need(rail, tick, code, mask)

    def _device(self, number: int, tick: int) -> None:
        thing = self.graph.things[number]
        for rail in (SURE, POSSIBLE):
            mask = self.masks[rail][tick][number]
            if not mask:
                continue
            for _, code in thing.hosts:
                self._need(POSSIBLE if rail == SURE else SURE, tick - 1, code, mask)
            window = thing.delay if rail == SURE else 2 * thing.delay - 1
            for at in range(max(0, tick - window), tick):
                for code in thing.backs:
                    self._need(rail, at, code, mask)
