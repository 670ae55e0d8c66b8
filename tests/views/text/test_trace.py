"""Traces as text."""

from __future__ import annotations

import json

from synth.views.text.trace import trace_json, trace_text
from tests.views.golden import check_golden


def trace_of(ticks: int) -> dict[str, object]:
    return {
        "format": "gatefit-trace",
        "version": 1,
        "inputs": {"a": "01" * (ticks // 2), "select": "0" * ticks},
        "outputs": {"q": "10" * (ticks // 2)},
        "ticks": [
            {"wires": [[0, 0, 1, tick % 16]], "charged": [], "driven": [], "on": []}
            for tick in range(ticks)
        ],
    }


def test_words_stand_under_their_ticks() -> None:
    check_golden("trace_words", trace_text(trace_of(12)))


def test_long_words_are_cut_to_the_page() -> None:
    text = trace_text(trace_of(100), width=40)
    assert max(map(len, text.split("\n"))) <= 40
    rows = [line.split()[-1] for line in text.split("\n") if line.startswith("q ")]
    assert "".join(rows) == trace_of(100)["outputs"]["q"]  # type: ignore[index]


def test_document_survives_and_has_a_tick_a_line() -> None:
    document = trace_of(4)
    text = trace_json(document)
    assert json.loads(text) == document
    assert sum(line.startswith("  {") for line in text.split("\n")) == 4
