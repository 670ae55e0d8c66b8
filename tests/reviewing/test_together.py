"""Many plays at once do what each of them does alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout
from synth.medium import DEFAULT_RULES
from synth.reviewing import together
from synth.simulator import play
from synth.simulator.fabric import fabric_of
from tests.reading.random_layouts import legal_layouts

TICKS = 12
PLAYS = 5


@settings(max_examples=60)
@given(legal_layouts(), st.randoms(use_true_random=False))
def test_plays_together_are_the_plays_alone(layout: Layout, rng: Random) -> None:
    fabric = fabric_of(layout)
    states = [
        play.State(
            tuple(rng.randint(0, 1) for _ in range(fabric.first_input)),
            (0,) * len(fabric.buffers),
        )
        for _ in range(PLAYS)
    ]
    together_now = together.nothing_pending(fabric, _masks([state.on for state in states]))
    full = (1 << PLAYS) - 1
    for _ in range(TICKS):
        inputs = [[rng.randint(0, 1) for _ in fabric.inputs] for _ in states]
        power = together.shown(fabric, together_now, _masks(inputs), DEFAULT_RULES)
        frames = [
            play.frame(fabric, state, given_in, DEFAULT_RULES)
            for state, given_in in zip(states, inputs, strict=True)
        ]
        assert list(power.powered) == _masks([frame.power.powered for frame in frames])
        assert list(power.charged) == _masks([frame.power.charged for frame in frames])
        states = [
            play.after(fabric, state, frame) for state, frame in zip(states, frames, strict=True)
        ]
        together_now = together.after(fabric, together_now, power, full)
        assert list(together_now.on) == _masks([state.on for state in states])


def _masks(alone: Iterable[Sequence[int]]) -> list[int]:
    """For each entry, the plays in which it is 1."""
    return [
        sum(bit << number for number, bit in enumerate(bits)) for bits in zip(*alone, strict=True)
    ]
