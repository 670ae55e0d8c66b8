"""The limits of space, and which of them are let go."""

from __future__ import annotations

from dataclasses import asdict

from hypothesis import given
from hypothesis import strategies as st

from synth.questions.room import SPACE, let_go, limits_beyond
from synth.spec import Limits, Spec, StackDemand

SOME = st.none() | st.integers(1, 9)
LIMITS = st.builds(Limits, **dict.fromkeys(asdict(Limits()), SOME))
SIDES = {"x": "length", "y": "width", "z": "height"}


@given(LIMITS, st.none() | st.sampled_from(sorted(SIDES)))
def test_only_limits_of_space_are_let_go_and_never_the_side_that_stacks(
    limits: Limits, axis: str | None
) -> None:
    stack = None if axis is None else StackDemand(axis)
    spec = Spec.parse("q = a").replace(limits=limits, stack=stack)
    gone, left = let_go(spec), asdict(limits_beyond(spec))
    for name, most in asdict(limits).items():
        kept = name not in SPACE or (axis is not None and name == SIDES[axis])
        assert left[name] == (most if kept else None)
        assert (name in gone) is (not kept and most is not None)


def test_where_cells_are_named_nothing_is_let_go() -> None:
    limits = Limits(3, 2, 4, delay=2)
    spec = Spec.parse("q = a").replace(limits=limits, empty=frozenset({(0, 0, 0)}))
    assert let_go(spec) == ()
    assert limits_beyond(spec) == limits
