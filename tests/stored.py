"""Specifications and layouts that tests start from, kept in ``tests/data`` instead of solved for.

``xor2.json``: an exclusive-or, 2 wide and stackable, that settles in 2 ticks.
"""

from __future__ import annotations

from pathlib import Path

from synth.layout import Layout
from synth.spec import Spec

DATA = Path(__file__).parent / "data"


def stored_layout(name: str) -> Layout:
    """The layout of ``tests/data/NAME.json``."""
    return Layout.load(DATA / f"{name}.json")


def stored_spec(name: str) -> Spec:
    """The specification of ``tests/data/NAME.toml``."""
    return Spec.load(DATA / f"{name}.toml")
