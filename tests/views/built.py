"""A layout with pieces, for the tests of the views: a circuit of two outputs, built."""

from __future__ import annotations

from functools import cache

from synth.building import build
from synth.circuits.reading.equations import parse_equations
from synth.layout import Layout


@cache
def built_layout() -> Layout:
    """Some two hundred parts in five gates and their wires."""
    built = build(
        parse_equations("t = a & b\nq = t | c\nr = t ^ c\noutputs = q r", "two"), rounds=5
    )
    assert built.layout is not None
    assert built.layout.pieces
    return built.layout
