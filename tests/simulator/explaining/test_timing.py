"""One convention of time: inputs change at tick 0, outputs are right at tick ``delay``."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest

from synth.layout import Layout
from synth.simulator import trace
from synth.simulator.explaining.timing import own_delay, timing_words
from synth.views.explanation import explain
from synth.views.text.explaining import explain_text
from tests.cli.conftest import NOT_GATE

XOR = Layout.load(Path(__file__).parents[2] / "data" / "xor2.json")


def test_words() -> None:
    assert timing_words(2) == "The inputs change at tick 0; the outputs are right at tick 2."
    assert "no tick" in timing_words(None)


@pytest.mark.parametrize("layout", [NOT_GATE, XOR])
def test_outputs_are_right_at_the_tick_said_after_every_change(layout: Layout) -> None:
    delay = own_delay(layout)
    assert delay is not None
    names = [pin.name for pin in layout.inputs]
    late = 0
    for before, after in product(product("01", repeat=len(names)), repeat=2):
        # Long enough at rest, then the change: that is tick 0 of the convention.
        rest = 8
        words = {n: b * rest + a for n, b, a in zip(names, before, after, strict=True)}
        outputs = trace(layout, words, rest + delay + 6)["outputs"]
        for word in outputs.values():
            assert len(set(word[rest + delay :])) == 1
            late += len(set(word[rest + max(0, delay - 1) :])) > 1
    assert late or not delay


def test_explain_counts_as_the_convention_says() -> None:
    text = explain_text(explain(XOR), 2)
    assert "The inputs change at tick 0; the outputs have settled at tick 2." in text
    ticks = [int(number) for number in re.findall(r"^  tick (\d+) ", text, re.M)]
    assert (min(ticks), max(ticks)) == (0, 2)
