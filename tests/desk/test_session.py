"""Whatever is done at the desk can be undone, done again, and is there after a kill."""

from __future__ import annotations

import contextlib
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.desk.design import Design
from synth.desk.edits import edited
from synth.desk.folder import Folder
from synth.desk.patch import Patch, applied, between
from synth.desk.session import Session
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import SOLID, WIRE, Direction, Joint, Part, Role
from tests.desk.orders import edits
from tests.layout.strategies import layouts
from tests.stored import DATA, stored_layout

ENDINGS = (".json", ".toml")
steps = st.lists(st.one_of(edits, st.sampled_from(["undo", "redo", "keep"])), max_size=14)


def carried_out(session: Session, step: Any) -> None:
    if step == "undo":
        session.undo()
    elif step == "redo":
        session.redo()
    elif step == "keep":
        session.keep("kept", "by a test", session.design.layout, None)
    else:
        with contextlib.suppress(InputError):
            session.edit(step)


@given(steps)
def test_undone_to_the_start_and_done_again_to_the_end_it_is_the_same(taken: list[Any]) -> None:
    with TemporaryDirectory() as name:
        session = Session.of(Folder(Path(name), ENDINGS), "untitled")
        start = session.design
        for step in taken:
            carried_out(session, step)
        end = session.design
        undone = 0
        while session.undo():
            undone += 1
        assert session.design == start
        while session.redo():
            undone -= 1
        if undone == 0:  # nothing was undone before: all of it has been done again
            assert session.design == end


@given(steps, st.data())
@settings(max_examples=40)
def test_killed_at_any_byte_of_the_journal_it_goes_on_from_its_last_whole_line(
    taken: list[Any], data: st.DataObject
) -> None:
    with TemporaryDirectory() as name:
        folder = Folder(Path(name), ENDINGS)
        session = Session.of(folder, "untitled")
        path = session.journal.path
        known = {path.stat().st_size: (session.design, len(session.versions))}
        for step in taken:
            carried_out(session, step)
            known[path.stat().st_size] = (session.design, len(session.versions))
        written = path.read_bytes()
        first = min(known)
        cut = data.draw(st.integers(first, len(written)))
        path.write_bytes(written[:cut])
        again = Session.of(folder, "untitled")
        last = max(size for size in known if size <= cut)
        assert (again.design, len(again.versions)) == known[last]
        # It is written on where it was cut, and can be read again.
        again.edit({"kind": "name", "name": "gone on with"})
        assert Session.of(folder, "untitled").design == again.design


@given(layouts(), layouts())
def test_a_patch_leads_from_any_design_to_any_other(one: Layout, other: Layout) -> None:
    before, after = Design(one), Design(other, frozenset({(0, 0, 0)}))
    patch = Patch.from_document(between(before, after).document())
    done = applied(before, patch)
    assert done == after
    assert (done.layout.name, done.layout.made_for) == (other.name, other.made_for)


def test_an_edit_that_cannot_be_done_changes_nothing_and_says_why(tmp_path: Path) -> None:
    session = Session.of(Folder(tmp_path, ENDINGS), "untitled")
    session.edit({"kind": "put", "parts": [{"at": [1, 1, 1], "part": "solid"}]})
    session.edit({"kind": "lock", "cells": [[1, 1, 1]]})
    before, written = session.design, session.journal.path.read_bytes()
    for message, words in (
        ({"kind": "put", "empty": [[1, 1, 1]]}, "locked"),
        ({"kind": "put", "empty": [[9, 9, 9]]}, "outside the box"),
        ({"kind": "size", "size": [1, 1, 1]}, "would lie outside"),
        ({"kind": "slice", "axis": "x", "at": 1, "out": True}, "locked"),
        ({"kind": "fly"}, "no edit"),
        ({"kind": "function", "text": "q = = a"}, "column"),
        ({"kind": "unpin", "name": "a"}, "no pin"),
        (
            {"kind": "pin", "name": "a", "role": "input", "at": [0, 1, 0], "face": "-y"},
            "inside the box",
        ),
    ):
        with pytest.raises(InputError, match=words):
            session.edit(message)
    assert session.design == before
    assert session.journal.path.read_bytes() == written


def made(*messages: dict[str, Any], start: Layout | None = None) -> Layout:
    design = Design(start or Layout(size=(4, 3, 3), cells={}))
    for message in messages:
        design = edited(design, message).design
    return design.layout


def test_a_part_is_placed_as_suits_and_turns_when_it_is_placed_again() -> None:
    solid = {"kind": "place", "cells": [[1, 1, 0]], "part": "solid"}
    beside = {"kind": "place", "cells": [[2, 1, 0]], "part": "inverter"}
    above = {"kind": "place", "cells": [[1, 1, 1]], "part": "inverter"}
    layout = made(solid, beside, above)
    assert layout.cells[2, 1, 0].facing is Direction.NX
    assert layout.cells[1, 1, 1].facing is Direction.NZ
    ways = {made(solid, *[beside] * count).cells[2, 1, 0].facing for count in range(1, 6)}
    assert len(ways) == 5
    buffer = {"kind": "place", "cells": [[0, 0, 1]], "part": "buffer", "ticks": 3}
    assert made(buffer).cells[0, 0, 1].delay == 3
    assert made({**buffer, "ticks": 1}, buffer).cells[0, 0, 1] == made(buffer).cells[0, 0, 1]


def test_a_block_turned_four_times_or_mirrored_twice_is_as_it_was() -> None:
    start = stored_layout("xor2")
    box = [[0, 0, 0], [1, 1, 3]]
    turn = {"kind": "turn", "box": box, "quarters": 1}
    assert made(turn, start=start) != start
    assert made(*[turn] * 4, start=start) == start
    mirror = {"kind": "mirror", "box": box, "axis": "x"}
    assert made(mirror, start=start) != start
    assert made(mirror, mirror, start=start) == start


def test_what_is_moved_takes_the_place_of_what_was_there() -> None:
    start = Layout(size=(3, 1, 2), cells={(0, 0, 0): SOLID, (0, 0, 1): WIRE, (1, 0, 0): SOLID})
    box = [[0, 0, 0], [0, 0, 1]]
    gone = made({"kind": "move", "box": box, "by": [2, 0, 0]}, start=start)
    assert set(gone.cells) == {(1, 0, 0), (2, 0, 0), (2, 0, 1)}
    kept = made({"kind": "move", "box": box, "by": [2, 0, 0], "copy": True}, start=start)
    assert set(kept.cells) == {*start.cells, (2, 0, 0), (2, 0, 1)}
    with pytest.raises(InputError, match="outside"):
        made({"kind": "move", "box": box, "by": [3, 0, 0]}, start=start)


def test_a_slice_put_in_and_taken_out_leaves_the_layout_as_it_was() -> None:
    start = stored_layout("xor2")
    for axis, side in zip("xyz", start.size, strict=True):
        for at in range(side + 1):
            put_in = {"kind": "slice", "axis": axis, "at": at}
            wider = made(put_in, start=start)
            assert wider.part_count == start.part_count
            assert wider.volume > start.volume
            assert made(put_in, {**put_in, "out": True}, start=start) == start


def test_a_pin_keeps_what_is_expected_when_it_gets_another_name() -> None:
    start = stored_layout("xor2")
    expect = {"kind": "function", "text": "q = a ^ b", "delay": 2}
    pin = next(pin for pin in start.pins if pin.name == "a")
    rename = {
        "kind": "pin", "old": "a", "name": "left", "role": "input", "at": list(pin.at),
        "face": str(pin.face), "joint": str(pin.joint),
    }  # fmt: skip
    layout = made(expect, rename, start=start)
    assert layout.made_for is not None
    assert layout.made_for.function == "q = left ^ b"
    assert [pin.name for pin in layout.pins] == ["left", "b", "q"]


def test_saving_writes_the_file_and_goes_on_under_its_name(tmp_path: Path) -> None:
    folder = Folder(tmp_path, ENDINGS)
    session = Session.of(folder, "untitled")
    session.edit({"kind": "put", "parts": [{"at": [0, 0, 0], "part": "solid"}]})
    assert session.unsaved
    assert session.save("gate.json", None) == "gate.json"
    assert not session.unsaved
    assert Layout.load(tmp_path / "gate.json") == session.design.layout
    again = Session.of(folder, "gate.json")
    assert again.design == session.design
    assert again.undo()
    assert again.unsaved
    assert session.save("gate.drawing", None) == "gate.drawing"
    assert Layout.load(tmp_path / "gate.drawing") == session.design.layout
    with pytest.raises(InputError, match=r"ends in \.txt"):
        session.save("gate.txt", None)
    (tmp_path / "other.json").write_text("{}", encoding="utf-8")
    with pytest.raises(InputError, match="already"):
        session.save("other.json", None)


def test_what_another_program_wrote_is_a_step_that_can_be_undone(tmp_path: Path) -> None:
    folder = Folder(tmp_path, ENDINGS)
    path = tmp_path / "gate.json"
    path.write_text((DATA / "xor2.json").read_text(encoding="utf-8"), encoding="utf-8")
    session = Session.of(folder, "gate.json")
    session.edit({"kind": "ground", "on": True})
    mine = session.design
    other = stored_layout("nor2")
    other.save(path)
    again = Session.of(folder, "gate.json")
    assert again.design.layout == other
    assert "changed elsewhere" in again.remark
    again.undo()
    assert again.design == mine
    # Taken once, and not again at every start.
    third = Session.of(folder, "gate.json")
    assert (third.design, third.remark) == (mine, "")


def test_what_another_program_wrote_is_not_written_over(tmp_path: Path) -> None:
    folder = Folder(tmp_path, ENDINGS)
    stored_layout("xor2").save(tmp_path / "gate.json")
    session = Session.of(folder, "gate.json")
    session.edit({"kind": "ground", "on": True})
    other = stored_layout("nor2")
    other.save(tmp_path / "gate.json")
    with pytest.raises(InputError, match="another program"):
        session.save(None, None)
    assert Layout.load(tmp_path / "gate.json") == other
    session.look_again()
    assert session.design.layout == other
    session.undo()
    session.save(None, None)
    assert Layout.load(tmp_path / "gate.json") == session.design.layout


def test_a_specification_becomes_a_box_with_its_pins(tmp_path: Path) -> None:
    (tmp_path / "half.toml").write_text(
        'inputs = ["a", "b"]\n[outputs]\ns = "a ^ b"\nc = "a & b"\n[limits]\nlength = 5\n'
        'width = 2\ndelay = 3\n[stack]\naxis = "y"\n[pins]\nc = { joint = "buffer" }\n',
        encoding="utf-8",
    )
    layout = Session.of(Folder(tmp_path, ENDINGS), "half.toml").design.layout
    assert layout.size[:2] == (5, 2)
    assert [(pin.name, pin.role) for pin in layout.pins] == [
        ("a", Role.INPUT), ("b", Role.INPUT), ("s", Role.OUTPUT), ("c", Role.OUTPUT),
    ]  # fmt: skip
    assert layout.pins[3].joint is Joint.BUFFER
    assert layout.made_for is not None
    assert layout.made_for.delay == 3
    assert layout.stack is not None
    assert layout.stack.pitch == 2


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (b"nonsense\n", "line 2"),
        (b'{"do": {"cells": [[[99, 0, 0], {"part": "solid"}]], "rest": {}}}\n', "line 2"),
        (b'{"what": 1}\n', "line 2"),
        (b"\xff\xfe\n", "line 2"),
    ],
)
def test_a_journal_that_cannot_be_read_is_named_with_its_line(
    tmp_path: Path, line: bytes, words: str
) -> None:
    folder = Folder(tmp_path, ENDINGS)
    path = Session.of(folder, "untitled").journal.path
    with path.open("ab") as stream:
        stream.write(line)
    with pytest.raises(InputError, match=words):
        Session.of(folder, "untitled")


@pytest.mark.parametrize(
    "name",
    ["", ".", "..", "../x.json", "/etc/x.json", "a/../../x.json", ".gatefit-desk/claim", "a\\b",
     "c:x", "x\0y", "out/x.json", 7, None, "x" * 300],
)  # fmt: skip
def test_no_name_leads_out_of_the_folder(tmp_path: Path, name: object) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    (inner / "out").symlink_to(tmp_path)
    with pytest.raises(InputError):
        Folder(inner, ENDINGS).path(name)


def test_links_are_not_listed_and_one_desk_works_in_a_folder(tmp_path: Path) -> None:
    folder = Folder(tmp_path, ENDINGS)
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "one.json").write_text("{}", encoding="utf-8")
    (tmp_path / "two.toml").write_text("", encoding="utf-8")
    (tmp_path / "three.txt").write_text("", encoding="utf-8")
    (tmp_path / "link.json").symlink_to(tmp_path / "two.toml")
    assert folder.listing() == ["deep/one.json", "two.toml"]
    folder.claim()
    with pytest.raises(InputError, match="another desk"):
        folder.claim()


def test_every_part_can_be_placed() -> None:
    for part in Part:
        layout = made({"kind": "place", "cells": [[1, 1, 1]], "part": str(part)})
        assert layout.cells[1, 1, 1].part is part
