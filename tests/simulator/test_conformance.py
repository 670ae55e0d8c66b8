"""The published cases of the medium: copies of check data, nothing here edits them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from synth.errors import InputError
from synth.layout import Layout
from synth.simulator import check, trace

CASES = Path(__file__).parents[1] / "conformance"
CONTRADICTORY = "no-self-host"
TRACES = sorted(path for path in CASES.glob("*.json") if path.stem != CONTRADICTORY)
VERDICTS = sorted((CASES / "verdicts").glob("*.json"))


def load(path: Path) -> dict[str, Any]:
    case: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return case


def test_all_cases_are_here() -> None:
    assert (len(TRACES), len(VERDICTS)) == (98, 54)


@pytest.mark.parametrize("path", TRACES, ids=lambda path: path.stem)
def test_plays_the_published_trace(path: Path) -> None:
    case = load(path)
    layout = Layout.from_document(case["layout"])
    assert trace(layout, case["drive"], len(case["trace"]["ticks"])) == case["trace"]


def test_a_case_with_a_pin_that_faces_into_the_box() -> None:
    """Its pin q sits at x = 1 of 3 and faces +x, against section 6, so it is refused as it is.

    With the empty last column left out, the face leads out of the box and the trace is that
    of the case.
    """
    case = load(CASES / f"{CONTRADICTORY}.json")
    with pytest.raises(InputError, match="leads to a cell inside the box"):
        Layout.from_document(case["layout"])
    assert all(part["at"][0] < 2 for part in case["layout"]["parts"])
    layout = Layout.from_document(case["layout"] | {"size": [2, 1, 3]})
    assert trace(layout, case["drive"], len(case["trace"]["ticks"])) == case["trace"]


@pytest.mark.parametrize("path", VERDICTS, ids=lambda path: path.stem)
def test_finds_the_published_verdict(path: Path) -> None:
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
