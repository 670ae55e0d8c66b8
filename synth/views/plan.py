"""A building plan: in which order to place the parts, and what to test when all stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import (
    DEFAULT_RULES,
    Cell,
    Direction,
    Joint,
    Part,
    Role,
    Rules,
)
from synth.simulator import settle, trace
from synth.simulator.tracing import MAX_SHOWN
from synth.views.judged import Judged, judge
from synth.views.plan_steps import Placement, PlanSection, PlanStep, building_sections

MAX_TESTS = 256
"""The most assignments that a plan tests: all of them, up to 8 inputs."""

MAX_LISTED = 50_000
"""The most parts, times tests, of which a plan may have to tell whether they are on."""


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
        sections: the steps by piece, in order; of a layout without pieces all in one.
        wait: the ticks after which every test must hold, whatever was before; None if the layout
            meets no delay.
        tests: the tests in counting order of the inputs, at most ``MAX_TESTS``.
        all_tests: how many assignments there are.
        judged: the verdict on the layout, and what was asked of it.
    """

    layout: Layout
    sections: tuple[PlanSection, ...]
    wait: int | None
    tests: tuple[PlanTest, ...]
    all_tests: int
    judged: Judged

    @property
    def steps(self) -> tuple[PlanStep, ...]:
        """All steps, in order."""
        return tuple(step for section in self.sections for step in section.steps)


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
            too many inputs to settle and is no circuit without feedback.
    """
    if judged is None:
        judged = judge(layout, rules=rules)
    verdict = judged.verdict
    wait = verdict.delay if judged.at_most is None else judged.at_most
    if wait is None:
        wait = len(settle(layout, rules).ticks)
    if not verdict.legal:
        raise InputError("the layout is not legal", way_out="run a check to see every fault")
    return Plan(
        layout,
        building_sections(layout),
        verdict.delay if judged.at_most is None else judged.at_most,
        _tests(layout, verdict.outputs, wait + 1, rules),
        1 << len(layout.inputs),
        judged,
    )


def _tests(
    layout: Layout, columns: Mapping[str, str] | None, hold: int, rules: Rules
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
                # Without a table the outputs are what they read once they have settled.
                tuple(word[-1] for word in words)
                if columns is None
                else tuple(columns[pin.name][number] for pin in layout.outputs),
                ticks,
                tuple((x, y, z) for x, y, z in on),
            )
        )
    return tuple(tests)


def _still(word: str) -> int:
    """The number of ticks at the end of a word during which it does not change."""
    return len(word) - len(word.rstrip(word[-1]))


def placement_words(placement: Placement, layout: Layout) -> str:
    """What to do: ``inverter at (3, 0, 1), hung on the side of the solid at (3, 1, 1)``."""
    block, cell = placement.block, placement.cell
    words = f"{block.part} at {cell_words(cell)}"
    if block.part is Part.INVERTER and placement.rests is not None:
        if block.facing is Direction.NZ:
            words += f", standing on the solid at {cell_words(placement.rests)}"
        else:
            words += f", hung on the side of the solid at {cell_words(placement.rests)}"
    elif block.part is Part.BUFFER:
        ticks = "1 tick" if block.delay == 1 else f"{block.delay} ticks"
        words += f", pointing {block.facing}, {ticks}, on {_carrier(placement, layout)}"
    elif block.part is Part.WIRE:
        words += f", on {_carrier(placement, layout)}"
    elif placement.floats:
        words += ", floats: nothing placed so far touches it"
    elif placement.beside is not None:
        beside = placement.beside.step(cell)
        words += (
            f", beside the {layout.cells[beside].part} at {cell_words(beside)}, nothing below it"
        )
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
