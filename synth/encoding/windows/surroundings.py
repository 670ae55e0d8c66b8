"""What a right layout promises to a window in it: what its goal rests on (``promises``).

Worked out once a layout, for as many windows as are cut into it.
"""

from __future__ import annotations

from synth.encoding.geometry import Slot
from synth.encoding.shape import Shape
from synth.encoding.windows.bounds import LOW, POSSIBLE, SURE, Bounds
from synth.encoding.windows.carried import Carried
from synth.encoding.windows.graph import Graph, Thing
from synth.encoding.windows.known import KnownFormula
from synth.encoding.windows.labelling import label_devices
from synth.encoding.windows.labels import Labels
from synth.encoding.windows.needs import Demand, goal_of
from synth.encoding.windows.promises import Masks, Place, Promises
from synth.encoding.windows.statics import WindowStatics
from synth.encoding.windows.window import Window
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.spec import Spec


def pins_of(layout: Layout) -> dict[str, tuple[Slot, ...]]:
    """Every pin of a layout at its own place only."""
    return {pin.name: (Slot(pin.at, pin.face),) for pin in layout.pins}


def promises_of(
    layout: Layout,
    spec: Spec,
    delay: int,
    *,
    rows: tuple[int, ...] | None = None,
    rules: Rules = DEFAULT_RULES,
) -> Promises:
    """The signals of a layout's wires and devices on which its goal rests.

    Args:
        layout: the layout; it meets the delay and stacks as the specification asks.
        spec: what is asked; its joints are those of the layout.
        delay: T, in ticks.
        rows: the rows that windows will play; None for all.
        rules: the rule table.
    """
    window, graph, bounds = _evaluated(layout, spec, delay, rows, rules)
    rests = _Rests(graph, bounds, window)
    found: dict[Place, Masks] = {}
    for number, thing in enumerate(graph.things):
        if thing.is_device or thing.family == "wire":
            masks = rests.promise(number)
            for place in thing.places:
                found[thing.family, place] = masks
    return Promises(found, bounds.full)


def labels_of(
    layout: Layout,
    spec: Spec,
    delay: int,
    *,
    rows: tuple[int, ...] | None = None,
    rules: Rules = DEFAULT_RULES,
) -> Labels:
    """The signals of a layout, and where they are; arguments as of ``promises_of``."""
    window, graph, bounds = _evaluated(layout, spec, delay, rows, rules)
    signals, given = label_devices(graph, bounds, window.question)
    unknown = 1 << len(signals)
    kept = {n: 1 << given[n] if n in given else unknown for n in graph.devices}
    inputs = {name: number for number, name in enumerate(spec.function.inputs)}
    carried = Carried(graph, inputs, kept, {}, unknown)
    return Labels(
        signals,
        {(graph.things[n].family, graph.things[n].places[0]): given[n] for n in given},
        {
            ("wire", place): carried.masks[LOW][number]
            for number in graph.wires
            for place in graph.things[number].places
        },
    )


def _evaluated(
    layout: Layout, spec: Spec, delay: int, rows: tuple[int, ...] | None, rules: Rules
) -> tuple[Window, Graph, Bounds]:
    """A layout as a window with nothing free, and all its signals."""
    pins, size, cells = pins_of(layout), layout.size, layout.cells
    window = Window(spec, size, delay, cells, frozenset(), pins, rows=rows, rules=rules)
    formula = KnownFormula(window.free, window.cells, window.pins)
    statics = WindowStatics(formula, window, layout.cells)
    shape = Shape(formula, statics)
    formula.settle()
    graph = Graph(formula, statics, shape)
    return window, graph, Bounds(graph, window.question, {})


class _Rests:
    """Goes back from the goal to all that it rests on."""

    def __init__(self, graph: Graph, bounds: Bounds, window: Window) -> None:
        self.graph = graph
        self.bounds = bounds
        self.ticks = window.question.ticks
        count = len(graph.things)
        self.masks = [[[0] * count for _ in self.ticks] for _ in (SURE, POSSIBLE)]
        for demand in goal_of(graph, window.question, None):
            self._demand(demand)
        for tick in reversed(self.ticks):
            self._instant(tick)
            if tick > 0:
                for number in graph.devices:
                    self._device(graph.things[number], number, tick)

    def promise(self, number: int) -> Masks:
        """Surely on from the first tick at which that counts, possible until the last such tick."""
        sure, possible = 0, self.bounds.full
        found = []
        for tick in self.ticks:
            sure |= self.masks[SURE][tick][number]
            possible &= ~self.masks[POSSIBLE][tick][number]
            found.append((sure, possible))
        return tuple(found)

    def _holds(self, rail: int, tick: int, code: int) -> int:
        """Where a cause is surely on; on the possible rail, where it is not possibly on."""
        value = self.bounds.low(rail, tick, code)
        return value if rail == SURE else self.bounds.full & ~value

    def _demand(self, demand: Demand) -> None:
        for code in demand.codes:
            self._rest(demand.rail, demand.tick, code, demand.mask)

    def _rest(self, rail: int, tick: int, code: int, mask: int) -> bool:
        """Note that something rests on a cause; whether that is new."""
        mask &= self._holds(rail, tick, code)
        if code & 1:
            if rail == SURE or self.bounds.neighbour is None or not mask:
                return False
            mask = 1 << self.bounds.neighbour
        known = self.masks[rail][tick]
        new = mask & ~known[code >> 1]
        known[code >> 1] |= new
        return bool(new)

    def _instant(self, tick: int) -> None:
        graph = self.graph
        for rail in (SURE, POSSIBLE):
            masks = self.masks[rail][tick]
            for number in graph.charged:
                self._causes(rail, tick, number)
            ahead = [number for number in graph.wires if masks[number]]
            while ahead:
                number = ahead.pop()
                for _, code in graph.things[number].links:
                    if self._rest(rail, tick, code, masks[number]):
                        ahead.append(code >> 1)
            for number in (*graph.wires, *graph.driven):
                self._causes(rail, tick, number)

    def _causes(self, rail: int, tick: int, number: int) -> None:
        mask = self.masks[rail][tick][number]
        if mask:
            for _, code in self.graph.things[number].causes:
                self._rest(rail, tick, code, mask)

    def _device(self, thing: Thing, number: int, tick: int) -> None:
        for rail in (SURE, POSSIBLE):
            mask = self.masks[rail][tick][number]
            for _, code in thing.hosts:
                self._rest(POSSIBLE if rail == SURE else SURE, tick - 1, code, mask)
            window = thing.delay if rail == SURE else 2 * thing.delay - 1
            for at in range(max(0, tick - window), tick):
                for code in thing.backs:
                    self._rest(rail, at, code, mask)
