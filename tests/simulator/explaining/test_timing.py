"""One convention of time: inputs change at tick 0, outputs are right at tick ``delay``."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path
from random import Random

import pytest

from synth.layout import Layout
from synth.simulator import settle, trace
from synth.simulator.explaining import timing
from synth.simulator.explaining.timing import own_delay, settled_by, timing_words
from synth.views.explanation import explain
from synth.views.text.explaining import explain_text
from tests.circuits.drawn import drawn_circuit
from tests.circuits.test_miter import laid_out
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


LAYOUTS = [NOT_GATE, XOR, *(laid_out(drawn_circuit(Random(seed))) for seed in range(6))]


@pytest.mark.parametrize("layout", LAYOUTS, ids=range(len(LAYOUTS)))
def test_the_longest_way_is_no_shorter_than_the_play(
    layout: Layout, monkeypatch: pytest.MonkeyPatch
) -> None:
    ticks = settle(layout).ticks
    assert settled_by(layout) == len(ticks) - 1
    still = next(tick for tick, both in enumerate(ticks) if both == ticks[-1])
    monkeypatch.setattr(timing, "MAX_SETTLED_INPUTS", 0)
    assert settled_by(layout) >= still
