"""Layouts beyond the limits as people see them: told apart from answers in every command."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from synth.layout import Layout
from synth.library import Store
from synth.library.beyond import Beyond
from tests.cli.conftest import Run
from tests.library.answers import best_so_far
from tests.library.test_beyond import asked, inverter

WITHIN = ("q = ~a", "--length", "1", "--width", "1", "--height", "1", "--delay", "1")
WIDER = ("q = ~a", "--length", "1", "--width", "1", "--height", "3", "--delay", "1")


@pytest.fixture
def library(gatefit: Run, tmp_path: Path) -> Run:
    """``library("list")`` beside a store of one open question with a layout beyond its limits."""
    with Store(tmp_path / "gatefit.sqlite") as store:
        store.keep_answer(asked(), best_so_far(None, 1), "inverter")
        store.keep_beyond(asked(), Beyond(inverter(3), 1, 2.0))

    def run(*arguments: str) -> object:
        return gatefit("library", *arguments)

    return run  # type: ignore[return-value]


def test_list_names_it_below_the_entry(library: Run) -> None:
    lines = library("list").out.splitlines()
    assert lines[1].split()[-4:] == ["-", "open,", ">=", "1"]
    assert lines[2].strip() == "beyond the limits: 1x1x3 in 1, 3 cells"
    assert library("list", "--volume", "9").out.splitlines()[-1] == "0 of 1 entries"
    (entry,) = json.loads(library("list", "--json").out)["entries"]
    assert entry["volume"] is None
    assert entry["beyond"]["volume"] == 3


def test_show_draws_it_and_says_what_it_is(library: Run) -> None:
    text = " ".join(library("show", "1").out.split())
    assert "no layout is known within length 1, width 1 and height 1" in text
    assert "in 1 x 1 x 3: 3 cells, 1 tick. It is no answer" in text
    assert "##" in text
    document = json.loads(library("show", "1", "--json").out)
    assert document["layout"] is None
    assert Layout.from_document(document["beyond"]).size == (1, 1, 3)
    assert document["let_go"] == ["length", "width", "height"]


def test_find_names_it_and_still_has_no_answer(library: Run) -> None:
    done = library("find", *WITHIN, "--joint", "wire")
    assert done.code == 1
    said = " ".join(done.out.split())
    assert "Beyond these limits there is one: 1x1x3 in 1, 3 cells" in said
    assert "'gatefit library show 1' shows it" in said
    document = json.loads(library("find", *WITHIN, "--json").out)
    assert document["matches"] == []
    assert document["beyond"]["number"] == 1


def test_find_gives_it_where_its_room_is_allowed(library: Run, tmp_path: Path) -> None:
    done = library("find", *WIDER, "-o", "found.json")
    assert done.code == 0
    assert "beyond the limits of their own questions, not of this: 1" in done.out
    assert Layout.load(tmp_path / "found.json").size == (1, 1, 3)
    (match,) = json.loads(library("find", *WIDER, "--json").out)["matches"]
    assert match["beyond"] is True


def test_export_keeps_it_apart(library: Run, tmp_path: Path) -> None:
    said = library("export", "out").out
    assert "1 entry, 0 layouts, 1 beyond the limits of their questions" in said
    (entry,) = json.loads((tmp_path / "out" / "index.json").read_text())["entries"]
    assert (entry["file"], entry["beyond_file"]) == (None, "0001-inverter-beyond.json")
    assert Layout.load(tmp_path / "out" / "0001-inverter-beyond.json").size == (1, 1, 3)


def test_verify_and_merge_count_it(library: Run) -> None:
    assert "1 layout played (1 beyond the limits)" in library("verify").out
    done = library("merge", "gatefit.sqlite", "--store", "other.sqlite")
    assert "1 added, 0 improved, 0 unchanged, 1 beyond the limits taken" in done.out


def test_build_says_how_many_have_only_that(library: Run, tmp_path: Path) -> None:
    recipe = tmp_path / "recipe.toml"
    recipe.write_text(
        'functions.tables = ["10"]\n[time]\nfirst = 0.1\nmost = 0.1\n'
        "[[asks]]\ndelays = [1]\nlength = 1\nwidth = 1\nheight = 1\n"
    )
    done = library("build", "recipe.toml", "--only-beyond", "--workers", "1")
    assert done.code == 3
    assert "1 undecided, 1 of them with a layout beyond their limits" in done.out
