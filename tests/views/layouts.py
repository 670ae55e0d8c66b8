"""Layouts that the tests of the views draw; none of them need be legal."""

from __future__ import annotations

from hypothesis import strategies as st

from synth.layout import Layout, Pin, Stack
from synth.medium import (
    CLEAR,
    HOST_DIRECTIONS,
    LEDGE,
    LEVEL_DIRECTIONS,
    SOLID,
    WIRE,
    Block,
    Cell,
    Direction,
    Joint,
    Role,
    buffer,
    inverter,
)

INVERTER_CHAIN = Layout(
    size=(3, 2, 2),
    cells={
        (0, 0, 0): LEDGE,
        (0, 0, 1): WIRE,
        (1, 0, 0): CLEAR,
        (1, 0, 1): SOLID,
        (1, 1, 1): inverter(Direction.NY),
        (2, 0, 0): SOLID,
        (2, 0, 1): inverter(Direction.NZ),
        (2, 1, 0): LEDGE,
        (2, 1, 1): buffer(Direction.PX, 3),
    },
    pins=(
        Pin("a", Role.INPUT, (0, 0, 1), Direction.NX),
        Pin("all_on", Role.OUTPUT, (2, 0, 1), Direction.PX, Joint.BUFFER),
        Pin("b", Role.INPUT, (1, 1, 1), Direction.PY),
        Pin("aa", Role.INPUT, (0, 0, 0), Direction.NY),
    ),
    stack=Stack("y", 2),
    ground=True,
)
"""Every part, pins on all four sides, and names that begin alike."""

LONG = Layout(
    size=(40, 1, 2),
    cells={(x, 0, 0): SOLID for x in range(40)} | {(x, 0, 1): WIRE for x in range(0, 40, 2)},
    pins=(
        Pin("a", Role.INPUT, (0, 0, 1), Direction.NX),
        Pin("q", Role.OUTPUT, (39, 0, 1), Direction.PX),
    ),
)
"""A layout that is longer than a page is wide."""

EMPTY = Layout(size=(1, 1, 1), cells={})

SLOW = Layout(
    size=(1, 1, 2), cells={(0, 0, 0): LEDGE, (0, 0, 1): buffer(Direction.NY, 12)}, pins=()
)
"""A buffer that only a replaced rule table allows."""

BLOCKS: tuple[Block, ...] = (
    SOLID,
    CLEAR,
    LEDGE,
    WIRE,
    *(inverter(on) for on in HOST_DIRECTIONS),
    *(buffer(to, delay) for to in LEVEL_DIRECTIONS for delay in (1, 2, 3, 4)),
)


@st.composite
def layouts(draw: st.DrawFn) -> Layout:
    """Any layout of up to 30 x 3 x 3 cells, with up to six pins."""
    size = (draw(st.integers(1, 30)), draw(st.integers(1, 3)), draw(st.integers(1, 3)))
    cell = st.tuples(*(st.integers(0, side - 1) for side in size))
    cells = draw(st.dictionaries(cell, st.sampled_from(BLOCKS), max_size=20))
    edges: list[tuple[Cell, Direction]] = [
        ((x, y, z), face)
        for x in range(size[0])
        for y in range(size[1])
        for z in range(size[2])
        for face in LEVEL_DIRECTIONS
        if not (0 <= x + face.vector[0] < size[0] and 0 <= y + face.vector[1] < size[1])
    ]
    places = draw(st.lists(st.sampled_from(edges), max_size=6, unique=True))
    pins = tuple(
        Pin(f"p{index}", draw(st.sampled_from(Role)), at, face)
        for index, (at, face) in enumerate(places)
    )
    return Layout(size=size, cells=cells, pins=pins)
