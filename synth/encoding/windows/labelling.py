"""Which signal each device of a layout gives, and from what tick on it is known (``labels``)."""

from __future__ import annotations

from synth.encoding.question import Question
from synth.encoding.windows.bounds import LOW, POSSIBLE, SURE, Bounds
from synth.encoding.windows.carried import Carried
from synth.encoding.windows.graph import Graph, plays_of
from synth.encoding.windows.labels import Label


def label_devices(
    graph: Graph, bounds: Bounds, question: Question
) -> tuple[tuple[Label, ...], dict[int, int]]:
    """The signals of a layout with nothing free, and which of them each device gives, by number.

    The tick of a signal is one more than that of the latest it is made of, whether or not that one
    decides: the same in whatever way it is made again. Devices that are not known in every row at
    the last tick, or made of something that is not known, are left out.
    """
    rows = sum(1 << play.index for play in question.plays)
    inputs = question.spec.function.inputs
    signals = [
        Label(sum(1 << play.index for play in question.plays if name in play.on), 0)
        for name in inputs
    ]
    last = question.ticks[-1]
    ticks = _Ticks(graph, inputs)
    numbers: dict[Label, int] = {}
    found: dict[int, int] = {}
    for number in graph.devices:
        sure, possible = (bounds.masks[rail][LOW][last][number] & rows for rail in (SURE, POSSIBLE))
        tick = ticks.of(number)
        if sure != possible or tick is None:
            continue
        label = Label(sure, tick)
        if label not in numbers:
            numbers[label] = len(signals)
            signals.append(label)
        found[number] = numbers[label]
    return tuple(signals), found


class _Ticks:
    """When each device is known at the latest, by what it is made of."""

    def __init__(self, graph: Graph, inputs: tuple[str, ...]) -> None:
        self._graph = graph
        self._inputs = len(inputs)
        places = {number: len(inputs) + index for index, number in enumerate(graph.devices)}
        self._unknown = len(inputs) + len(places)
        kept = {number: 1 << place for number, place in places.items()}
        named = {name: index for index, name in enumerate(inputs)}
        self._carried = Carried(graph, named, kept, {}, 1 << self._unknown)
        self._ticks: dict[int, int | None] = {}

    def of(self, number: int) -> int | None:
        """The tick of a device; None if something it is made of is never known."""
        if number not in self._ticks:
            # Until it is worked out: what comes back to itself is never known.
            self._ticks[number] = None
            thing = self._graph.things[number]
            codes = [code for _, code in thing.hosts] + thing.backs
            seen = 0
            for code in codes:
                seen |= self._carried.value(LOW, code)
            latest = self._latest(seen)
            wait = 2 * thing.delay - 1 if thing.delay else 1
            self._ticks[number] = None if latest is None else latest + wait
        return self._ticks[number]

    def _latest(self, seen: int) -> int | None:
        latest = 0
        for place in plays_of(seen):
            if place == self._unknown:
                return None
            if place >= self._inputs:
                tick = self.of(self._graph.devices[place - self._inputs])
                if tick is None:
                    return None
                latest = max(latest, tick)
        return latest
