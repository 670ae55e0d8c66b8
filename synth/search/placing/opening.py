"""Slices of chains from layouts of their function whose chain is open.

A full adder of its own is found in a smaller box than a slice of a chain is: halves can be asked
whole (``asked``), and its formula is told backwards. So the chain is *opened*: the input of a link
is any input at the end -x, its output any output at the end +x. The layout is to be stacked across
the chain, which keeps its other pins at the ends too, so that formulas are small.

Then the chain is *closed*. Pins at the ends turn to the sides of their cells. Only some columns at
the end +x are asked anew, with the output of each link opposite its input, and its buffer in
the last cell of the way. Like everything in this room it proves nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from synth.encoding import Question
from synth.encoding.choices import slots_of
from synth.encoding.geometry import Slot
from synth.encoding.symmetry import exchangeable
from synth.encoding.windows import Window
from synth.layout import Layout
from synth.medium import Direction, Joint, Size
from synth.questions.problem import Problem
from synth.search.placing.behind import WIDTH, is_right, suits
from synth.search.placing.turns import Tries
from synth.search.placing.windowed import asked_window
from synth.spec import Limits, PinDemand, Spec, StackDemand

TICKS = 4
"""The most ticks of an open layout: with more its formulas are too hard."""

SLOWER = 2
"""How many ticks more than the open layout a slice may take: one is the buffer's of its link."""

ENDS = ((0, 3), (1, 2), (0, 4), (1, 3), (2, 2), (2, 3))
"""How many cells longer than the open layout a slice is, and how many of its columns are asked
anew: smaller boxes before larger ones, and what is soon decided before what is not.
"""

CONFLICTS = 40_000
"""The conflicts of one question: 30 cells take most of them, some seconds."""

Places = dict[str, tuple[Slot, ...]]
"""Where each pin may be."""


def opened(problem: Problem, own: Limits) -> tuple[Problem, Limits] | None:
    """A problem of a chain with the chain open, and the limits on it that the user gave.

    None where the chain does not suit, or no tick is left for anything but the buffers of links.
    """
    spec, limits = problem.spec, problem.limits
    if not suits(spec.replace(limits=own)) or spec.empty or spec.fixed:
        return None
    slice_ticks = [most for most in (limits.delay, limits.link_delay) if most is not None]
    ticks = min(TICKS, *(most - 1 for most in slice_ticks))
    if ticks < 1:
        return None
    ends = {link.input: Direction.NX for link in spec.chain}
    ends |= {link.output: Direction.PX for link in spec.chain}
    pins = {
        name: PinDemand((ends[name],) if name in ends else None, None, spec.joint(name))
        for name in spec.pin_names
    }
    open_limits = replace(limits, width=WIDTH, delay=ticks, link_delay=None)
    open_own = replace(own, width=WIDTH, delay=ticks, link_delay=None)
    measures = tuple(one for one in problem.measures if one != "link") or ("volume",)
    open_spec = spec.replace(pins=pins, stack=StackDemand("y"), limits=open_limits)
    return replace(problem, spec=open_spec, measures=measures), open_own


def chained(
    layout: Layout,
    problem: Problem,
    own: Limits,
    fits: Callable[[Size], bool],
    ticks: int,
) -> Tries:
    """One None after each question; returns a slice of a chain that was open, or None.

    Args:
        layout: of the problem with its chain open.
        problem: of the slice.
        own: the limits that the user gave.
        fits: whether a box is of use.
        ticks: of the open layout.
    """
    length, width, height = layout.size
    # No window is asked for a delay of links: most slices that are right soon enough have it.
    limits = replace(problem.limits, link_delay=None)
    spec = problem.spec.replace(limits=limits)
    delay = min(ticks + SLOWER, limits.delay or 0)
    sooner = min(delay, problem.limits.link_delay or delay)
    namings = _namings(layout, spec)
    for longer, columns in ENDS:
        size = (length + longer, width, height)
        kept = size[0] - columns
        if kept < 1 or not fits(size):
            continue
        question = Question(spec, size, delay)
        stands = {cell: block for cell, block in layout.cells.items() if cell[0] < kept}
        free = frozenset(cell for cell in question.geometry.cells if cell[0] >= kept)
        for names in namings:
            pins = _places(layout, question, kept, names)
            if pins is None:
                continue
            for ticks_asked in dict.fromkeys((delay, sooner)):
                window = Window(spec, size, ticks_asked, stands, free, pins, rules=problem.rules)
                found = asked_window(window, CONFLICTS)
                yield
                if not isinstance(found, Layout):
                    break
                if is_right(found, problem, own):
                    return found
    return None


def _namings(layout: Layout, spec: Spec) -> list[dict[str, str]]:
    """Which of the layout's pins is which of the slice's: inputs that can be exchanged at the end
    -x may each be the link's.
    """
    namings: list[dict[str, str]] = [{}]
    if len(spec.chain) > 1:
        return namings
    (link,) = spec.chain
    ends = {pin.name for pin in layout.inputs if pin.face is Direction.NX}
    alike = exchangeable(Question(Spec(spec.function), layout.size, 1))
    for other in next((names for names in alike if link.input in names), ()):
        if other != link.input and other in ends and spec.joint(other) is Joint.BUFFER:
            namings.append({other: link.input, link.input: other})
    return namings


def _places(layout: Layout, question: Question, kept: int, names: dict[str, str]) -> Places | None:
    """Where pins of the slice may be; None if one has no place.

    Those of columns that are kept stay at their cells, those of the others may be anywhere there.
    """
    spec, slots = question.spec, slots_of(question)
    outputs = {link.output: link.input for link in spec.chain}
    at = {names.get(pin.name, pin.name): pin.at for pin in layout.pins}
    places: Places = {}
    for name, cell in at.items():
        if name in outputs:
            opposite = at[outputs[name]][1:]
            own = [slot for slot in slots[name] if slot.cell[1:] == opposite]
        elif cell[0] < kept:
            own = [slot for slot in slots[name] if slot.cell == cell]
        else:
            own = [slot for slot in slots[name] if slot.cell[0] >= kept]
        if not own:
            return None
        places[name] = tuple(own)
    return places
