"""Placed starts from a stricter question, whose layouts are then given the joints that are asked.

Networks are placed soonest where every joint is a buffer, copies stack along y two cells apart, and
few ticks are allowed: pins lie at two ends only, nothing is fed back, and formulas are small. In 40
seconds of a processor a parity of three and a full adder were placed so after 9 and 17 seconds; of
wire joints neither was, and without a stack, or with 6 ticks, the adder was not.

What keeps the stricter question does what is asked, but for its joints. Where a pin is to have a
wire joint, a column of its own is put in front of it, with the very buffer that stood outside: to
what lies behind it nothing changes, and the input is one tick later. Often an output needs none.
Two wire joints must keep more distance. In a stack pins have it from the beginning, which makes
placing harder; where nothing is stacked, outputs go to the sides of their cells for it, by a second
column if need be. As with all placed starts, nothing is proven, and every layout is judged.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

from synth.layout import Layout, Pin, Stack
from synth.layout.transform import IDENTITY, Symmetry
from synth.medium import LEDGE, WIRE, Block, Cell, Direction, Joint, Part, Role
from synth.questions.measures import keeps
from synth.questions.problem import Problem
from synth.simulator import check
from synth.spec import Limits, PinDemand, Spec, StackDemand

TICKS = 4
"""The most ticks of the stricter question: with more its formulas are too hard."""

WIDTH = 2
"""Its width, in cells, and the pitch of its stack."""

FEWEST_INPUTS = 3
"""Of fewer inputs the smallest layout itself is soon found."""

QUARTER = Symmetry(1, False)
"""A quarter turn: what stacks along y stacks along x after it."""

ENDS = (Direction.NX, Direction.PX)
"""Where its pins lie."""


def stricter(problem: Problem, own: Limits) -> tuple[Problem, Limits] | None:
    """A stricter problem, and the limits on it that the user gave.

    None where none is of use: the question is as strict itself, or cannot be met in this way.

    Args:
        problem: what is asked, with the limits in force.
        own: the limits that the user gave: those that were assumed hold no start back.
    """
    spec = problem.spec
    if spec.chain or spec.empty or spec.fixed or len(spec.function.inputs) < FEWEST_INPUTS:
        return None
    if any(ask.at is not None for ask in spec.pins.values()):
        return None
    if spec.stack is not None and (spec.stack.axis == "z" or spec.stack.pitch is not None):
        return None
    turn = _turn(spec, own)
    pins = {}
    for name in spec.pin_names:
        faces = tuple(face for face in ENDS if turn.way(face) in spec.faces(name))
        spaced = spec.stack is not None and spec.joint(name) is Joint.WIRE
        pins[name] = PinDemand(faces, None, Joint.BUFFER, spaced)
    late = any(spec.joint(name) is Joint.WIRE for name in spec.function.inputs)
    ticks = TICKS if own.delay is None else min(TICKS, own.delay - late)
    length, width = (own.length, own.width) if turn == IDENTITY else (own.width, own.length)
    if ticks < 1 or (width or WIDTH) < WIDTH or not all(ask.faces for ask in pins.values()):
        return None
    asked = replace(problem.limits, length=None, width=WIDTH, height=None, delay=ticks)
    strict = spec.replace(pins=pins, stack=StackDemand("y"), limits=asked)
    along_y = spec.stack is not None and spec.stack.axis == "y"
    buffers = all(spec.joint(name) is Joint.BUFFER for name in spec.pin_names)
    if along_y and buffers and ticks == problem.limits.delay:
        return None
    return (
        Problem.of(strict, problem.measures, problem.rules)[0],
        Limits(length=length, width=WIDTH, height=own.height, delay=ticks),
    )


def _turn(spec: Spec, own: Limits) -> Symmetry:
    """How a layout of the stricter problem is turned into one of what is asked."""
    if spec.stack is not None:
        return QUARTER if spec.stack.axis == "x" else IDENTITY
    room = math.inf if own.width is None else own.width
    return QUARTER if own.length is not None and own.length < room else IDENTITY


def adapted(layout: Layout, problem: Problem, own: Limits) -> Layout | None:
    """A layout of the stricter problem with the joints that are asked; None if none is right.

    Args:
        layout: of the stricter problem.
        problem: what is asked.
        own: the limits that the user gave.

    Returns:
        The smallest that the simulator passes, with the fewest ticks among equals.
    """
    spec = problem.spec.replace(limits=own)
    turn = _turn(spec, own)
    for ends in sorted(_ways(layout, spec), key=lambda ends: _cost(layout, ends)):
        for aside in _asides(layout, spec):
            made = turn(_with_ends(layout, spec, ends, aside))
            verdict = check(made, spec, delay=own.delay, rules=problem.rules)
            if verdict.passes and keeps(made, verdict.delay, own):
                return made
    return None


@dataclass(frozen=True)
class _End:
    """What stands in front of the pins at one end.

    Attributes:
        columns: how many columns are put there: a buffer in front of each input, in each of them.
        repeats: whether a buffer stands in front of each output as well, in the first of them; in
            front of that, or without, stand wires.
    """

    columns: int = 0
    repeats: bool = False


_DIRECT, _WIRED, _REPEATED, _BOTH = _End(), _End(1), _End(1, repeats=True), _End(2, repeats=True)

_Ends = dict[Direction, _End]


def _ways(layout: Layout, spec: Spec) -> Iterator[_Ends]:
    """What may stand at the two ends, as far as it makes a difference."""
    choices = []
    for face in ENDS:
        pins = [pin for pin in layout.pins if pin.face is face]
        choice = [_DIRECT]
        if any(spec.joint(pin.name) is Joint.WIRE for pin in pins):
            choice.append(_WIRED)
            if any(pin.role is Role.OUTPUT for pin in pins):
                # What goes to the side of its cell does so by a wire.
                choice += [_REPEATED] if spec.stack is not None else [_REPEATED, _BOTH]
        choices.append(choice)
    for both in product(*choices):
        yield dict(zip(ENDS, both, strict=True))


def _cost(layout: Layout, ends: _Ends) -> tuple[int, int]:
    """The volume that a layout has in the end, and at how many ends outputs have buffers."""
    columns = sum(end.columns for end in ends.values())
    length, width, height = layout.size
    volume = (length + columns) * width * (height + _lift(layout, ends))
    return volume, sum(end.repeats for end in ends.values())


def _lift(layout: Layout, ends: _Ends) -> int:
    """By how many cells a layout is lifted: what stands in a column must rest on something."""
    if layout.ground:
        return 0
    return int(any(ends[pin.face].columns and pin.at[2] == 0 for pin in layout.pins))


def _asides(layout: Layout, spec: Spec) -> list[frozenset[str]]:
    """Which outputs may go to the sides of their cells, none first: only where nothing stacks."""
    if spec.stack is not None:
        return [frozenset()]
    outputs = [pin.name for pin in layout.outputs]
    every = (frozenset(), *(frozenset([name]) for name in outputs), frozenset(outputs))
    return list(dict.fromkeys(every))  # Of a single output one is all.


def _with_ends(layout: Layout, spec: Spec, ends: _Ends, aside: frozenset[str]) -> Layout:
    """A layout with columns at its ends, the joints that are asked and some outputs aside."""
    lift = _lift(layout, ends)
    before = ends[Direction.NX].columns
    length, width, height = layout.size
    size = (length + before + ends[Direction.PX].columns, width, height + lift)
    cells: dict[Cell, Block] = {
        (x + before, y, z + lift): block for (x, y, z), block in layout.cells.items()
    }
    pins = []
    for pin in layout.pins:
        x, y, z = pin.at
        at = (x + before, y, z + lift)
        for block in _in_front(pin, ends[pin.face]):
            at = pin.face.step(at)
            cells[at] = block
            if at[2] > 0:
                cells[at[0], y, at[2] - 1] = LEDGE
        face = pin.face
        if pin.name in aside:
            face = Direction.NY if y == 0 else Direction.PY
        pins.append(Pin(pin.name, pin.role, at, face, spec.joint(pin.name)))
    stack = None if spec.stack is None else Stack("y", width)
    return Layout(size, cells, tuple(pins), stack, layout.ground)


def _in_front(pin: Pin, end: _End) -> list[Block]:
    """What columns have in front of a pin, the first of them first."""
    if pin.role is Role.INPUT:
        return [Block(Part.BUFFER, pin.face.opposite, 1)] * end.columns
    wires = [WIRE] * end.columns
    return [Block(Part.BUFFER, pin.face, 1), *wires[1:]] if end.repeats else wires
