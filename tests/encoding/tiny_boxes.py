"""Tiny boxes, and what all of their legal layouts compute."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from synth.encoding import Question
from synth.encoding.free_table import FreeTable
from synth.layout import Layout
from synth.medium import Direction, Joint, Role, Size
from synth.simulator import legality, settle
from synth.spec import BooleanFunction, PinDemand, Spec
from synth.spec.classes import Columns, every_input_matters, members
from tests.encoding.every_layout import every_legal_layout, held, pin_places


@dataclass(frozen=True)
class Box:
    """A tiny box whose functions are all looked for."""

    size: Size
    delay: int
    joint: Joint
    inputs: int = 1
    outputs: int = 1
    ground: bool = False
    faces: tuple[str, ...] = ("+x", "-x")

    def __str__(self) -> str:
        box = "x".join(map(str, self.size))
        return f"{box}-{self.joint}-T{self.delay}-{self.inputs}-{self.outputs}"

    @property
    def roles(self) -> dict[str, Role]:
        inputs = dict.fromkeys("ab"[: self.inputs], Role.INPUT)
        return inputs | dict.fromkeys("pq"[: self.outputs], Role.OUTPUT)

    def question(self, free: FreeTable) -> Question:
        ask = PinDemand(tuple(map(Direction, self.faces)), None, self.joint)
        outputs = dict.fromkeys("pq"[: self.outputs], "-" * (1 << self.inputs))
        function = BooleanFunction(tuple("ab"[: self.inputs]), outputs)
        spec = Spec(function, pins=dict.fromkeys(self.roles, ask), ground=self.ground)
        return Question(spec, self.size, self.delay, free=free)


BOXES = [
    Box((1, 1, 3), 1, Joint.WIRE),
    Box((1, 1, 3), 2, Joint.BUFFER),
    Box((2, 1, 2), 1, Joint.WIRE),
    Box((2, 1, 2), 2, Joint.BUFFER),
    Box((1, 1, 2), 1, Joint.BUFFER, inputs=2, ground=True, faces=("-x", "+x", "+y")),
    Box((2, 1, 1), 2, Joint.WIRE, inputs=2, ground=True, faces=("-x", "+x", "+y")),
    Box((1, 1, 3), 2, Joint.BUFFER, outputs=2),
]


@cache
def read_by_layouts(box: Box) -> frozenset[Columns]:
    """What the legal layouts of a box read at the last tick, ``x`` where that is not known."""
    return frozenset(read for _, read in layouts_and_what_they_read(box))


def layouts_and_what_they_read(box: Box) -> Iterator[tuple[Layout, Columns]]:
    """Every legal layout of a box that feeds no input back, and what ``read_by_layouts`` says."""
    joints = dict.fromkeys(box.roles, box.joint)
    pins = list(pin_places(box.size, box.roles, joints, set(box.faces)))
    for bare in every_legal_layout(box.size, box.ground):
        for choice in pins:
            layout = bare.replace(pins=choice)
            if held(layout) or legality(layout):
                continue
            settling = settle(layout)
            if any(settling.fed_back(pin.name, box.delay) for pin in layout.inputs):
                continue
            columns = []
            for pin in layout.outputs:
                surely = settling.surely_reads(pin.name, box.delay)
                possibly = settling.possibly_reads(pin.name, box.delay)
                columns.append(
                    "".join(
                        "1" if surely >> row & 1 else "x" if possibly >> row & 1 else "0"
                        for row in range(1 << box.inputs)
                    )
                )
            yield layout, tuple(columns)


def classes_of_layouts(box: Box, *, matters: bool = True) -> set[Columns]:
    """The smallest member of each class that some legal layout computes."""
    settled = (columns for columns in read_by_layouts(box) if "x" not in "".join(columns))
    classes = {members(columns)[0] for columns in settled}
    return {one for one in classes if not matters or every_input_matters(one)}


def fits(read: Columns, asked: Columns) -> bool:
    """Whether values read are those that columns care about."""
    pairs = zip("".join(read), "".join(asked), strict=True)
    return all(want in ("-", value) for value, want in pairs)
