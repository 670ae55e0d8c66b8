"""Parts placed one behind another along x, mostly of a slice: what all who do so have in common."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace

from synth.encoding import Question
from synth.layout import Layout, Pin, Stack
from synth.medium import LEDGE, Block, Cell, Direction, Part, Size
from synth.questions.measures import keeps
from synth.questions.problem import Problem
from synth.search.placing.turns import Tries
from synth.search.workers.task import Task, answer, works
from synth.spec import Limits, Spec

WIDTH = 2
"""The width of a part's box, in cells."""

BY_BUFFER = Block(Part.BUFFER, Direction.PX, 1)
"""What carries a signal from one part to the next and lets nothing back."""


def suits(spec: Spec) -> bool:
    """Whether parts can stand one behind another: a chain along x, wide enough, its pins free."""
    return (
        bool(spec.chain)
        and spec.stack is not None
        and spec.stack.axis == "x"
        and (spec.limits.width or WIDTH) >= WIDTH
        and all(ask.at is None for ask in spec.pins.values())
    )


def is_right(layout: Layout, problem: Problem, own: Limits) -> bool:
    """Whether a layout passes, and keeps what the user gave."""
    spec = problem.spec.replace(limits=own)
    delay = problem.limits.delay or 0
    right = works(layout, Question(spec, layout.size, delay, rules=problem.rules))
    return right and keeps(layout, None, replace(own, delay=None, link_delay=None))


@dataclass
class Attempts:
    """Places parts, and remembers what cannot be placed.

    Attributes:
        problem: what is asked.
        spec: the same with the limits that the user gave.
        seed: of the first round.
        fits: whether a box is still of use.
        rounds: how many have begun.
        asked: how many questions solvers were asked.
    """

    problem: Problem
    spec: Spec
    seed: int
    fits: Callable[[Size], bool]
    rounds: int = field(default=0, init=False)
    asked: int = field(default=0, init=False)
    _refuted: set[tuple[object, ...]] = field(default_factory=set, init=False)

    def in_rounds(self) -> Iterator[int]:
        """The numbers of rounds, each begun when it is asked for; a round that asks nothing is the
        last.
        """
        before = -1
        while self.asked != before:
            self.rounds += 1
            before = self.asked
            yield self.rounds

    def ask(self, task: Task, key: tuple[object, ...]) -> Tries:
        """A part placed, or None; one that cannot be placed is not asked for again.

        Args:
            task: the part, with the conflicts that it may have.
            key: all that decides whether it can be placed.
        """
        if key in self._refuted:
            return None
        reply = answer(task)
        self.asked += 1
        yield
        if reply.answer == "unplaced":
            self._refuted.add(key)
        return reply.layout


def cross(cells: dict[Cell, Block], at: Cell, block: Block, spec: Spec) -> None:
    """Put what carries a track over a seam, and what it lies on; that may be below the box."""
    cells[at] = block
    x, y, z = at
    if z > 0 or not spec.ground:
        cells[x, y, z - 1] = LEDGE


def closed(
    spec: Spec,
    parts: Iterable[Layout],
    length: int,
    cells: dict[Cell, Block],
    pins: list[Pin],
) -> Layout:
    """The slice that parts and their seams make up.

    Args:
        spec: what is asked.
        parts: the parts, for their heights.
        length: of all, with the seams.
        cells: what they hold; where that reaches below the box, all of it is raised.
        pins: the pins, in any order.
    """
    pins = sorted(pins, key=lambda pin: spec.pin_names.index(pin.name))
    # What a track at height 0 of a seam lies on would be below the box.
    raised = int(any(z < 0 for _, _, z in cells))
    return Layout(
        size=(length, WIDTH, max(part.size[2] for part in parts) + raised),
        cells={(x, y, z + raised): block for (x, y, z), block in cells.items()},
        pins=tuple(replace(pin, at=(*pin.at[:2], pin.at[2] + raised)) for pin in pins),
        stack=Stack("x", length, spec.chain),
        ground=spec.ground,
        name=spec.name,
    )
