"""Trace documents: their form, and what is said of words that cannot be played."""

from __future__ import annotations

import json
from typing import Any

import pytest

from synth.errors import InputError
from synth.medium import SOLID, WIRE
from synth.simulator import trace
from tests.simulator.build import STANDING, box, enters, hung, leaves

NOT = box(
    (1, 1, 2),
    {(0, 0, 0): SOLID, (0, 0, 1): STANDING},
    enters("a", (0, 0, 0), "-x"),
    leaves("q", (0, 0, 1), "+x"),
)


def test_the_document_is_as_described() -> None:
    assert trace(NOT, {"a": "0110"}, 3) == {
        "format": "gatefit-trace",
        "version": 1,
        "inputs": {"a": "011"},
        "outputs": {"q": "010"},
        "ticks": [
            {"wires": [], "charged": [], "driven": [], "on": []},
            {"wires": [], "charged": [[0, 0, 0]], "driven": [], "on": [[0, 0, 1]]},
            {"wires": [], "charged": [[0, 0, 0]], "driven": [], "on": []},
        ],
    }
    assert json.loads(json.dumps(trace(NOT, {"a": "0"}))) == trace(NOT, {"a": "0"})


def test_twelve_ticks_are_played_when_none_are_named() -> None:
    document = trace(NOT, {"a": "01"})
    assert document["inputs"] == {"a": "0" + "1" * 11}
    assert len(document["ticks"]) == 12


def test_lists_are_sorted_by_x_then_y_then_z() -> None:
    cells = {(2, 0, 0): WIRE, (0, 1, 0): WIRE, (0, 0, 0): WIRE, (1, 1, 1): SOLID, (1, 0, 0): SOLID}
    cells |= {(1, 2, 1): hung("-y"), (2, 1, 1): hung("-x"), (0, 1, 1): hung("+x")}
    for tick in trace(box((3, 3, 2), cells, ground=True), {}, 2)["ticks"]:
        for entries in tick.values():
            assert entries == sorted(entries)
    assert tick["on"] == [[0, 1, 1], [1, 2, 1], [2, 1, 1]]


@pytest.mark.parametrize(
    ("drive", "message"),
    [
        ({}, "drive: no word for 'a'; give every input a word"),
        ({"a": ""}, "drive: '' is no word for input 'a'; use at least one character"),
        ({"a": "01x"}, "drive: '01x' is no word for input 'a'; .*only 0 and 1"),
        ({"a": 1}, "drive: 1 is no word for input 'a'"),
        ({"a": "0", "b": "1"}, "drive: the layout has no input 'b'; its inputs are: a"),
        ({"a": "0", "q": "1"}, "drive: the layout has no input 'q'; its inputs are: a"),
    ],
)
def test_words_that_cannot_be_played(drive: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=message):
        trace(NOT, drive)


@pytest.mark.parametrize("ticks", [0, -3])
def test_no_ticks_cannot_be_played(ticks: int) -> None:
    with pytest.raises(InputError, match=f"{ticks} ticks cannot be played; use 1 or more"):
        trace(NOT, {"a": "0"}, ticks)


def test_a_layout_without_inputs_plays() -> None:
    layout = box((1, 1, 2), {(0, 0, 0): SOLID, (0, 0, 1): STANDING})
    assert trace(layout, {}, 2)["inputs"] == {}
    with pytest.raises(InputError, match="its inputs are: none"):
        trace(layout, {"a": "1"}, 2)
