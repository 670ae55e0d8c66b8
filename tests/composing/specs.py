"""Specifications for tests of composing, drawn at random or taken in turn."""

from __future__ import annotations

from random import Random

from synth.medium import DEFAULT_RULES, LEVEL_DIRECTIONS, Direction, Joint, Rules
from synth.spec import BooleanFunction, Spec
from synth.spec.spec import Limits, PinDemand, StackDemand

NAMES = tuple("abcdefgh")

LIMITS = (
    {"stack": "y", "width": 2, "joint": "buffer"},
    {"stack": "y", "joint": "wire"},
    {"stack": "x", "length": 2, "joint": "wire"},
    {},
    {"stack": "z", "joint": "buffer"},
    {"width": 2, "ground": True},
    {"stack": "y", "pitch": 30},
    {"stack": "x", "input_faces": "+y", "output_faces": "-y"},
    {"stack": "y", "width": 2, "input_faces": "-x", "output_faces": "-x", "joint": "buffer"},
    {"height": 6, "input_faces": "+y", "output_faces": "+y"},
)
"""Limits that every small function is composed under in turn."""

RULES = (
    DEFAULT_RULES,
    Rules(reach=9),
    Rules(buffer_delays=(2, 3)),
    Rules(reach=40),
)


def function_of(inputs: int, *columns: str) -> BooleanFunction:
    """A function with outputs q0, q1, ..."""
    return BooleanFunction(NAMES[:inputs], {f"q{n}": column for n, column in enumerate(columns)})


def random_function(rng: Random, inputs: int, outputs: int, values: str = "01") -> BooleanFunction:
    """Columns drawn at random."""
    rows = 1 << inputs
    return function_of(
        inputs, *("".join(rng.choice(values) for _ in range(rows)) for _ in range(outputs))
    )


def random_spec(rng: Random, function: BooleanFunction) -> Spec:
    """Random joints, sides, stacking and a width, all of which can be kept."""
    axis = rng.choice((None, "x", "y", "y", "z"))
    along = rng.choice(("x", "y")) if axis in (None, "z") else {"x": "y", "y": "x"}[axis]
    sides = [face for face in LEVEL_DIRECTIONS if face.axis == along]
    narrow = rng.random() < 0.4
    limits = Limits(width=2) if along == "x" else Limits(length=2)
    return Spec(
        function,
        limits=limits if narrow else Limits(),
        pins={
            name: PinDemand(_faces(rng, sides), None, rng.choice((None, Joint.WIRE, Joint.BUFFER)))
            for name in (*function.inputs, *function.outputs)
        },
        stack=None if axis is None else StackDemand(axis, rng.choice((None, None, 200))),
        ground=axis != "z" and rng.random() < 0.2,
    )


def _faces(rng: Random, sides: list[Direction]) -> tuple[Direction, ...]:
    return rng.choice(((sides[0],), (sides[1],), tuple(sides)))
