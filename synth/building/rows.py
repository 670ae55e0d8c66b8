"""Circuits as rows of equal slices: a chain whose pins are called after the circuit's signals.

Only iterative circuits are such rows (``synth.circuits.iterative``): adders, comparators, parities.
Their rows are several times smaller than anything placed, and slower: a signal that is handed on
passes every slice. Inputs and outputs lie along the row.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace

from synth.building.best import Asked
from synth.building.proving import prove
from synth.circuits.iterative import LINK_IN, LINK_OUT, Iteration, iterations
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
    Rules,
    Size,
    buffer,
    inverter,
    shifted,
)
from synth.simulator.rows import row_of
from synth.spec import BooleanFunction

Source = Callable[[BooleanFunction], list[Layout]]
"""Gives slices of a function: chained along x, with the names of ``Iteration``."""


def rows(asked: Asked, source: Source) -> Iterator[Layout]:
    """Rows of slices that compute a circuit, proven to.

    Args:
        asked: what is asked of the layout.
        source: of slices.
    """
    for iteration in iterations(asked.circuit):
        for layout in source(iteration.function):
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
    link = next(pin for pin in row.pins if pin.name == LINK_IN)
    row = row.replace(pins=tuple(pins), made_for=None, name=None)
    row = row.replace(pins=tuple(replace(pin, joint=asked.joint) for pin in row.pins))
    if iteration.first is True:
        row = _behind_a_constant(row, link.at, asked.rules)
    elif isinstance(iteration.first, str) and asked.joint is not Joint.BUFFER:
        row = _behind_a_buffer(row, link.at, asked.pins[iteration.first], asked.rules)
    # Where the length has a limit and the width has none, it lies across.
    limits = asked.limits
    if limits.length is not None and row.length > limits.length:
        across = turned(row)
        if limits.excess(across, 0) < limits.excess(row, 0):
            row = across
    return row


def _behind_a_constant(row: Layout, link: Cell, rules: Rules) -> Layout:
    """A row whose first slice has a link that is always on: from an inverter, by a buffer."""
    before = Direction.NX.step(link)
    first = Direction.NX.step(before)
    head = {first: inverter(Direction.NZ), Direction.NZ.step(first): SOLID}
    return _with_head(row, {**head, **_buffer_at(before, rules)}, row.pins)


def _behind_a_buffer(row: Layout, link: Cell, name: str, rules: Rules) -> Layout:
    """A row whose first slice has its link from a pin with a wire joint, by a buffer."""
    before = Direction.NX.step(link)
    pins = [replace(pin, at=before) if pin.name == name else pin for pin in row.pins]
    return _with_head(row, _buffer_at(before, rules), pins)


def _buffer_at(cell: Cell, rules: Rules) -> dict[Cell, Block]:
    return {cell: buffer(Direction.PX, rules.buffer_delays[0]), Direction.NZ.step(cell): LEDGE}


def _with_head(row: Layout, head: Mapping[Cell, Block], pins: Iterable[Pin]) -> Layout:
    """A row with parts before it, in a box that has room for them."""
    least = [min(0, *(cell[axis] for cell in head)) for axis in range(3)]
    offset = (-least[0], -least[1], -least[2])
    cells = {shifted(cell, offset): block for cell, block in {**row.cells, **head}.items()}
    length, width, height = row.size
    return row.replace(
        size=(length + offset[0], width + offset[1], height + offset[2]),
        cells=cells,
        pins=tuple(replace(pin, at=shifted(pin.at, offset)) for pin in pins),
    )


def _fits(size: Size) -> bool:
    return max(size) <= LONGEST and math.prod(size) <= MOST_CELLS


def _names(asked: Asked, iteration: Iteration) -> dict[str, str]:
    """The names asked for the pins of a row; those of no signal of the circuit are left out."""
    named: dict[str, str] = {}
    for copy, pairs in enumerate(zip(iteration.inputs, iteration.outputs, strict=True)):
        for own in pairs:
            named |= {bus_bit(slot, copy): asked.pins[name] for slot, name in own.items()}
    if isinstance(iteration.first, str):
        named[LINK_IN] = asked.pins[iteration.first]
    if iteration.last is not None:
        named[LINK_OUT] = asked.pins[iteration.last]
    return named


def _computes(asked: Asked, row: Layout) -> bool:
    """Whether a row is right: judged, and proven equal to the circuit."""
    judgement = asked.judged(row)
    if judgement.faults or judgement.network is None or judgement.delay is None:
        return False
    proof = prove(asked.circuit, row, judgement, asked.pins, rules=asked.rules)
    return proof.equal is True
