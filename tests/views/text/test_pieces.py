"""The critical path as text says where it is the longest way and not one of the play."""

from __future__ import annotations

import pytest

from synth.building import build
from synth.views.text.pieces import critical_text
from tests.building.test_build import adder


@pytest.mark.parametrize(
    ("bits", "head"), [(2, "Critical path"), (7, "Critical path: the longest")]
)
def test_a_path_that_was_not_played_says_so(bits: int, head: str) -> None:
    """An adder of seven bits has 15 inputs, too many to play every assignment."""
    built = build(adder(bits), rounds=1)
    assert built.pieces is not None
    first, columns, *rows = critical_text(built.pieces).splitlines()
    assert first.startswith(head)
    assert (first == head) == built.pieces.played
    assert columns.split() == ["tick", "piece", "at"]
    assert rows[-1].split()[0] == str(built.delay)
