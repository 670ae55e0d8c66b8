"""Circuits as rows of equal slices: a chain whose pins are called after the circuit's signals.

Only iterative circuits are such rows (``synth.composing.iterative``): adders, comparators,
parities. Their rows are slower than what is placed: a signal that is handed on passes every slice.
Those of kept slices are several times smaller. Inputs and outputs lie along the row.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from synth.circuits.pins import circuit_of
from synth.composing.canvas import LONGEST, MOST_CELLS
from synth.composing.iterative import Iteration, iterations
from synth.composing.kept_slices import SliceAsked, kept
from synth.layout import Layout
from synth.layout.pins import Pin
from synth.layout.transform import bus_bit, turned
from synth.medium import (
    LEDGE,
    SOLID,
    Block,
    Cell,
    Direction,
    Joint,
    Rules,
    Size,
    buffer,
    inverter,
    shifted,
)
from synth.simulator.rows import row_of
from synth.spec import Spec

FEWEST_INPUTS = 3
"""Functions of fewer inputs are no rows: they are searched whole."""


def rows_of(spec: Spec, rules: Rules) -> Iterator[Layout]:
    """Rows of kept slices for a function that stands alone, as they lie and turned.

    Nothing is judged. Of what a specification asks only the function and the joints are read.
    """
    joint, *others = {spec.joint(name) for name in spec.pin_names}
    if spec.stack is not None or others or len(spec.function.inputs) < FEWEST_INPUTS:
        return
    pins = {name: name for name in spec.pin_names}
    for iteration in iterations(circuit_of(spec.function)):
        asked = RowAsked(iteration, pins, joint, rules)
        for layout in kept(asked.slices):
            row = asked.row(layout)
            if row is not None:
                row = row.replace(ground=spec.ground)
                yield from (row, turned(row))


@dataclass(frozen=True)
class RowAsked:
    """A row to be made.

    Attributes:
        iteration: which slices it has, and what their pins are of the circuit.
        pins: the pin of each input and output of the circuit.
        joint: of every pin.
        rules: the rule table.
    """

    iteration: Iteration
    pins: Mapping[str, str]
    joint: Joint
    rules: Rules

    @property
    def slices(self) -> SliceAsked:
        """What its slices have to be."""
        own = self.iteration
        return SliceAsked(own.function, own.links, self.joint, self.rules)

    def row(self, layout: Layout) -> Layout | None:
        """The row of a slice, with pins as asked; None if it would be too large.

        Nothing is judged.
        """
        length, width, height = layout.size
        if not _fits((length * len(self.iteration.inputs) + 2, width, height + 1)):
            return None
        row = row_of(layout, len(self.iteration.inputs))
        named = self._names()
        pins = [
            Pin(named[pin.name], pin.role, pin.at, pin.face, self.joint)
            for pin in row.pins
            if pin.name in named
        ]
        order = list(self.pins.values())
        pins.sort(key=lambda pin: order.index(pin.name))
        places = [
            next(pin.at for pin in row.pins if pin.name == link.input)
            for link in self.iteration.links
        ]
        head, moved = self._head(places)
        row = row.replace(pins=tuple(pins), made_for=None)
        return _with_head(row, head, moved) if head else row

    def _head(self, places: Sequence[Cell]) -> tuple[dict[Cell, Block], dict[str, Cell]]:
        """What stands before the first slice, and the cells of pins that lie there.

        A link that is always on has it from an inverter, by a buffer. One that is an input has it
        by buffers, where its joint is a wire or where something stands before another link. The
        cells of links are ``places``.
        """
        first = self.iteration.first
        named = any(isinstance(value, str) for value in first)
        depth = 2 if True in first else int(named and self.joint is not Joint.BUFFER)
        parts: dict[Cell, Block] = {}
        moved = {}
        for value, place in zip(first, places, strict=True):
            for step in range(depth if value is not False else 0):
                place = Direction.NX.step(place)
                parts[place] = buffer(Direction.PX, self.rules.buffer_delays[0])
                parts[Direction.NZ.step(place)] = LEDGE
                if value is True and step == 1:
                    parts |= {place: inverter(Direction.NZ), Direction.NZ.step(place): SOLID}
            if isinstance(value, str):
                moved[self.pins[value]] = place
        return parts, moved

    def _names(self) -> dict[str, str]:
        """The names of the pins of the row; those of no signal of the circuit are left out."""
        own = self.iteration
        named: dict[str, str] = {}
        for copy, pairs in enumerate(zip(own.inputs, own.outputs, strict=True)):
            for pins in pairs:
                named |= {bus_bit(slot, copy): self.pins[name] for slot, name in pins.items()}
        for link, first, last in zip(own.links, own.first, own.last, strict=True):
            if isinstance(first, str):
                named[link.input] = self.pins[first]
            if last is not None:
                named[link.output] = self.pins[last]
        return named


def _with_head(row: Layout, head: Mapping[Cell, Block], moved: Mapping[str, Cell]) -> Layout:
    """A row with parts before it, and pins there, in a box that has room for them."""
    least = [min(0, *(cell[axis] for cell in head)) for axis in range(3)]
    offset = (-least[0], -least[1], -least[2])
    cells = {shifted(cell, offset): block for cell, block in {**row.cells, **head}.items()}
    length, width, height = row.size
    return row.replace(
        size=(length + offset[0], width + offset[1], height + offset[2]),
        cells=cells,
        pins=tuple(
            replace(pin, at=shifted(moved.get(pin.name, pin.at), offset)) for pin in row.pins
        ),
    )


def _fits(size: Size) -> bool:
    return max(size) <= LONGEST and math.prod(size) <= MOST_CELLS
