"""Layouts for hypothesis: any that can be interpreted, legal in the medium or not."""

from __future__ import annotations

from hypothesis import strategies as st

from synth.layout import Layout, Pin, Stack
from synth.medium import (
    AXES,
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
    Size,
    buffer,
    inverter,
)

names = st.from_regex(r"[A-Za-z_][A-Za-z0-9_$]{0,5}", fullmatch=True)
lines = st.text(st.characters(exclude_categories=("C", "Z")), max_size=12)
sizes = st.tuples(*[st.integers(1, 4)] * 3)


def blocks() -> st.SearchStrategy[Block]:
    """Any block, delays outside the rule table included."""
    return st.one_of(
        st.sampled_from([SOLID, CLEAR, LEDGE, WIRE]),
        st.builds(inverter, st.sampled_from(HOST_DIRECTIONS)),
        st.builds(buffer, st.sampled_from(LEVEL_DIRECTIONS), st.integers(1, 9)),
    )


def cells(size: Size) -> st.SearchStrategy[Cell]:
    """Any cell of a box."""
    return st.tuples(*[st.integers(0, side - 1) for side in size])


def edge_faces(size: Size) -> list[tuple[Cell, Direction]]:
    """Every cell and face of a box that a pin may have."""
    length, width, height = size
    faces = [((x, 0, z), Direction.NY) for x in range(length) for z in range(height)]
    faces += [((x, width - 1, z), Direction.PY) for x in range(length) for z in range(height)]
    faces += [((0, y, z), Direction.NX) for y in range(width) for z in range(height)]
    faces += [((length - 1, y, z), Direction.PX) for y in range(width) for z in range(height)]
    return faces


@st.composite
def layouts(draw: st.DrawFn, pin_axes: str = "xy") -> Layout:
    """A layout; its pins face along ``pin_axes`` only."""
    size = draw(sizes)
    edges = [(cell, face) for cell, face in edge_faces(size) if face.axis in pin_axes]
    stack = draw(st.none() | st.builds(Stack, st.sampled_from(AXES), st.integers(4, 9)))
    places = draw(st.lists(st.sampled_from(edges), unique=True, max_size=4))
    called = draw(st.lists(names, unique=True, min_size=len(places), max_size=len(places)))
    return Layout(
        size=size,
        cells=draw(st.dictionaries(cells(size), blocks(), max_size=12)),
        pins=tuple(
            Pin(name, draw(st.sampled_from(Role)), cell, face, draw(st.sampled_from(Joint)))
            for name, (cell, face) in zip(called, places, strict=True)
        ),
        stack=stack,
        ground=draw(st.booleans()),
        name=draw(st.none() | lines),
    )
