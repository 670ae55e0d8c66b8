"""The given cases of the medium: copies of check data, nothing here edits them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from synth.layout import Layout
from synth.simulator import check, trace

CASES = Path(__file__).parents[1] / "conformance"
TRACES = sorted(CASES.glob("*.json"))
VERDICTS = sorted((CASES / "verdicts").glob("*.json"))


def load(path: Path) -> dict[str, Any]:
    case: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return case


def test_all_cases_are_here() -> None:
    assert (len(TRACES), len(VERDICTS)) == (99, 54)


@pytest.mark.parametrize("path", TRACES, ids=lambda path: path.stem)
def test_plays_the_given_trace(path: Path) -> None:
    case = load(path)
    layout = Layout.from_document(case["layout"])
    assert trace(layout, case["drive"], len(case["trace"]["ticks"])) == case["trace"]


@pytest.mark.parametrize("path", VERDICTS, ids=lambda path: path.stem)
def test_finds_the_given_verdict(path: Path) -> None:
    case = load(path)
    verdict = check(Layout.from_document(case["layout"]))
    found: dict[str, Any] = {"legal": verdict.legal}
    if verdict.legal:
        found["outputs"] = dict(verdict.outputs or {})
        found["delay"] = verdict.delay
        found["fed_back"] = list(verdict.fed_back)
    if verdict.stacks is not None:
        found["stacks"] = verdict.stacks
    assert found == case["expect"]
    assert verdict.function is None
