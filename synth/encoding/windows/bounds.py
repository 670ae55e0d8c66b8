"""What is known of a window's signals whatever its free cells hold.

For every node, tick and rail two masks over the plays: where the signal is on in the exact play
of every layout that the window admits (``low``), and where it is on in that of some (``high``,
which may be more). Where both agree the signal is a constant. They are worked out by playing
section 5 twice: counting only parts and links that are certain, and counting all that may be; an
inverter turns what is low on one rail into what is high on the other.
"""

from __future__ import annotations

from collections.abc import Sequence

from synth.encoding.formula import FALSE, TRUE
from synth.encoding.question import Question
from synth.encoding.windows.graph import Cause, Graph, Thing
from synth.encoding.windows.promises import Masks

SURE, POSSIBLE = 0, 1
"""The two rails, as indices."""

LOW, HIGH = 0, 1
"""The two bounds, as indices."""


class Bounds:
    """Both bounds of both rails.

    Args:
        graph: the nodes.
        question: the plays and ticks.
        kept: masks of the nodes whose signals are promised, by number.

    Attributes:
        full: the mask of all plays.
        neighbour: the index of the neighbour's play, or None.
    """

    def __init__(self, graph: Graph, question: Question, kept: dict[int, Masks]) -> None:
        self.graph = graph
        self.question = question
        self.kept = kept
        self.full = sum(1 << play.index for play in question.all_plays)
        self.neighbour = None if question.neighbour is None else question.neighbour.index
        count = len(graph.things)
        self.masks = [
            [[[0] * count for _ in question.ticks] for _ in (LOW, HIGH)] for _ in (SURE, POSSIBLE)
        ]
        self._order()
        for tick in question.ticks:
            self._state(tick)

    def low(self, rail: int, tick: int, code: int) -> int:
        """The plays in which a cause is on for certain."""
        return self._value(rail, LOW, tick, code)

    def high(self, rail: int, tick: int, code: int) -> int:
        """The plays in which a cause may be on."""
        return self._value(rail, HIGH, tick, code)

    def open(self, rail: int, tick: int, number: int) -> int:
        """The plays in which the signal of a node depends on the free cells."""
        masks = self.masks[rail]
        return masks[HIGH][tick][number] & ~masks[LOW][tick][number]

    def _value(self, rail: int, bound: int, tick: int, code: int) -> int:
        value = self.masks[rail][bound][tick][code >> 1]
        if code & 1:
            if rail == SURE or self.neighbour is None:
                return 0
            return self.full if value >> self.neighbour & 1 else 0
        return value

    def _order(self) -> None:
        """For each bound the links that count, from source to targets."""
        self._passed: list[dict[int, list[int]]] = [{}, {}]
        for number in self.graph.wires:
            for condition, code in self.graph.things[number].links:
                if condition == TRUE:
                    self._passed[LOW].setdefault(code >> 1, []).append(number)
                if condition != FALSE:
                    self._passed[HIGH].setdefault(code >> 1, []).append(number)

    def _state(self, tick: int) -> None:
        graph = self.graph
        for number in graph.inputs:
            self._input(number, tick)
        for number in graph.devices:
            if number in self.kept:
                self._keep(number, tick)
            else:
                self._device(number, graph.things[number], tick)
        for number in graph.driven:
            self._sum(number, tick)
        for number in graph.wires:
            if number in self.kept:
                self._keep(number, tick)
            else:
                self._sum(number, tick)
        for rail in (SURE, POSSIBLE):
            for bound in (LOW, HIGH):
                self._pass_on(rail, bound, tick)
        for number in graph.charged:
            self._sum(number, tick)

    def _keep(self, number: int, tick: int) -> None:
        sure, possible = self.kept[number][tick]
        self.masks[SURE][LOW][tick][number] = self.masks[SURE][HIGH][tick][number] = sure
        self.masks[POSSIBLE][LOW][tick][number] = self.masks[POSSIBLE][HIGH][tick][number] = (
            possible
        )

    def _input(self, number: int, tick: int) -> None:
        inputs = self.graph.things[number].inputs
        for rail in (SURE, POSSIBLE):
            for play in self.question.all_plays:
                on = play.on if rail == SURE else play.possibly
                literals = [literal for name, literal in inputs.items() if name in on]
                bit = 1 << play.index
                if TRUE in literals:
                    self.masks[rail][LOW][tick][number] |= bit
                if any(literal != FALSE for literal in literals):
                    self.masks[rail][HIGH][tick][number] |= bit

    def _sum(self, number: int, tick: int) -> None:
        """What the causes at the same tick make of a node, links aside."""
        thing = self.graph.things[number]
        certain = thing.presence == TRUE
        for rail in (SURE, POSSIBLE):
            self.masks[rail][HIGH][tick][number] = self._any(rail, HIGH, tick, thing.causes)
            if certain:
                self.masks[rail][LOW][tick][number] = self._any(rail, LOW, tick, thing.causes)

    def _any(self, rail: int, bound: int, tick: int, causes: Sequence[Cause]) -> int:
        found = 0
        for condition, code in causes:
            if bound == HIGH or condition == TRUE:
                found |= self._value(rail, bound, tick, code)
        return found

    def _pass_on(self, rail: int, bound: int, tick: int) -> None:
        """Links pass strength on, until nothing changes."""
        masks, things = self.masks[rail][bound][tick], self.graph.things
        passed = self._passed[bound]
        ahead = [number for number in passed if masks[number]]
        while ahead:
            number = ahead.pop()
            strength = masks[number]
            for target in passed.get(number, ()):
                if strength & ~masks[target] and target not in self.kept:
                    if bound == LOW and things[target].presence != TRUE:
                        continue
                    masks[target] |= strength
                    ahead.append(target)

    def _device(self, number: int, thing: Thing, tick: int) -> None:
        """Section 5: what an inverter or buffer makes of earlier ticks."""
        sure, possible = self.masks[SURE], self.masks[POSSIBLE]
        certain = thing.presence == TRUE
        if thing.family == "inverter":
            if tick == 0:
                values = (0, 0, self.full, self.full)
            else:
                before = tick - 1
                off = [self.high(POSSIBLE, before, code) for _, code in thing.hosts]
                may_be_off = [self.low(POSSIBLE, before, code) for _, code in thing.hosts]
                on = [self.high(SURE, before, code) for _, code in thing.hosts]
                must_be_on = [self.low(SURE, before, code) for _, code in thing.hosts]
                values = (
                    self._none(off),
                    self._not_all(may_be_off),
                    self._none(on),
                    self._not_all(must_be_on),
                )
        else:
            values = self._buffered(thing, tick)
        sure[HIGH][tick][number] = values[1]
        possible[HIGH][tick][number] = values[3]
        if certain:
            sure[LOW][tick][number] = values[0]
            possible[LOW][tick][number] = values[2]

    def _none(self, masks: list[int]) -> int:
        """Where none is on."""
        found = 0
        for mask in masks:
            found |= mask
        return self.full & ~found

    def _not_all(self, masks: list[int]) -> int:
        """Where some is off."""
        found = self.full
        for mask in masks:
            found &= mask
        return self.full & ~found

    def _buffered(self, thing: Thing, tick: int) -> tuple[int, int, int, int]:
        delay = thing.delay
        seen = [
            [[self._seen(rail, bound, at, thing) for at in range(tick)] for bound in (LOW, HIGH)]
            for rail in (SURE, POSSIBLE)
        ]
        values = []
        for bound in (LOW, HIGH):
            kept = self.full if tick >= delay else 0
            for at in range(max(0, tick - delay), tick):
                kept &= seen[SURE][bound][at]
            values.append(kept)
        window = 2 * delay - 1
        for bound in (LOW, HIGH):
            found = 0 if tick >= window else self.full
            for at in range(max(0, tick - window), tick):
                found |= seen[POSSIBLE][bound][at]
            values.append(found)
        return (values[0], values[1], values[2], values[3])

    def _seen(self, rail: int, bound: int, tick: int, thing: Thing) -> int:
        found = 0
        for code in thing.backs:
            found |= self._value(rail, bound, tick, code)
        return found
