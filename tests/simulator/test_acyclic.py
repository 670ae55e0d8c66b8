"""Layouts without feedback: the network read off them against the three-valued play."""

from __future__ import annotations

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout
from synth.simulator.acyclic import Network, NoNetwork, network_of
from synth.simulator.settling import input_masks, settle
from tests.reading.random_layouts import legal_layouts, random_layout
from tests.stored import stored_layout

XOR = stored_layout("xor2")


def agrees(layout: Layout, network: Network) -> None:
    """The network's outputs, from its delay on, are those of the play; no input is fed back."""
    settled = settle(layout)
    names = [pin.name for pin in layout.inputs]
    masks = dict(zip(names, input_masks(len(names)), strict=True))
    shown = network.evaluate(masks, settled.full)
    for name, value in shown.items():
        assert settled.surely_reads(name, network.delay) == value
        assert settled.possibly_reads(name, network.delay) == value
    for name in names:
        assert not settled.fed_back(name, network.delay)
    for number, element in enumerate(network.elements):
        both = settled.at(element.known_at)
        assert both.sure.on[number] == both.possible.on[number]


@settings(max_examples=100)
@given(legal_layouts())
def test_a_network_is_what_the_play_settles_at(layout: Layout) -> None:
    found = network_of(layout)
    if isinstance(found, Network):
        agrees(layout, found)


def test_most_lively_layouts_without_feedback_have_a_network() -> None:
    """So that the property above speaks of something; and reasons are given where there is none."""
    draw = Random(5)
    found = [network_of(random_layout(draw)) for _ in range(200)]
    assert sum(isinstance(one, Network) for one in found) > 40
    assert {one.reason for one in found if isinstance(one, NoNetwork)}


def test_the_exclusive_or_is_one() -> None:
    found = network_of(XOR)
    assert isinstance(found, Network)
    agrees(XOR, found)


@given(st.integers(0, 2**32))
def test_what_can_hold_or_feeds_back_is_none(seed: int) -> None:
    layout = random_layout(Random(seed))
    found = network_of(layout)
    settled = settle(layout)
    last = len(settled.ticks) - 1
    unknown = any(
        settled.surely_reads(pin.name, last) != settled.possibly_reads(pin.name, last)
        for pin in layout.outputs
    )
    if unknown:
        assert isinstance(found, NoNetwork)
