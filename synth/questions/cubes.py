"""Cubes: one question split on where one pin sits, so that several workers share it.

A cube is the question with that pin held at one place. *The cubes of a question cover it:* every
layout that answers the question has the pin at some place. A turn or mirror image of the box that
keeps what is asked (``synth.encoding.symmetry.images``) maps the layout to another one that answers
the question, and among the places to which these images map one place, one has a cube. So if no
cube has a layout, the question has none, and a layout of a cube is a layout of the question. No
other use is made of symmetry here; what a cube's own formula breaks is symmetry of the cube itself.

Measured on the hard boxes of ``benchmarks/suite.py``, the cubes of a question need similar effort
and together take 1.3 to 1.8 times as long as the question alone. That pays for workers that would
be idle, and where a question was given up and would start anew.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, NamedTuple

from synth import fields
from synth.encoding import Question
from synth.encoding.formula import Formula
from synth.encoding.geometry import Slot
from synth.encoding.statics import Statics
from synth.encoding.symmetry import Image, images
from synth.errors import InputError
from synth.medium import LEVEL_DIRECTIONS, Cell, Direction
from synth.spec import Spec

CUBE_KEYS = ("pin", "cell", "face")


class Cube(NamedTuple):
    """The layouts whose pin ``pin`` is on ``face`` of ``cell``."""

    pin: str
    cell: Cell
    face: Direction

    def __str__(self) -> str:
        return f"{self.pin} at {list(self.cell)} on {self.face}"

    @property
    def suffix(self) -> str:
        """The ending of its file names, such as ``-q-at-0.0.2-x``."""
        return f"-{self.pin}-at-{'.'.join(map(str, self.cell))}{self.face}"

    def document(self) -> dict[str, Any]:
        """The cube as documents write it."""
        return {"pin": self.pin, "cell": list(self.cell), "face": str(self.face)}


def read_cube(value: object, place: str) -> Cube:
    """The cube that a document describes.

    Raises:
        InputError: if it does not describe one.
    """
    entry = fields.table(value, place)
    fields.check_keys(entry, CUBE_KEYS, place, required=CUBE_KEYS)
    sides = fields.items(entry["cell"], f"{place}.cell")
    if len(sides) != 3:
        raise InputError(f"{len(sides)} coordinates", place=f"{place}.cell", way_out="give three")
    x, y, z = (fields.whole(side, f"{place}.cell", low=0) for side in sides)
    faces = [str(face) for face in LEVEL_DIRECTIONS]
    face = fields.choice(entry["face"], faces, f"{place}.face", "level direction")
    return Cube(fields.line(entry["pin"], f"{place}.pin"), (x, y, z), Direction(face))


def narrowed(spec: Spec, cube: Cube | None) -> Spec:
    """The specification with the cube's pin held at its place; unchanged for None."""
    if cube is None:
        return spec
    pins = dict(spec.pins)
    pins[cube.pin] = replace(pins[cube.pin], at=cube.cell, faces=(cube.face,))
    return spec.replace(pins=pins)


def split(question: Question) -> list[Cube]:
    """The cubes of a question; none unless some pin has two places that no image exchanges.

    Outputs come first: the formula breaks symmetry on the first output (``Symmetry``), so that
    holding it in place loses nothing. The output with the fewest cubes is taken, so that cubes are
    not smaller than necessary; an input is taken only if no output has a choice.
    """
    statics = Statics(Formula(), question)
    group = images(question, statics) if question.break_symmetry else []
    function = question.spec.function
    for names in (function.outputs, function.inputs):
        choices = [_places(statics.slots[name], group) for name in names]
        pairs = [pair for pair in zip(names, choices, strict=True) if len(pair[1]) > 1]
        if pairs:
            name, places = min(pairs, key=lambda pair: len(pair[1]))
            return [Cube(name, *place) for place in places]
    return []


def _places(slots: list[Slot], group: list[Image]) -> list[Slot]:
    """The first place of each set of places that images map to one another."""
    number = {slot: index for index, slot in enumerate(slots)}
    return [
        slot for slot in slots if all(number[image.slot(slot)] >= number[slot] for image in group)
    ]
