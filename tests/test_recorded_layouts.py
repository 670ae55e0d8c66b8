"""Layouts that the README speaks of are kept, and are what it says."""

from __future__ import annotations

from pathlib import Path

import pytest

from synth.layout import Layout
from synth.simulator import check
from synth.spec import Spec

RECORDS = Path(__file__).resolve().parent.parent / "benchmarks" / "records"


@pytest.mark.parametrize(
    ("name", "function", "volume"),
    [
        ("full_adder", "s = a ^ b ^ c; co = a & b | a & c | b & c", 144),
        ("parity", "q = a ^ b ^ c", 72),
    ],
)
def test_recorded_layout_passes(name: str, function: str, volume: int) -> None:
    layout = Layout.load(RECORDS / f"{name}_layout.json")
    spec = Spec.parse(function, width=2, stack="y", joint="buffer", delay=4)
    verdict = check(layout, spec, delay=4)
    assert verdict.passes, verdict.faults
    assert layout.volume == volume
