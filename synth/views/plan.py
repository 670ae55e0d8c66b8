"""A building plan: in which order to place the parts, and what to test when all stand.

Layers are built from the lowest up: in each layer blocks first, then what rests on the layer below,
then inverters. A host lies beside or below its inverter and a support below what it carries
(section 2), so every part finds its support or host in place. A step is small enough for a picture
that can be read.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import (
    ALL_DIRECTIONS,
    DEFAULT_RULES,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
    Role,
    Rules,
)
from synth.simulator import settle, trace
from synth.simulator.tracing import MAX_SHOWN
from synth.views.drawing.shown import Window
from synth.views.judged import Judged, judge

BUILDING_ORDER = (
    Part.SOLID,
    Part.CLEAR,
    Part.LEDGE,
    Part.WIRE,
    Part.BUFFER,
    Part.INVERTER,
)
"""Parts in the order in which one layer is built."""

MOST_IN_STEP = 16
"""The most parts that one step places."""

MOST_LONG, MOST_ABOUT = 12, 14
"""The most cells that the window of a step shows along one side, and along both sides together.

With more, letters would be smaller than 8 points where the pictures fill the width of a page."""

_STRIPE = 4
"""In a wide layout, one step stays within a strip of this many cells across."""

MAX_TESTS = 256
"""The most assignments that a plan tests: all of them, up to 8 inputs."""

MAX_LISTED = 50_000
"""The most parts, times tests, of which a plan may have to tell whether they are on."""


@dataclass(frozen=True, slots=True)
class Placement:
    """One part to place.

    Attributes:
        number: counts from 1 through the whole plan.
        cell: the cell where it goes.
        block: the part.
        rests: the cell that holds its support or host; None for blocks and on ground.
        floats: whether no neighbour is in place yet, so that it touches nothing.
        beside: for a block with nothing below it, the direction of a neighbour that is in place.
    """

    number: int
    cell: Cell
    block: Block
    rests: Cell | None
    floats: bool
    beside: Direction | None = None


@dataclass(frozen=True, slots=True)
class PlanStep:
    """Parts of one kind in one layer, near one another.

    Attributes:
        number: counts from 1.
        z: the layer.
        part: the kind of part.
        placements: the parts to place, in order.
        window: the part of the box to show: these parts and what they touch.
    """

    number: int
    z: int
    part: Part
    placements: tuple[Placement, ...]
    window: Window


@dataclass(frozen=True, slots=True)
class PlanTest:
    """One assignment to drive.

    Attributes:
        inputs: 0 or 1 for each input, in order of pins.
        outputs: what to expect: ``0``, ``1``, or ``x`` where an output does not settle.
        ticks: the tick from which the outputs no longer change, in the simulator's trace that
            goes through the tests one after another.
        on: the cells of the inverters and buffers that are then on.
    """

    inputs: tuple[int, ...]
    outputs: tuple[str, ...]
    ticks: int
    on: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """How to build a layout.

    Attributes:
        layout: the layout to build.
        steps: the steps, in order.
        wait: the ticks after which every test must hold, whatever was before; None if the layout
            meets no delay.
        tests: the tests in counting order of the inputs, at most ``MAX_TESTS``.
        all_tests: how many assignments there are.
        judged: the verdict on the layout, and what was asked of it.
    """

    layout: Layout
    steps: tuple[PlanStep, ...]
    wait: int | None
    tests: tuple[PlanTest, ...]
    all_tests: int
    judged: Judged


def plan_of(
    layout: Layout, rules: Rules = DEFAULT_RULES, *, judged: Judged | None = None
) -> Plan:  # fmt: skip
    """The building plan of a legal layout.

    Args:
        layout: the layout to build.
        rules: the rule table.
        judged: the verdict to show; None judges the layout by what it was made for, if it says so.

    Raises:
        InputError: if the layout is not legal (a part without support cannot be placed), or has
            too many inputs to settle.
    """
    settled = settle(layout, rules)
    if judged is None:
        judged = judge(layout, rules=rules)
    verdict = judged.verdict
    if verdict.outputs is None:
        raise InputError("the layout is not legal", way_out="run a check to see every fault")
    hold = (verdict.delay if verdict.delay is not None else len(settled.ticks)) + 1
    return Plan(
        layout,
        building_steps(layout),
        verdict.delay,
        _tests(layout, verdict.outputs, hold, rules),
        1 << len(layout.inputs),
        judged,
    )


def building_steps(layout: Layout) -> tuple[PlanStep, ...]:
    """Every part once, layer by layer, one kind of part at a time, in steps that can be drawn."""
    steps: list[PlanStep] = []
    placed: set[Cell] = set()
    for z in range(layout.height):
        for part in BUILDING_ORDER:
            cells = [c for c, block in layout.cells.items() if c[2] == z and block.part is part]
            groups = _groups(layout, cells)
            while groups:
                # A group that touches something in place goes before one that would float.
                group = next((g for g in groups if _any_held(g, placed)), groups[0])
                groups.remove(group)
                placements = []
                for cell in _near_first(group, placed):
                    rests = support_of(layout, cell)
                    floats = rests is None and not _carried(layout, cell, placed)
                    number = len(placed) + 1
                    block = layout.cells[cell]
                    beside = _beside(cell, placed) if rests is None else None
                    placements.append(Placement(number, cell, block, rests, floats, beside))
                    placed.add(cell)
                window = window_of(layout, group)
                steps.append(PlanStep(len(steps) + 1, z, part, tuple(placements), window))
    return tuple(steps)


def window_of(layout: Layout, cells: Sequence[Cell]) -> Window:
    """The cells and those around them, within the box, with the layer below."""
    lows = [max(0, min(c[axis] for c in cells) - 1) for axis in range(3)]
    highs = [min(layout.size[axis], max(c[axis] for c in cells) + 2) for axis in range(2)]
    z = cells[0][2]
    return Window((lows[0], lows[1], max(0, z - 1)), (highs[0], highs[1], z + 1))


def _groups(layout: Layout, cells: Sequence[Cell]) -> list[list[Cell]]:
    """The cells of one layer in groups small enough for a step, along the longer side."""
    along, across = (0, 1) if layout.length >= layout.width else (1, 0)
    stripe_of = _STRIPE if layout.size[across] > _STRIPE else layout.size[across]
    groups: list[list[Cell]] = []
    stripe = -1
    for cell in sorted(cells, key=lambda c: (c[across] // stripe_of, c[along], c[across])):
        fits = stripe == cell[across] // stripe_of and _fits(layout, [*groups[-1], cell])
        if fits:
            groups[-1].append(cell)
        else:
            groups.append([cell])
        stripe = cell[across] // stripe_of
    return groups


def _fits(layout: Layout, cells: Sequence[Cell]) -> bool:
    long, wide, _ = window_of(layout, cells).size
    return len(cells) <= MOST_IN_STEP and long <= MOST_LONG and long + wide <= MOST_ABOUT


def _any_held(cells: Sequence[Cell], placed: set[Cell]) -> bool:
    return any(c[2] == 0 or any(way.step(c) in placed for way in ALL_DIRECTIONS) for c in cells)


def _beside(cell: Cell, placed: set[Cell]) -> Direction | None:
    """For a block with nothing below it, the direction of a neighbour in place, if there is one."""
    if cell[2] == 0 or Direction.NZ.step(cell) in placed:
        return None
    return next((way for way in ALL_DIRECTIONS if way.step(cell) in placed), None)


def support_of(layout: Layout, cell: Cell) -> Cell | None:
    """The cell that a part rests or hangs on; None for blocks, and for parts on ground."""
    block = layout.cells[cell]
    if block.part is Part.INVERTER and block.facing is not None:
        return block.facing.step(cell)
    if block.part in (Part.WIRE, Part.BUFFER):
        below = Direction.NZ.step(cell)
        return below if layout.inside(below) else None
    return None


def _near_first(cells: Sequence[Cell], placed: set[Cell]) -> list[Cell]:
    """The cells by x and y, but a block that would float waits until it touches another."""
    waiting, ordered = sorted(cells), list[Cell]()
    there = set(placed)
    while waiting:
        held = (c for c in waiting if any(way.step(c) in there for way in ALL_DIRECTIONS))
        cell = next(held, waiting[0])
        waiting.remove(cell)
        ordered.append(cell)
        there.add(cell)
    return ordered


def _carried(layout: Layout, cell: Cell, placed: set[Cell]) -> bool:
    """Whether a block stands on the floor or touches what is in place."""
    return cell[2] == 0 or any(way.step(cell) in placed for way in ALL_DIRECTIONS)


def _tests(
    layout: Layout, columns: Mapping[str, str], hold: int, rules: Rules
) -> tuple[PlanTest, ...]:
    """Drive assignments in counting order in one trace, each for ``hold`` ticks or more.

    All of them, or as many as a trace can keep, spread evenly.
    """
    names = [pin.name for pin in layout.inputs]
    every = 1 << len(names)
    kept = MAX_SHOWN // max(1, layout.part_count) // hold
    count = max(1, min(every, MAX_TESTS, MAX_LISTED // max(1, layout.part_count), kept))
    numbers = [place * every // count for place in range(count)]
    rows = [
        tuple(number >> (len(names) - 1 - index) & 1 for index in range(len(names)))
        for number in numbers
    ]
    drive = {name: "".join(str(row[i]) * hold for row in rows) for i, name in enumerate(names)}
    played = trace(layout, drive, hold * count, rules=rules)
    tests = []
    for place, (number, inputs) in enumerate(zip(numbers, rows, strict=True)):
        start, end = place * hold, (place + 1) * hold
        words = [word[start:end] for word in played["outputs"].values()]
        ticks = max((len(word) - _still(word) for word in words), default=0)
        on = played["ticks"][end - 1]["on"]
        tests.append(
            PlanTest(
                inputs,
                tuple(columns[pin.name][number] for pin in layout.outputs),
                ticks,
                tuple((x, y, z) for x, y, z in on),
            )
        )
    return tuple(tests)


def _still(word: str) -> int:
    """The number of ticks at the end of a word during which it does not change."""
    return len(word) - len(word.rstrip(word[-1]))


def placement_words(placement: Placement, layout: Layout) -> str:
    """What to do: ``inverter at (3, 0, 1), hung on the +y solid at (3, 1, 1)``."""
    block, cell = placement.block, placement.cell
    words = f"{block.part} at {cell_words(cell)}"
    if block.part is Part.INVERTER and placement.rests is not None:
        if block.facing is Direction.NZ:
            words += f", standing on the solid at {cell_words(placement.rests)}"
        else:
            words += f", hung on the {block.facing} solid at {cell_words(placement.rests)}"
    elif block.part is Part.BUFFER:
        ticks = "1 tick" if block.delay == 1 else f"{block.delay} ticks"
        words += f", pointing {block.facing}, {ticks}, on {_carrier(placement, layout)}"
    elif block.part is Part.WIRE:
        words += f", on {_carrier(placement, layout)}"
    elif placement.floats:
        words += ", floats: nothing placed so far touches it"
    elif placement.beside is not None:
        neighbour = layout.cells[placement.beside.step(cell)]
        words += f", nothing below it; against the {neighbour.part} at its {placement.beside}"
    return words


def _carrier(placement: Placement, layout: Layout) -> str:
    if placement.rests is None:
        return "the ground"
    return f"the {layout.cells[placement.rests].part} below"


def cell_words(cell: Cell) -> str:
    """``(1, 0, 2)``."""
    return f"({cell[0]}, {cell[1]}, {cell[2]})"


def joints_words(layout: Layout) -> list[str]:
    """What to set up outside each pin (section 6), one line each, supports first."""
    supports, joints = [], []
    for pin in layout.pins:
        below, outside = Direction.NZ.step(pin.outside), cell_words(pin.outside)
        supports.append(f"ledge at {cell_words(below)}, outside {pin.role} {pin.name}")
        inwards = pin.role is Role.INPUT
        if pin.joint is Joint.WIRE:
            what = f"wire at {outside}, on that ledge, leading on along {pin.face}"
            use = (
                "power it while the input is on"
                if inwards
                else "the output is on while it is powered"
            )
        else:
            to = pin.face.opposite if inwards else pin.face
            what = f"buffer at {outside}, on that ledge, pointing {to}"
            use = (
                "on exactly while the input is on"
                if inwards
                else "the output is on while it sees power"
            )
        joints.append(f"{pin.role} {pin.name}: {what}; {use}")
    return [*supports, *joints]
