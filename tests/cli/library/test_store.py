"""``gatefit library``: list, show, find, export, merge and verify, as people type them."""

from __future__ import annotations

import inspect
import json
import os
import shlex
import shutil
import sqlite3
from pathlib import Path

import click
import pytest

from synth.cli.library.group import library_command
from synth.layout import Layout
from synth.library import Store
from synth.questions.outcome import Outcome
from synth.questions.problem import Problem
from synth.simulator import check
from synth.spec import Spec
from tests.cli.conftest import Run
from tests.library.answers import VOLUME, best_so_far, pins_asked, question, solved

COMMANDS = sorted(library_command.commands)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of four entries: two found, one impossible, one undecided."""
    path = tmp_path_factory.mktemp("store") / "gatefit.sqlite"
    with Store(path) as store:
        store.keep(*asked_for(0), name="and with one not")
        store.keep(*asked_for(1))
        store.keep(*asked_for(2), name="exclusive-or")
        store.keep_answer(question(text="q = a | b"), best_so_far(None, 3), "or")
    return path


def asked_for(index: int) -> tuple[Problem, Outcome]:
    kept = (solved(), pins_asked(), solved("q = a ^ b", length=1, width=1, height=2))
    spec, outcome = kept[index]
    return Problem(spec, VOLUME), outcome


@pytest.fixture
def library(gatefit: Run, made: Path, tmp_path: Path) -> Run:
    """``library("list")`` beside a copy of the store."""
    shutil.copy(made, tmp_path / "gatefit.sqlite")

    def run(*arguments: str) -> object:
        return gatefit("library", *arguments)

    return run  # type: ignore[return-value]


# Help


@pytest.mark.parametrize("command", COMMANDS)
def test_help_runs_and_has_examples(command: str, gatefit: Run) -> None:
    ended = gatefit("library", command, "--help")
    assert (ended.code, ended.err) == (0, "")
    assert "Examples:" in ended.out
    assert max(map(len, ended.out.split("\n"))) <= 80


def examples() -> list[str]:
    texts = [inspect.cleandoc(one.help or "") for one in library_command.commands.values()]
    lines = [line.strip() for text in texts for line in text.split("\n")]
    return sorted({line for line in lines if line.startswith("gatefit library")})


@pytest.mark.parametrize("example", examples())
def test_examples_can_be_parsed(example: str) -> None:
    _, _, name, *words = shlex.split(example)
    command = library_command.commands[name]
    command.make_context(name, words, parent=click.Context(library_command))


def test_a_typo_is_guessed_at(gatefit: Run) -> None:
    ended = gatefit("library", "lits")
    assert ended.code == 2
    assert "did you mean 'list'?" in ended.err


# List and show


def test_list_is_a_line_an_entry(library: Run) -> None:
    ended = library("list")
    assert ended.code == 0
    head, *rows, total = ended.out.rstrip().split("\n")
    assert head.split()[:3] == ["no.", "function", "stack"]
    rows = [row for row in rows if not row.startswith(" ")]
    assert len(rows) == 4
    assert total == "4 of 4 entries"
    (row,) = (row for row in rows if "exclusive-or" in row)
    assert "1x1x2 in 2" in row
    assert row.endswith("impossible")
    (row,) = (row for row in rows if " or " in row)
    assert row.endswith("open, >= 3")


def test_list_takes_filters(library: Run) -> None:
    for options, count in (
        (("--arity", "3"), 1),
        (("--arity", "2"), 3),
        (("--status", "impossible"), 1),
        (("--proven",), 3),
        (("--unproven",), 1),
        (("--text", "NOT"), 1),
        (("--stack", "none"), 4),
        (("--stack", "y"), 0),
        (("--joint", "mixed"), 1),
        (("--volume", "6"), 2),
        (("--volume", "5"), 1),
        (("--delay", "0"), 0),
        (("--delay-asked", "2", "--outputs", "1"), 4),
    ):
        ended = library("list", *options)
        assert ended.code == 0
        assert ended.out.endswith(f"{count} of 4 entries\n"), options


def test_list_as_a_document(library: Run) -> None:
    document = library("list", "--json", "--arity", "2").document
    assert (document["format"], document["version"]) == ("gatefit-library-list", 1)
    assert [entry["status"] for entry in document["entries"]] == [
        "found",
        "impossible",
        "undecided",
    ]


def test_show_tells_question_layout_and_claim(library: Run) -> None:
    ended = library("show", "1")
    assert ended.code == 0
    assert 'table = ["00 0", "01 0", "10 1", "11 0"]' in ended.out
    assert "Pins" in ended.out
    assert "Entry 1, and with one not: found." in ended.out
    assert "Claim: smallest by volume 6" in ended.out
    assert "Proof: answers of glucose42, no proof kept" in ended.out
    assert "no layout of volume below 3" in library("show", "4").out


def test_show_as_a_document(library: Run) -> None:
    document = library("show", "1", "--json").document
    layout = Layout.from_document(document["layout"])
    assert check(layout, Spec.parse("y1 = x1 & ~x2", delay=2)).passes
    assert document["entry"]["volume"] == layout.volume
    assert document["asked"]["minimize"] == ["volume"]
    assert library("show", "3", "--json").document["layout"] is None


# Find


def test_find_gives_the_answer_with_its_claim(library: Run) -> None:
    limits = ("--length", "3", "--width", "2", "--height", "3", "--delay", "2")
    ended = library("find", "z = ~p & r", *limits)
    assert ended.code == 0
    assert "FOUND" in ended.out.upper()
    assert "smallest by volume 6" in " ".join(ended.out.split())


def test_find_by_other_limits_writes_the_layout_with_the_names_asked(
    library: Run, tmp_path: Path
) -> None:
    ended = library("find", "z = ~p & r", "--delay", "4", "-o", "z.json")
    assert ended.code == 0
    assert "never searched with these limits" in ended.out
    assert "layout of entry 1 written to z.json" in ended.err
    layout = Layout.load(tmp_path / "z.json")
    assert check(layout, Spec.parse("z = ~p & r", delay=4)).passes


def test_find_knows_of_an_impossible_one(library: Run) -> None:
    limits = ("--length", "1", "--width", "1", "--height", "2", "--delay", "2")
    ended = library("find", "q = b ^ a", *limits)
    assert ended.code == 0
    assert "IMPOSSIBLE. no layout under" in " ".join(ended.out.split())


def test_find_draws_on_wider_limits(library: Run) -> None:
    limits = ("--length", "1", "--width", "1", "--height", "1", "--delay", "2")
    ended = library("find", "q = b ^ a", *limits)
    assert ended.code == 0
    said = " ".join(ended.out.split())
    assert "IMPOSSIBLE. This follows from entry 3, which answers the same question" in said
    limits = ("--length", "2", "--width", "1", "--height", "3", "--delay", "2")
    said = " ".join(library("find", "q = a & ~b", *limits).out.split())
    assert "This follows from entry 1" in said
    document = library("find", "q = a & ~b", *limits, "--json").document
    assert document["implied_by"]["number"] == 1


def test_find_nothing(library: Run, tmp_path: Path) -> None:
    ended = library("find", "q = a ^ b ^ c", "-o", "x.json")
    assert ended.code == 1
    assert ended.out == (
        "q = a ^ b ^ c: nothing known.\nAssumed: wire joints. Options say otherwise.\n"
    )
    assert not (tmp_path / "x.json").exists()
    ended = library("find", "q = a & ~b", "--volume", "3")
    assert ended.code == 1
    assert "Entry 1 has the same function" in ended.out


def test_find_as_a_document(library: Run) -> None:
    document = library("find", "q = a & ~b", "--delay", "2", "--json").document
    (match,) = document["matches"]
    assert document["answer"] is None
    assert match["entry"]["number"] == 1
    assert match["verdict"]["delay"] <= 2


# Export


def test_export_writes_layouts_and_an_index(library: Run, tmp_path: Path) -> None:
    ended = library("export", "out")
    assert (ended.code, ended.out) == (0, "out/index.json: 4 entries, 2 layouts\n")
    index = json.loads((tmp_path / "out" / "index.json").read_text())
    files = {item["file"] for item in index["entries"]} - {None}
    assert files == {"0001-and-with-one-not.json", "0002.json"}
    assert {path.name for path in (tmp_path / "out").iterdir()} == files | {"index.json"}
    for item in index["entries"]:
        if item["file"]:
            layout = Layout.load(tmp_path / "out" / item["file"])
            assert layout.volume == item["entry"]["volume"]
    assert library("export", "out", "--arity", "3").code == 0
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"0002.json", "index.json"}


def test_export_leaves_other_folders_alone(library: Run, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("dear")
    ended = library("export", "mine")
    assert ended.code == 2
    assert "mine: holds files, and no export" in ended.err
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["letter.txt"]


# Merge and verify


def test_merge_and_verify(library: Run, tmp_path: Path) -> None:
    ended = library("merge", "gatefit.sqlite", "--store", "new.sqlite")
    assert ended.code == 0
    assert "4 added, 0 improved, 0 unchanged, 0 refused; 4 entries now" in ended.out
    assert "3 of these have no certificate" in ended.out
    document = library("merge", "gatefit.sqlite", "--store", "new.sqlite", "--json").document
    assert (document["taken"], document["kept"], document["refused"]) == (0, 4, [])
    ended = library("verify", "--store", "new.sqlite")
    assert ended.code == 0
    assert "4 entries, 2 layouts played" in ended.out
    assert "nothing is wrong" in ended.out


def spoil(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE layouts SET layout = replace(layout, 'solid', 'clear')")
    connection.close()


def test_what_is_spoilt_is_refused_shown_and_never_handed_out(library: Run, tmp_path: Path) -> None:
    spoil(tmp_path / "gatefit.sqlite")
    ended = library("merge", "gatefit.sqlite", "--store", "new.sqlite")
    assert ended.code == 1
    assert "2 added" in ended.out
    assert "2 refused" in ended.out
    assert "refused, entry 1 of gatefit.sqlite: its layout does not pass" in ended.out
    ended = library("verify")
    assert ended.code == 1
    assert "WRONG, entry 1: its layout does not pass the simulator" in ended.out
    assert library("verify", "--json").document["passes"] is False
    for command in (("show", "1"), ("export", "out")):
        ended = library(*command)
        assert ended.code == 2
        assert "does not pass the simulator" in ended.err
        assert ended.err.count("\n") == 1
    assert not (tmp_path / "out").exists()


# What cannot be used


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("list",), "no such store"),
        (("list", "--store", "no/where.sqlite"), "no such store"),
        (("list", "--store", "notes.txt"), "this is no store of gatefit"),
        (("show", "1", "--store", "notes.txt"), "this is no store of gatefit"),
        (("merge", "notes.txt"), "this is no store of gatefit"),
        (("merge", "none.sqlite"), "no such store"),
        (("verify",), "no such store"),
        (("find", "q = a"), "no such store"),
        (("export", "out"), "no such store"),
        (("find", "q = a +"), "'+' is not used here"),
        (("find", "q = a", "--delay", "-1"), "--delay"),
        (("find", "q = a", "--minimize", "beauty"), "no measure 'beauty'"),
        (("list", "--arity", "few"), "--arity: 'few' is no whole number; use a whole number"),
        (("list", "--inputs", "2"), "use --arity for the number of inputs"),
        (("export", "out", "--inputs", "2"), "use --arity for the number of inputs"),
        (("list", "--stack", "w"), "'w' is not one of"),
        (("show", "zero"), "NUMBER: 'zero' is no whole number"),
    ],
)
def test_bad_input_is_one_line(
    gatefit: Run, tmp_path: Path, arguments: tuple[str, ...], said: str
) -> None:
    (tmp_path / "notes.txt").write_text("apples\n" * 300)
    ended = gatefit("library", *arguments)
    assert ended.code == 2
    assert said in ended.err
    assert ended.err.startswith("gatefit: ")
    assert "Traceback" not in ended.err
    assert ended.out == ""
    assert {path.name for path in tmp_path.iterdir()} <= {"notes.txt", "gatefit.sqlite"}


def test_show_no_such_entry(library: Run) -> None:
    ended = library("show", "77")
    assert ended.code == 2
    assert "no entry 77" in ended.err


def test_the_store_is_named_by_option_or_variable(
    library: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    os.rename(tmp_path / "gatefit.sqlite", tmp_path / "mine.sqlite")
    assert library("list", "--store", "mine.sqlite").code == 0
    assert library("list").code == 2
    monkeypatch.setenv("GATEFIT_STORE", "mine.sqlite")
    assert library("list").code == 0
