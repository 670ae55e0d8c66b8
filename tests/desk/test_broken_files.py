"""Whatever lies in the folder of a desk, it is opened or refused in one sentence."""

from __future__ import annotations

from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.desk.folder import Folder
from synth.desk.opening import LAYOUTS, SPECS
from synth.desk.session import Session
from synth.errors import InputError
from synth.layout.documents import layout_document
from tests.fuzz.breaking import anything, broken_drawing, broken_json, broken_toml, spoilt
from tests.fuzz.cases import GATE, SPECIFICATION

KINDS = ("gate.json", "gate.drawing", "gate.toml", "journal", "anything")


def broken(kind: str, draw: Random) -> tuple[str, bytes]:
    if kind == "gate.json":
        return kind, broken_json(layout_document(GATE), draw)
    if kind == "gate.drawing":
        return kind, broken_drawing(GATE.drawing(), draw)
    if kind == "gate.toml":
        return kind, broken_toml(SPECIFICATION, draw)
    return draw.choice(KINDS[:3]), anything(draw)


def refused(folder: Folder, name: str) -> str:
    """How a design was refused; empty if it was opened, and could be worked on."""
    try:
        session = Session.of(folder, name)
    except InputError as error:
        return str(error)
    session.edit({"kind": "ground", "on": not session.design.layout.ground})
    return ""


@given(st.sampled_from(KINDS), st.integers(0, 2**32))
@settings(max_examples=120)
def test_no_file_and_no_journal_breaks_the_desk(kind: str, seed: int) -> None:
    draw = Random(seed)
    with TemporaryDirectory() as name:
        folder = Folder(Path(name), (*LAYOUTS, *SPECS))
        if kind == "journal":
            session = Session.of(folder, "untitled")
            session.edit({"kind": "put", "parts": [{"at": [0, 0, 0], "part": "solid"}]})
            session.keep("kept", "by a test", session.design.layout, 1)
            session.undo()
            path = session.journal.path
            path.write_bytes(spoilt(path.read_bytes(), draw))
            said = refused(folder, "untitled")
        else:
            file, data = broken(kind, draw)
            (folder.root / file).write_bytes(data)
            said = refused(folder, file)
        # A sentence, and for a drawing the line concerned with a caret below it.
        assert len(said) < 4000
        assert said.count("\n") <= 2


def test_most_of_them_are_refused() -> None:
    """Files that were all in order would make the test above empty."""
    count = 0
    for seed in range(60):
        draw = Random(seed)
        with TemporaryDirectory() as name:
            folder = Folder(Path(name), (*LAYOUTS, *SPECS))
            file, data = broken(KINDS[seed % 3], draw)
            (folder.root / file).write_bytes(data)
            count += bool(refused(folder, file))
    assert count >= 20
