"""One layout of each set that symmetries make (an option of the question).

Two kinds of symmetry map layouts of a question to layouts of the same question:

- a *turn or mirror image* of the box that keeps its size, the stacking axis, the faces and cells
  asked of every pin, and the cells asked for (the medium has no preferred level direction). A chain
  asks for the face +A of its outputs, so that no mirror along A is one of its symmetries;
- an *exchange of inputs* that leaves the function and what is asked of the pins as they are.

The first is broken by where one pin, the anchor, sits: of the places that the images of one place
fall on, only the first stays. The second is broken by ordering the places of the inputs in each
set of exchangeable ones. An exchange of inputs moves no output, and an image that takes the anchor
(an output) to its first place is followed by an exchange that orders the inputs without moving the
anchor: so at least one layout of each set survives both, also a smallest one, since images and
exchanges change neither size, delay nor parts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise, product

from synth.encoding.formula import Formula
from synth.encoding.geometry import Slot
from synth.encoding.question import Question
from synth.encoding.statics import Statics
from synth.medium import Block, Cell, Direction, Size
from synth.spec import BooleanFunction


@dataclass(frozen=True)
class Image:
    """A level symmetry of a box: exchange x and y or not, then mirror x, y or not."""

    exchange: bool
    mirror_x: bool
    mirror_y: bool
    size: Size

    def cell(self, cell: Cell) -> Cell:
        """Where a cell goes."""
        x, y, z = cell
        if self.exchange:
            x, y = y, x
        if self.mirror_x:
            x = self.size[0] - 1 - x
        if self.mirror_y:
            y = self.size[1] - 1 - y
        return (x, y, z)

    def direction(self, direction: Direction) -> Direction:
        """Where a direction goes."""
        sign, axis = direction.value
        if self.exchange and axis in "xy":
            axis = "y" if axis == "x" else "x"
        if (axis == "x" and self.mirror_x) or (axis == "y" and self.mirror_y):
            sign = "-" if sign == "+" else "+"
        return Direction(sign + axis)

    def slot(self, slot: Slot) -> Slot:
        """Where a slot goes."""
        return Slot(self.cell(slot.cell), self.direction(slot.face))

    def block(self, block: Block) -> Block:
        """What a block turns into."""
        if block.facing is None:
            return block
        return Block(block.part, self.direction(block.facing), block.delay)


def images(question: Question, statics: Statics) -> list[Image]:
    """The symmetries of the box that map layouts of the question to layouts of it."""
    length, width, _ = question.size
    axis = question.geometry.axis
    turnable = length == width and axis not in ("x", "y")
    found = []
    for exchange, mirror_x, mirror_y in product((False, True), repeat=3):
        image = Image(exchange, mirror_x, mirror_y, question.size)
        if (not exchange or turnable) and _keeps(image, question, statics):
            found.append(image)
    return found


def _keeps(image: Image, question: Question, statics: Statics) -> bool:
    spec = question.spec
    pins_kept = all(
        {image.slot(slot) for slot in slots} == set(slots) for slots in statics.slots.values()
    )
    fixed = {image.cell(cell): image.block(block) for cell, block in spec.fixed.items()}
    return (
        pins_kept
        and {image.cell(cell) for cell in spec.empty} == set(spec.empty)
        and fixed == dict(spec.fixed)
    )


def exchangeable(question: Question) -> Iterator[tuple[str, ...]]:
    """The sets of inputs that may be exchanged at will, each in order, of two or more.

    None is of a link: its place is bound to that of an output.
    """
    spec = question.spec
    inputs = list(spec.function.inputs)
    while inputs:
        first, *rest = inputs
        alike = [
            other
            for other in rest
            if not (spec.linked(first) or spec.linked(other))
            and spec.pins[first] == spec.pins[other]
            and _swaps(spec.function, first, other)
        ]
        if alike:
            yield (first, *alike)
        inputs = [name for name in rest if name not in alike]


def _swaps(function: BooleanFunction, first: str, second: str) -> bool:
    """Whether exchanging two inputs leaves the function as it is.

    It is enough to try each against the first of its set: the exchanges with one member
    generate all permutations of the set.
    """
    order = list(range(len(function.inputs)))
    one, two = function.inputs.index(first), function.inputs.index(second)
    order[one], order[two] = two, one
    return function.permuted(tuple(order)) == function


class Symmetry:
    """States which layout of each set stays."""

    def __init__(self, formula: Formula, question: Question, statics: Statics) -> None:
        self.formula = formula
        self.question = question
        self.statics = statics

    def state(self) -> None:
        """State both kinds."""
        self.the_anchor_sits_at_its_first_place()
        self.exchangeable_inputs_are_in_order()

    def the_anchor_sits_at_its_first_place(self) -> None:
        """Of the images of a place of the first output's pin, only the first stays."""
        group = images(self.question, self.statics)
        anchor = next(iter(self.question.spec.function.outputs))
        order = _place_order(self.statics.slots[anchor])
        for slot in self.statics.slots[anchor]:
            if min(order(image.slot(slot)) for image in group) < order(slot):
                pin = self.statics.pin(anchor, slot)
                self.formula.add("the anchor sits at its first place", [-pin])

    def exchangeable_inputs_are_in_order(self) -> None:
        """Exchangeable inputs sit in the order of their places."""
        for names in exchangeable(self.question):
            for first, second in pairwise(names):
                before: list[int] = []
                for slot in self.statics.slots[second]:
                    later = self.statics.pin(second, slot)
                    rule = "exchangeable inputs are in order"
                    self.formula.add(rule, [-later, *before])
                    before.append(self.statics.pin(first, slot))


def _place_order(slots: list[Slot]) -> Callable[[Slot], int]:
    numbers = {slot: number for number, slot in enumerate(slots)}
    return numbers.__getitem__
