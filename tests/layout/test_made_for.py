"""What a layout was made for: kept in its document and through all that is done with a layout."""

from __future__ import annotations

import json
import pickle
from typing import Any

import pytest

from synth.errors import InputError
from synth.layout import Layout, MadeFor, Pin
from synth.layout.documents import layout_text
from synth.layout.made_for import Table
from synth.layout.transform import ALL_SYMMETRIES, canonical, moved, repeated, trimmed
from synth.medium import SOLID, Direction, Role, inverter

NOT = Layout(
    size=(2, 1, 1),
    cells={(0, 0, 0): SOLID, (1, 0, 0): inverter(Direction.NX)},
    pins=(
        Pin("a", Role.INPUT, (0, 0, 0), Direction.NX),
        Pin("q", Role.OUTPUT, (1, 0, 0), Direction.PX),
    ),
    made_for=MadeFor("q = ~a", 1),
)
ROWS = Table(("a",), ("q",), ("0 1", "1 -"))


@pytest.mark.parametrize(
    "kept", [MadeFor("q = ~a", 1), MadeFor("q = ~a"), MadeFor("q = ~a", 0), MadeFor(ROWS, 3)]
)
def test_document_keeps_it(kept: MadeFor) -> None:
    layout = NOT.replace(made_for=kept)
    assert layout.document()["version"] == 2
    again = Layout.from_document(json.loads(layout_text(layout)))
    assert again.made_for == kept
    assert again == layout


def test_without_it_the_document_is_of_the_first_version() -> None:
    plain = NOT.replace(made_for=None)
    document = plain.document()
    assert document["version"] == 1
    assert not {"function", "delay"} & set(document)
    assert Layout.from_document(document).made_for is None
    assert Layout.from_document(document | {"version": 2}) == plain


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"version": 1}, "unknown key"),
        ({"version": 9}, "the versions understood are: 1, 2, 3, 4"),
        ({"function": 3}, "is no function"),
        ({"function": {"inputs": ["a"]}}, "outputs"),
        ({"function": {"inputs": ["a"], "outputs": ["q"], "table": "01"}}, "function.table"),
        ({"delay": -1}, "delay"),
        ({"delay": "2"}, "delay"),
    ],
)
def test_what_cannot_be_read_is_said(change: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError) as caught:
        Layout.from_document(NOT.document() | change)
    assert said in str(caught.value)


def test_a_delay_alone_is_refused() -> None:
    document = NOT.document()
    del document["function"]
    with pytest.raises(InputError, match="add the function"):
        Layout.from_document(document)


def test_it_is_no_part_of_equality() -> None:
    other = NOT.replace(made_for=MadeFor("q = a", 4))
    assert (other, hash(other)) == (NOT, hash(NOT))


def test_it_survives_turning_moving_pickling_and_changes() -> None:
    images = [symmetry(NOT) for symmetry in ALL_SYMMETRIES]
    others = [canonical(NOT), trimmed(NOT), pickle.loads(pickle.dumps(NOT))]
    changed = [NOT.with_cells({(1, 0, 0): None}), NOT.replace(name="not")]
    widened = moved(NOT.replace(pins=()), (1, 0, 0), (4, 2, 2))
    for layout in (*images, *others, *changed, widened, repeated(NOT, "y", 1)):
        assert layout.made_for is not None
        assert layout.made_for.delay == 1


def test_a_row_of_copies_was_made_for_as_many_functions() -> None:
    row = repeated(NOT, "y", 3)
    assert row.made_for == MadeFor("q_0 = ~a_0; q_1 = ~a_1; q_2 = ~a_2", 1)
    assert repeated(NOT, "y", 9).made_for is None
    assert repeated(NOT.replace(made_for=MadeFor(ROWS)), "y", 2).made_for is None


def test_renaming_leaves_constants_alone() -> None:
    kept = MadeFor("q = a ? b0 : 1'b0; b = 1'b1", 2)
    assert kept.renamed({"b0": "x1", "a": "b0", "b": "y2", "q": "y1"}) == MadeFor(
        "y1 = b0 ? x1 : 1'b0; y2 = 1'b1", 2
    )
    assert MadeFor(ROWS).renamed({"a": "x1"}).function == Table(("x1",), ("q",), ROWS.rows)
