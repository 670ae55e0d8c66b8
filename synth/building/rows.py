"""Circuits as rows of equal slices: a chain whose pins are called after the circuit's signals.

Only iterative circuits are such rows (``synth.circuits.iterative``): adders, comparators, parities.
Their rows are several times smaller than anything placed, and slower: a signal that is handed on
passes every slice. Inputs and outputs lie along the row.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice

from synth.building.best import Asked
from synth.building.proving import prove
from synth.building.slices import SliceAsked
from synth.circuits.iterative import Iteration, iterations
from synth.composing.canvas import LONGEST
from synth.composing.compose import MOST_CELLS
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
    Size,
    buffer,
    inverter,
    shifted,
)
from synth.simulator.rows import row_of

Source = Callable[[SliceAsked], list[Layout]]
"""Gives slices that do what is asked, by its names."""


def rows(asked: Asked, source: Source, most: int | None = None) -> Iterator[Layout]:
    """Rows of slices that compute a circuit, proven to.

    Args:
        asked: what is asked of the layout.
        source: of slices.
        most: the source is asked for slices of at most so many functions; None: of all.
    """
    for iteration in islice(iterations(asked.circuit), most):
        slices = SliceAsked(iteration.function, iteration.links, asked.joint, asked.rules)
        for layout in source(slices):
            row = row_as_asked(asked, iteration, layout)
            if row is not None and _computes(asked, row):
                yield row


def row_as_asked(asked: Asked, iteration: Iteration, layout: Layout) -> Layout | None:
    """The row of a slice, its pins called and joined as asked; None if it would be too large."""
    copies = len(iteration.inputs)
    size = layout.size
    if not _fits((size[0] * copies + 2, size[1], size[2] + 1)):
        return None
    row = row_of(layout, copies)
    named = _names(asked, iteration)
    pins = [
        Pin(named[pin.name], pin.role, pin.at, pin.face, pin.joint)
        for pin in row.pins
        if pin.name in named
    ]
    order = [asked.pins[name] for name in (*asked.circuit.inputs, *asked.circuit.outputs)]
    pins.sort(key=lambda pin: order.index(pin.name))
    places = [
        next(pin.at for pin in row.pins if pin.name == link.input) for link in iteration.links
    ]
    row = row.replace(pins=tuple(replace(pin, joint=asked.joint) for pin in pins), made_for=None)
    head, moved = _head(asked, iteration, places)
    if head:
        row = _with_head(row, head, moved)
    # Where the length has a limit and the width has none, it lies across.
    limits = asked.limits
    if limits.length is not None and row.length > limits.length:
        across = turned(row)
        if limits.excess(across, 0) < limits.excess(row, 0):
            row = across
    return row


def _head(
    asked: Asked, iteration: Iteration, places: Sequence[Cell]
) -> tuple[dict[Cell, Block], dict[str, Cell]]:
    """What stands before the first slice, and the cells of pins that lie there.

    A link that is always on has it from an inverter, by a buffer. One that is an input has it by
    buffers, where its joint is a wire or where something stands before another link. The cells of
    links are ``places``.
    """
    wired = asked.joint is not Joint.BUFFER
    named = any(isinstance(value, str) for value in iteration.first)
    depth = 2 if True in iteration.first else int(wired and named)
    parts: dict[Cell, Block] = {}
    moved = {}
    for value, place in zip(iteration.first, places, strict=True):
        for step in range(depth if value is not False else 0):
            place = Direction.NX.step(place)
            parts[place] = buffer(Direction.PX, asked.rules.buffer_delays[0])
            parts[Direction.NZ.step(place)] = LEDGE
            if value is True and step == 1:
                parts |= {place: inverter(Direction.NZ), Direction.NZ.step(place): SOLID}
        if isinstance(value, str):
            moved[asked.pins[value]] = place
    return parts, moved


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


def _names(asked: Asked, iteration: Iteration) -> dict[str, str]:
    """The names asked for the pins of a row; those of no signal of the circuit are left out."""
    named: dict[str, str] = {}
    for copy, pairs in enumerate(zip(iteration.inputs, iteration.outputs, strict=True)):
        for own in pairs:
            named |= {bus_bit(slot, copy): asked.pins[name] for slot, name in own.items()}
    for link, first, last in zip(iteration.links, iteration.first, iteration.last, strict=True):
        if isinstance(first, str):
            named[link.input] = asked.pins[first]
        if last is not None:
            named[link.output] = asked.pins[last]
    return named


def _computes(asked: Asked, row: Layout) -> bool:
    """Whether a row is right: judged, and proven equal to the circuit."""
    judgement = asked.judged(row)
    if judgement.faults or judgement.network is None or judgement.delay is None:
        return False
    proof = prove(asked.circuit, row, judgement, asked.pins, rules=asked.rules)
    return proof.equal is True
