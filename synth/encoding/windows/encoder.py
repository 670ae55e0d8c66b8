"""A window becomes a formula. Read it as a table of contents."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from synth.encoding.formula import FALSE
from synth.encoding.geometry import Slot
from synth.encoding.parts import at_most_parts
from synth.encoding.shape import Shape
from synth.encoding.statics import impossible_outright
from synth.encoding.windows.bounds import Bounds
from synth.encoding.windows.graph import Graph
from synth.encoding.windows.known import KnownFormula
from synth.encoding.windows.needs import Needs, goal_of, kept_of
from synth.encoding.windows.placing import state_placing
from synth.encoding.windows.planes import Planes
from synth.encoding.windows.promises import Masks
from synth.encoding.windows.region import Region, region_of
from synth.encoding.windows.statics import WindowStatics
from synth.encoding.windows.window import Window
from synth.layout import Layout
from synth.medium import LEVEL_DIRECTIONS


@dataclass(frozen=True)
class WindowEncoding:
    """A formula whose models are layouts that answer a window's question.

    A formula without a model rules out the window's question as it was asked (with its promises,
    its longest run), and nothing else. A model is right but for the reach: the simulator judges.
    """

    window: Window
    formula: KnownFormula
    statics: WindowStatics

    @property
    def clauses(self) -> list[list[int]]:
        """The clauses, as DIMACS literals."""
        return self.formula.clauses

    @property
    def variable_count(self) -> int:
        """The number of variables."""
        return self.formula.variable_count

    @property
    def contradicts_itself(self) -> bool:
        """Whether writing the formula showed already that it has no model."""
        return self.formula.contradiction or any(not clause for clause in self.formula.clauses)

    @cached_property
    def choices(self) -> list[int]:
        """The static variables: a model's values of these are its layout."""
        return self.statics.choices()

    def decode(self, model: Iterable[int]) -> Layout:
        """The layout that a model describes."""
        return self.statics.layout(model)


def encode_window(window: Window) -> WindowEncoding:
    """Write the formula of a window.

    Its size grows with the free cells and with what they touch, not with the box; with promises the
    time to write it does as well.
    """
    formula = KnownFormula(window.free, window.cells, window.pins)
    region = region_of(window)
    statics = WindowStatics(formula, window, region.near)
    encoding = WindowEncoding(window, formula, statics)
    if impossible_outright(window.question):
        formula.add("the stack is impossible outright", [])
    statics.state()
    if window.parts is not None:
        _at_most_parts(formula, statics, window)
    if window.unlike is not None:
        held = [statics.holds(cell, block) for cell, block in window.unlike.items()]
        formula.add("something is elsewhere", [-literal for literal in held])
    if not window.buffers:
        _no_new_buffers(formula, statics, window)
    formula.settle()
    if formula.contradiction:
        return encoding
    shape = Shape(formula, statics)
    formula.settle()
    if formula.contradiction:
        return encoding
    graph = Graph(formula, statics, shape)
    if window.labels is not None:
        state_placing(formula, graph, window, window.labels, region)
        return encoding
    kept = dict(_kept(graph, window, region))
    question = window.question
    bounds = Bounds(graph, question, kept)
    answerable = [number for number in kept if _answers(graph, number, region)]
    demands = [
        *goal_of(graph, question, None if window.promises is None else region.pin_places),
        *kept_of(graph, bounds, kept, answerable),
    ]
    needs = Needs(graph, bounds, question.ticks, demands)
    planes = Planes(formula, question, graph, bounds, needs, window.longest_run)
    planes.state(demands, window.compared)
    return encoding


def _at_most_parts(formula: KnownFormula, statics: WindowStatics, window: Window) -> None:
    """At most so many parts in the free cells."""
    assert window.parts is not None
    if window.parts < len(window.free):
        at_most_parts(formula, statics, window.parts, sorted(window.free))


def _no_new_buffers(formula: KnownFormula, statics: WindowStatics, window: Window) -> None:
    """Free cells hold no buffer unless they held one before."""
    for cell in sorted(window.free - set(window.buffered)):
        for to in LEVEL_DIRECTIONS:
            formula.add("no new buffers", [-statics.buffer(cell, to)])


def _kept(graph: Graph, window: Window, region: Region) -> Iterator[tuple[int, Masks]]:
    """The fixed nodes whose signals are promised, with their masks."""
    if window.promises is None:
        return
    masks = window.promises.masks
    bottom = tuple((0, _everywhere(window)) for _ in window.question.ticks)
    for number, thing in enumerate(graph.things):
        if not (thing.is_device or thing.family == "wire"):
            continue
        place = thing.places[0]
        cell = place.cell if isinstance(place, Slot) else place
        if cell in window.free or place in region.touched:
            continue
        yield number, masks.get((thing.family, place), bottom)


def _everywhere(window: Window) -> int:
    return sum(1 << play.index for play in window.question.all_plays)


def _answers(graph: Graph, number: int, region: Region) -> bool:
    """Whether all that a device with a promise looks at is part of the formula."""
    thing = graph.things[number]
    return thing.is_device and thing.presence != FALSE and thing.places[0] in region.answering
