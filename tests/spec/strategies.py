"""Specifications for hypothesis: any that agree with themselves."""

from __future__ import annotations

from hypothesis import strategies as st

from synth.medium import AXES, LEVEL_DIRECTIONS, Joint
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand
from tests.layout.strategies import blocks, cells, edge_faces, lines, names


@st.composite
def functions(draw: st.DrawFn, max_inputs: int = 3, max_outputs: int = 3) -> BooleanFunction:
    """A function with don't-cares."""
    called = draw(st.lists(names, unique=True, min_size=1, max_size=max_inputs + max_outputs))
    count = draw(st.integers(max(0, len(called) - max_outputs), min(max_inputs, len(called) - 1)))
    rows = 1 << count
    column = st.text("01-", min_size=rows, max_size=rows)
    return BooleanFunction(tuple(called[:count]), {name: draw(column) for name in called[count:]})


@st.composite
def specs(draw: st.DrawFn) -> Spec:
    """A specification in which every key of the document occurs at times."""
    function = draw(functions())
    sides = draw(st.tuples(*[st.integers(1, 5)] * 3))
    ground = draw(st.booleans())
    axis = draw(st.none() | st.sampled_from(AXES[:2] if ground else AXES))
    stack = None if axis is None else StackDemand(axis, draw(st.none() | st.integers(1, 9)))
    faces = [face for face in LEVEL_DIRECTIONS if face.axis != axis]
    edges = [cell for cell, face in edge_faces(sides) if face in faces]
    some_faces = st.none() | st.lists(st.sampled_from(faces), unique=True, min_size=1)

    def pin() -> PinDemand:
        listed = draw(some_faces)
        # A cell at the edge on any face: with faces listed it might be at none of them.
        at = draw(st.none() | st.sampled_from(edges)) if listed is None else None
        return PinDemand(
            None if listed is None else tuple(listed), at, draw(st.sampled_from(Joint))
        )

    pins = {name: pin() for name in (*function.inputs, *function.outputs)}
    empty = draw(st.frozensets(cells(sides), max_size=3))
    fixed = draw(st.dictionaries(cells(sides), blocks(), max_size=3))
    return Spec(
        function=function,
        limits=Limits(
            *sides,
            volume=draw(st.none() | st.integers(1, 10**6)),
            floor=draw(st.none() | st.integers(1, 100)),
            parts=draw(st.none() | st.integers(0, 100)),
            delay=draw(st.none() | st.integers(0, 64)),
        ),
        pins=pins,
        stack=stack,
        ground=ground,
        empty=empty - set(fixed),
        fixed=fixed,
        name=draw(st.none() | lines),
        description=draw(lines),
    )
