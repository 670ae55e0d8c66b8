"""Lessons: small layouts to be completed, judged by the simulator.

Each is about one rule of the medium that a builder has to meet once to believe it. What is given
stays as it is, by locks; the goal is a function, a delay and where it says so a stack.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from synth.desk.design import Design
from synth.errors import InputError
from synth.layout import Layout, MadeFor, Pin, Stack
from synth.medium import (
    CLEAR,
    DEFAULT_RULES,
    LEDGE,
    SOLID,
    WIRE,
    Block,
    Cell,
    Direction,
    Joint,
    Role,
    Rules,
    inverter,
)
from synth.simulator import check
from synth.simulator.made_for import spec_made_for
from synth.spec import Limits, StackDemand

PREFIX = "lesson "
"""Designs of lessons are called by it and their number."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """A layout to be completed.

    Attributes:
        number: from 1, in order.
        title: what it teaches, in a few words.
        words: what to know, and what to do.
        start: the design to begin with; its ``made_for`` and its stack are the goal.
        width: the widest that the box may be, or None.
    """

    number: int
    title: str
    words: tuple[str, ...]
    start: Design
    width: int | None = None

    @property
    def name(self) -> str:
        """What the design of the lesson is called."""
        return f"{PREFIX}{self.number}"

    def done(self, design: Design, rules: Rules = DEFAULT_RULES) -> bool:
        """Whether a design reaches the goal, with all that was locked as it was."""
        given, layout = self.start.layout, design.layout
        if any(layout.cells.get(cell) != given.cells.get(cell) for cell in self.start.locked):
            return False
        spec = spec_made_for(given)
        assert spec is not None, "a lesson has a goal"
        stack = None if given.stack is None else StackDemand(given.stack.axis)
        limits = Limits(width=self.width, delay=spec.limits.delay)
        try:
            return check(layout, spec.replace(stack=stack, limits=limits), rules=rules).passes
        except InputError:  # pins are missing, say
            return False


def _in(name: str, at: Cell, face: str, joint: Joint = Joint.WIRE) -> Pin:
    return Pin(name, Role.INPUT, at, Direction(face), joint)


def _out(name: str, at: Cell, face: str, joint: Joint = Joint.WIRE) -> Pin:
    return Pin(name, Role.OUTPUT, at, Direction(face), joint)


def _start(
    size: tuple[int, int, int],
    cells: Mapping[Cell, Block],
    pins: Iterable[Pin],
    function: str,
    delay: int,
    locked: Iterable[Cell] = (),
    *,
    stack: Stack | None = None,
    ground: bool = False,
) -> Design:
    layout = Layout(
        size=size,
        cells=cells,
        pins=tuple(pins),
        stack=stack,
        ground=ground,
        made_for=MadeFor(function, delay),
    )
    return Design(layout, frozenset(locked))


_LONG = 18
_ROW = {(x, 0, 0): SOLID for x in range(_LONG)}

LESSONS: tuple[Lesson, ...] = (
    Lesson(
        1,
        "An inverter stands on its host",
        (
            "The solid at (0, 0, 0) is charged while input a is on. An inverter that stands on "
            "the solid is on while the solid is not charged.",
            "Walk to the empty cell above the solid (page up) and press i.",
        ),
        _start(
            (1, 1, 2),
            {(0, 0, 0): SOLID},
            (_in("a", (0, 0, 0), "-x"), _out("q", (0, 0, 1), "+x")),
            "q = ~a",
            1,
            [(0, 0, 0)],
        ),
    ),
    Lesson(
        2,
        "A wire weakens",
        (
            "A lead has strength 15, and each wire is one weaker than the one before it. This "
            "wire is too long: switch a on and watch where it ends.",
            "A buffer gives full strength again, one tick later. Put one into the row of wires "
            "(press b); it must point to +x.",
        ),
        _start(
            (_LONG, 1, 2),
            {**_ROW, **{(x, 0, 1): WIRE for x in range(_LONG)}},
            (_in("a", (0, 0, 1), "-x"), _out("q", (_LONG - 1, 0, 1), "+x")),
            "q = a",
            1,
            _ROW,
        ),
    ),
    Lesson(
        3,
        "Charged is not driven",
        (
            "A wire charges the solid that it runs into, but a charged solid gives no power to "
            "a wire. A driven one does: a buffer that points into it drives it.",
            "Put a buffer in place of the first wire.",
        ),
        _start(
            (3, 1, 2),
            {
                (0, 0, 0): LEDGE,
                (0, 0, 1): WIRE,
                (1, 0, 1): SOLID,
                (2, 0, 0): LEDGE,
                (2, 0, 1): WIRE,
            },
            (_in("a", (0, 0, 1), "-x"), _out("q", (2, 0, 1), "+x")),
            "q = a",
            1,
            [(0, 0, 0), (1, 0, 1), (2, 0, 0), (2, 0, 1)],
        ),
    ),
    Lesson(
        4,
        "Up over anything, down from a solid only",
        (
            "A wire hands its strength to a wire one step up, whatever lies there. It hands it "
            "down only if it rests on a solid: a ledge or a clear passes nothing down.",
            "Change what the upper wire rests on.",
        ),
        _start(
            (2, 1, 3),
            {(0, 0, 1): LEDGE, (0, 0, 2): WIRE, (1, 0, 0): LEDGE, (1, 0, 1): WIRE},
            (_in("a", (0, 0, 2), "-x"), _out("q", (1, 0, 1), "+x")),
            "q = a",
            0,
            [(0, 0, 2), (1, 0, 0), (1, 0, 1)],
        ),
    ),
    Lesson(
        5,
        "See-through supports",
        (
            "An inverter that is on drives the solid above it, and that powers the wire that "
            "rests on the solid. Output r should be b alone, but now it is on with the inverter, "
            "and so is the lead of input b: b is fed back.",
            "A wire can rest on a clear or a ledge, too, and those are never charged.",
        ),
        _start(
            (3, 1, 3),
            {
                (0, 0, 0): SOLID,
                (1, 0, 0): inverter(Direction.NX),
                (2, 0, 0): WIRE,
                (0, 0, 1): LEDGE,
                (1, 0, 1): SOLID,
                (2, 0, 1): LEDGE,
                **{(x, 0, 2): WIRE for x in range(3)},
            },
            (
                _in("a", (0, 0, 0), "-x"),
                _in("b", (0, 0, 2), "-x"),
                _out("q", (2, 0, 0), "+x"),
                _out("r", (2, 0, 2), "+x"),
            ),
            "q = ~a; r = b",
            1,
            [(0, 0, 0), (1, 0, 0), (2, 0, 0), *((x, 0, 2) for x in range(3))],
            ground=True,
        ),
    ),
    Lesson(
        6,
        "A buffer goes one way",
        (
            "Two inputs on one wire make an or, but each feeds the other back: its lead is on "
            "while it is off. The check refuses that.",
            "Let each input come in through a buffer that points to the middle.",
        ),
        _start(
            (5, 1, 2),
            {(x, 0, 0): SOLID for x in range(5)} | {(x, 0, 1): WIRE for x in range(5)},
            (
                _in("a", (0, 0, 1), "-x"),
                _in("b", (4, 0, 1), "+x"),
                _out("q", (2, 0, 1), "-y"),
            ),
            "q = a | b",
            1,
            [(x, 0, 0) for x in range(5)],
        ),
    ),
    Lesson(
        7,
        "A standing inverter breaks the stack, a hanging one does not",
        (
            "Alone this works. In a stack, the wire from b to r of the copy before lies beside "
            "the standing inverter, which powers it. Show three copies to see it.",
            "Hang the inverter on the side of the solid at (0, 0, 0), in the cell of output q. "
            "There, the copy before has only a ledge beside it. Take out what you no longer need.",
        ),
        _start(
            (2, 3, 2),
            {
                (0, 0, 0): SOLID,
                (0, 0, 1): inverter(Direction.NZ),
                (1, 0, 0): SOLID,
                (1, 0, 1): WIRE,
                (0, 2, 0): LEDGE,
                (1, 2, 0): LEDGE,
                (0, 2, 1): WIRE,
                (1, 2, 1): WIRE,
            },
            (
                _in("a", (0, 0, 0), "-x"),
                _in("b", (0, 2, 1), "-x", Joint.BUFFER),
                _out("q", (1, 0, 0), "+x"),
                _out("r", (1, 2, 1), "+x", Joint.BUFFER),
            ),
            "q = ~a; r = b",
            1,
            [(0, 0, 0), (0, 2, 0), (1, 2, 0), (0, 2, 1), (1, 2, 1)],
            stack=Stack("y", 3),
        ),
    ),
    Lesson(
        8,
        "Does not imply",
        (
            "a & ~b takes two inverters. One inverts a. The other is off while the first one or "
            "b is on, and on otherwise.",
            "Hang one at (1, 0, 2) on the solid of a. It powers the wire below it, which charges "
            "the solid at (0, 0, 1) as b does. Stand the other one on that solid.",
        ),
        _start(
            (2, 2, 3),
            {(1, 0, 0): CLEAR, (0, 0, 1): SOLID, (1, 0, 1): WIRE, (1, 1, 2): SOLID},
            (
                _in("a", (1, 1, 2), "+x"),
                _in("b", (1, 0, 0), "+x"),
                _out("q", (0, 0, 2), "-x"),
            ),
            "q = a & ~b",
            2,
            [(1, 0, 0), (0, 0, 1), (1, 0, 1), (1, 1, 2)],
            stack=Stack("y", 2),
        ),
    ),
    Lesson(
        9,
        "Exclusive-or from two of them",
        (
            "a & ~b, or b & ~a: two gates as in the last lesson, each input to both. A buffer "
            "from each input to the other gate keeps them apart: it lets nothing back.",
            "Two buffers and one inverter are missing in this one, 2 wide. Which way must each "
            "buffer point?",
        ),
        _start(
            (4, 2, 4),
            {
                **{(x, 0, 0): SOLID for x in range(3)},
                **{(x, 0, 1): WIRE for x in range(3)},
                (3, 0, 1): inverter(Direction.PY),
                (3, 1, 1): SOLID,
                (1, 0, 2): SOLID,
                (2, 0, 2): SOLID,
                (1, 1, 2): SOLID,
                (2, 1, 2): SOLID,
                (3, 1, 2): WIRE,
                (0, 0, 3): inverter(Direction.PY),
                (0, 1, 3): SOLID,
                (1, 0, 3): WIRE,
                (2, 1, 3): WIRE,
                (3, 0, 3): SOLID,
                (3, 1, 3): inverter(Direction.NY),
            },
            (
                _in("a", (0, 1, 3), "-x"),
                _in("b", (3, 0, 3), "+x"),
                _out("q", (0, 0, 1), "-x"),
            ),
            "q = a ^ b",
            2,
            stack=Stack("y", 2),
        ),
    ),
    Lesson(
        10,
        "Making it two wide",
        (
            "This layout of a & ~b is pulled apart: an inverter has lost its host, and the box is "
            "3 wide. In a stack every cell of width counts.",
            "Go to y = 1 and take out the slice along y (Box and pins). Then look at three copies.",
        ),
        _start(
            (2, 3, 3),
            {
                (1, 0, 0): CLEAR,
                (0, 0, 1): SOLID,
                (1, 0, 1): WIRE,
                (1, 2, 2): SOLID,
                (0, 0, 2): inverter(Direction.NZ),
                (1, 0, 2): inverter(Direction.PY),
            },
            (
                _in("a", (1, 2, 2), "+x"),
                _in("b", (1, 0, 0), "+x"),
                _out("q", (0, 0, 2), "-x"),
            ),
            "q = a & ~b",
            2,
            stack=Stack("y", 3),
        ),
        width=2,
    ),
)


def lesson_named(name: str) -> Lesson | None:
    """The lesson whose design has that name, or None."""
    return next((lesson for lesson in LESSONS if lesson.name == name), None)
