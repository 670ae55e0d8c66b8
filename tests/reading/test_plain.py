"""The plain reading reproduces the given cases and keeps what the text says follows."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout
from tests.reading.plain import assignments, illegalities, play, read, settle, verdict
from tests.reading.random_layouts import legal_layouts, random_drive

CASES = Path(__file__).parent.parent / "conformance"
TRACES = sorted(CASES.glob("*.json"))
VERDICTS = sorted((CASES / "verdicts").glob("*.json"))


def load(path: Path) -> dict[str, Any]:
    case: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return case


def test_the_given_cases_are_there() -> None:
    assert len(TRACES) == 99
    assert len(VERDICTS) == 54


@pytest.mark.parametrize("path", TRACES, ids=lambda path: path.stem)
def test_plays_the_given_trace(path: Path) -> None:
    case = load(path)
    layout = read(case["layout"])
    assert illegalities(layout) == []
    assert play(layout, case["drive"], len(case["trace"]["ticks"])) == case["trace"]


@pytest.mark.parametrize("path", VERDICTS, ids=lambda path: path.stem)
def test_finds_the_given_verdict(path: Path) -> None:
    case = load(path)
    found = verdict(read(case["layout"]))
    got: dict[str, Any] = {"legal": found.legal}
    if found.legal:
        got["outputs"] = found.outputs
        got["delay"] = found.delay
        got["fed_back"] = list(found.fed_back)
    if found.stacks is not None:
        got["stacks"] = found.stacks
    assert got == case["expect"]


@settings(max_examples=60, deadline=None)
@given(legal_layouts())
def test_what_is_known_stays_known(layout: Layout) -> None:
    for bits in assignments(layout):
        readings = settle(layout, bits)
        for earlier, later in pairwise(readings):
            for name, value in earlier.outputs.items():
                assert value in ("x", later.outputs[name])
            assert later.fed_back <= earlier.fed_back


@settings(max_examples=60, deadline=None)
@given(legal_layouts(), st.randoms(use_true_random=False))
def test_what_is_known_is_so_from_every_state(layout: Layout, rng: Random) -> None:
    """Section 5: "from every state that the layout may have been in": here, after a drive."""
    past = 9
    before = random_drive(rng, layout, past)
    for bits in assignments(layout):
        readings = settle(layout, bits)
        for start, drive in ((0, bits), (past, extended(before, bits, past))):
            played = play(layout, drive, start + len(readings) + 3)["outputs"]
            for name, word in played.items():
                for tick, bit in enumerate(word[start:]):
                    known = readings[min(tick, len(readings) - 1)].outputs[name]
                    assert known in ("x", bit)


def extended(words: dict[str, str], bits: dict[str, str], ticks: int) -> dict[str, str]:
    """Drive words of so many ticks, then one bit each."""
    return {name: word.ljust(ticks, word[-1]) + bits[name] for name, word in words.items()}
