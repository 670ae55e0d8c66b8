"""Pieces go with a layout and its document, say nothing of what it is, and are never of others."""

from __future__ import annotations

import pickle
import re
from collections.abc import Callable
from typing import Any

import pytest

from synth.errors import InputError
from synth.layout import Layout, Piece, PieceKind
from synth.layout.transform import mirrored, moved, turned
from synth.medium import LEDGE, SOLID, WIRE, Cell, Direction, inverter

GATE = Piece("q", PieceKind.GATE, ("a", "b"), ((0, 0, 0), (0, 1, 0)))
CARRIED = Piece("q", PieceKind.WIRE, (), ((1, 1, 0), (1, 1, 1)))


def layout() -> Layout:
    cells = {
        (0, 0, 0): SOLID,
        (0, 1, 0): inverter(Direction.NY),
        (1, 1, 0): LEDGE,
        (1, 1, 1): WIRE,
        (2, 0, 0): SOLID,
    }
    return Layout((3, 2, 2), cells, pieces=(GATE, CARRIED))


def test_a_document_gives_them_back_and_older_versions_have_none() -> None:
    document = layout().document()
    assert document["version"] == 4
    assert Layout.from_document(document).pieces == (GATE, CARRIED)
    document.pop("pieces")
    for version in (1, 2, 3, 4):
        assert Layout.from_document(document | {"version": version}).pieces == ()
    assert layout().replace(pieces=()).document()["version"] == 1
    with pytest.raises(InputError, match="pieces"):
        Layout.from_document(layout().document() | {"version": 3})


def test_like_a_name_they_are_no_part_of_equality_and_survive_pickling() -> None:
    assert layout() == layout().replace(pieces=())
    assert pickle.loads(pickle.dumps(layout())).pieces == (GATE, CARRIED)


def first(document: dict[str, Any]) -> dict[str, Any]:
    entry: dict[str, Any] = document["pieces"][0]
    return entry


BROKEN: list[tuple[Callable[[dict[str, Any]], object], str]] = [
    (lambda d: first(d).update(cells=[[0, 0, 1]]), r"pieces\[0\].cells: .*holds no part"),
    (lambda d: first(d).update(cells=[[1, 1, 0]]), r"pieces\[1\].cells: .*in gate q and in wire q"),
    (lambda d: first(d).update(cells=[]), r"pieces\[0\]: gate q has no cells"),
    (lambda d: first(d).update(kind="wire"), r"pieces\[1\]: there are two pieces 'wire q'"),
    (lambda d: first(d).update(kind="gates"), r"pieces\[0\].kind: .*gate"),
    (lambda d: first(d).update(name="a\nb"), r"pieces\[0\].name"),
    (lambda d: first(d).update(reads=[3]), r"pieces\[0\].reads\[0\]"),
    (lambda d: first(d).update(colour="red"), r"pieces\[0\].*colour"),
    (lambda d: d.update(pieces={}), "pieces"),
]


@pytest.mark.parametrize(("spoil", "words"), BROKEN)
def test_what_is_wrong_is_named(spoil: Callable[[dict[str, Any]], object], words: str) -> None:
    document = layout().document()
    spoil(document)
    with pytest.raises(InputError) as refused:
        Layout.from_document(document)
    assert re.search(words, str(refused.value)), refused.value


def test_a_part_taken_out_by_hand_leaves_a_way_out() -> None:
    document = layout().document()
    document["parts"] = [part for part in document["parts"] if part["at"] != [1, 1, 1]]
    with pytest.raises(InputError, match=r"pieces\[1\]\.cells: .*or leave out 'pieces' altogether"):
        Layout.from_document(document)
    del document["pieces"]
    assert Layout.from_document(document).pieces == ()


def test_they_turn_and_move_with_their_parts() -> None:
    own = layout()

    def parts(image: Layout) -> list[list[str]]:
        return [sorted(str(image.cells[cell].part) for cell in p.cells) for p in image.pieces]

    for image in (turned(own), mirrored(own, "x"), moved(own, (1, 0, 0), (4, 2, 2))):
        assert parts(image) == parts(own)
    assert turned(own, 4).pieces == own.pieces


def test_an_emptied_cell_leaves_its_piece_and_other_cells_have_none() -> None:
    gone: dict[Cell, None] = {(1, 1, 1): None, (0, 0, 0): None, (0, 1, 0): None}
    assert [piece.cells for piece in layout().with_cells(gone).pieces] == [((1, 1, 0),)]
    assert layout().replace(cells={}).pieces == ()
