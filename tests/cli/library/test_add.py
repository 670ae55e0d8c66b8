"""``gatefit library add``: a layout of one's own, with notes and tags to find it by."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from synth.layout.documents import layout_text
from synth.library import Store
from synth.library.answer import Answer
from synth.library.canonical import Canonical
from synth.medium import Joint
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from tests.cli.conftest import NOT_GATE, Run
from tests.library.answers import VOLUME, question, solved


@pytest.fixture
def file(tmp_path: Path) -> str:
    """The smallest layout of ``a & ~b`` that is 2 x 1 x 3 and meets 2 ticks."""
    layout = solved()[1].layout
    assert layout is not None
    (tmp_path / "gate.json").write_text(layout_text(layout), encoding="utf-8")
    return "gate.json"


def test_a_layout_is_kept_as_the_best_known_of_its_own_question(
    gatefit: Run, file: str, tmp_path: Path
) -> None:
    ended = gatefit("library", "add", file, "--name", "and with one not")
    assert (ended.code, ended.err) == (0, "")
    assert ended.out == "gatefit.sqlite: entry 1, q = a & ~b, delay 2: added\n"
    with Store(tmp_path / "gatefit.sqlite") as store:
        entry, asked, answer = store.answered(1)
        assert (entry.status, entry.proven, entry.name) == ("undecided", False, "and with one not")
        limits = asked.spec.limits
        layout = solved()[1].layout
        assert layout is not None
        assert (limits.length, limits.width, limits.height, limits.delay) == (*layout.size, 2)
        assert answer.layout is not None
        assert answer.layout.size == layout.size
    assert gatefit("library", "verify").code == 0
    assert gatefit("library", "find", "z = ~p & r", "--delay", "2").code == 0


def test_stack_joints_and_ground_are_those_of_the_layout(gatefit: Run, tmp_path: Path) -> None:
    pins = tuple(replace(pin, joint=Joint.BUFFER) for pin in NOT_GATE.pins)
    (tmp_path / "not.json").write_text(layout_text(NOT_GATE.replace(pins=pins)), encoding="utf-8")
    assert gatefit("library", "add", "not.json").code == 0
    with Store(tmp_path / "gatefit.sqlite") as store:
        assert store.entry(1).joints == "buffer"
        assert store.entry(1).table == "10"


def test_notes_and_tags_are_shown_listed_and_filtered_by(gatefit: Run, file: str) -> None:
    assert gatefit("library", "add", file, "--note", "seen on a bench", "--tag", "mine").code == 0
    ended = gatefit("library", "add", file, "--tag", "kleinste_1", "--tag", "mine")
    assert "not added, the store has one that is as good or better" in ended.out
    out = gatefit("library", "show", "1").out
    assert "Tags: kleinste_1, mine\nNote: seen on a bench\n" in out
    assert gatefit("library", "list", "--tag", "mine").out.endswith("1 of 1 entries\n")
    assert gatefit("library", "list", "--tag", "yours").out.endswith("0 of 1 entries\n")
    (entry,) = gatefit("library", "list", "--json").document["entries"]
    assert (entry["note"], entry["tags"]) == ("seen on a bench", ["kleinste_1", "mine"])
    document = gatefit("library", "show", "1", "--json").document
    assert (document["note"], document["tags"]) == ("seen on a bench", ["kleinste_1", "mine"])
    assert gatefit("library", "merge", "gatefit.sqlite", "--store", "other.sqlite").code == 0
    assert "Note: seen" in gatefit("library", "show", "1", "--store", "other.sqlite").out


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--function", "q = a | b"], ("gate.json", "does not pass the layout", "gatefit check")),
        (["--function", "q = a | c"], ("gate.json", "pins")),
        (["--function", "q = a +"], ("--function",)),
        (["--tag", "two words"], ("--tag", "is no tag")),
        (["--note", "two\nlines"], ("--note", "one line")),
        (["--name", "\x1b[2J"], ("--name", "cannot be printed")),
    ],
)
def test_what_cannot_be_added_leaves_no_store(
    gatefit: Run, file: str, tmp_path: Path, options: list[str], words: tuple[str, ...]
) -> None:
    ended = gatefit("library", "add", file, *options)
    assert (ended.code, ended.out) == (2, "")
    assert all(word in ended.err for word in words), ended.err
    assert [path.name for path in tmp_path.iterdir()] == [file]


def test_an_illegal_layout_is_not_added(gatefit: Run, unsupported: str, tmp_path: Path) -> None:
    ended = gatefit("library", "add", unsupported)
    assert ended.code == 2
    assert f"{unsupported}: the simulator does not pass the layout: " in ended.err
    assert not (tmp_path / "gatefit.sqlite").exists()


def test_a_layout_better_than_what_is_claimed_to_be_smallest_is_told(
    gatefit: Run, file: str, tmp_path: Path
) -> None:
    assert gatefit("library", "add", file).code == 0
    with Store(tmp_path / "gatefit.sqlite") as store:
        asked = store.asked(1)
        store.connection.execute("DELETE FROM results")
        store.keep_answer(asked, Answer(Status.IMPOSSIBLE, proven=True, layout=None))
    ended = gatefit("library", "add", file)
    assert ended.code == 2
    assert "one answer says impossible and another has a layout" in ended.err


def test_a_list_has_80_columns_and_no_two_rows_alike(gatefit: Run, tmp_path: Path) -> None:
    """Though questions differ in what has no column of its own."""
    spec, _ = solved()
    limits = spec.limits
    with Store(tmp_path / "gatefit.sqlite") as store:
        for change in (
            {"volume": 9},
            {"volume": 12},
            {"parts": 9},
            {"delay": 3},
            {"length": 64, "width": 64, "height": 64, "delay": 64},
            {},
        ):
            changed = spec.replace(limits=replace(limits, **change))
            asked, _ = Canonical.of(Problem(changed, VOLUME))
            store.keep_answer(asked, Answer(Status.UNDECIDED, proven=False, layout=None, bound=3))
        for number, text in enumerate(("q = a ^ b ^ c ^ d ^ e", "q = a ^ b ^ c ^ d & e")):
            store.keep_answer(
                question(text=text), Answer(Status.UNDECIDED, proven=False, layout=None)
            )
            store.remark(7 + number, "a long note " * 20)
        store.keep_answer(question(), Answer(Status.IMPOSSIBLE, True, None), "many words " * 20)
    out = gatefit("library", "list").out
    assert max(map(len, out.split("\n"))) <= 80
    blocks: list[list[str]] = []
    for line in out.split("\n")[1:-2]:
        if line.startswith(" "):
            blocks[-1].append(line)
        else:
            blocks.append([line.partition(" ")[2]])
    assert len(blocks) == 9
    assert len({"\n".join(block) for block in blocks}) == 9
