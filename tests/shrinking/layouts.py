"""Layouts to shrink: small right ones, and the same with junk in and around them."""

from __future__ import annotations

from pathlib import Path

from hypothesis import strategies as st

from synth.layout import Layout, Pin
from synth.layout.transform import mirrored
from synth.medium import AXES, CLEAR, LEDGE, SOLID, WIRE, Block, Cell, Direction, Role, inverter

XOR = Layout.load(Path(__file__).parents[1] / "data" / "xor2.json")

NOT = Layout(
    size=(2, 1, 1),
    cells={(0, 0, 0): SOLID, (1, 0, 0): inverter(Direction.NX)},
    pins=(
        Pin("a", Role.INPUT, (0, 0, 0), Direction.NX),
        Pin("q", Role.OUTPUT, (1, 0, 0), Direction.PX),
    ),
)
"""The lead of ``a`` charges the solid, the inverter on it powers the lead of ``q``: as small as an
inverter and its host can be.
"""

JUNK: tuple[Block, ...] = (SOLID, CLEAR, LEDGE, WIRE)


def stretched(layout: Layout, axis: str, at: int) -> Layout:
    """An empty slice put in; right only where nothing crosses it."""
    index = AXES.index(axis)

    def moved(cell: Cell) -> Cell:
        shifted = list(cell)
        shifted[index] += shifted[index] >= at
        return (shifted[0], shifted[1], shifted[2])

    size = list(layout.size)
    size[index] += 1
    cells = {moved(cell): block for cell, block in layout.cells.items()}
    pins = []
    for pin in layout.pins:
        cell = list(moved(pin.at))
        if pin.face.axis == axis:
            cell[index] = size[index] - 1 if pin.face.vector[index] > 0 else 0
        pins.append(Pin(pin.name, pin.role, (cell[0], cell[1], cell[2]), pin.face, pin.joint))
    return layout.replace(size=tuple(size), cells=cells, pins=tuple(pins))


@st.composite
def padded(draw: st.DrawFn, base: Layout) -> Layout:
    """Some image of a layout with junk on top and at an end without pins; perhaps not right."""
    layout = base.replace(stack=None)
    if draw(st.booleans()):
        layout = mirrored(layout, "x")
    if draw(st.booleans()):
        layout = mirrored(layout, "y")
    more = (0, draw(st.integers(0, 2)), draw(st.integers(0, 2)))
    size = tuple(side + by for side, by in zip(layout.size, more, strict=True))
    layout = layout.replace(size=size)
    empty = [
        (x, y, z)
        for x in range(size[0])
        for y in range(size[1])
        for z in range(size[2])
        if (x, y, z) not in layout.cells
    ]
    if not empty:
        return layout
    junk = draw(st.dictionaries(st.sampled_from(empty), st.sampled_from(JUNK), max_size=6))
    return layout.with_cells(junk)
