"""``gatefit library site``: a store becomes pages, whole or not at all."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from synth.library import Store
from synth.questions.problem import Problem
from synth.search.walk.solve import solve
from synth.spec import Spec
from tests.cli.conftest import Run


@pytest.fixture
def store(tmp_path: Path) -> Path:
    path = tmp_path / "gatefit.sqlite"
    spec = Spec.parse("q = a | b", length=1, width=1, height=2, delay=1).replace(name="or2")
    with Store(path) as opened:
        opened.keep(Problem(spec, ("volume",)), solve(spec, workers=1))
    return path


def test_a_store_becomes_pages(gatefit: Run, store: Path, tmp_path: Path) -> None:
    ended = gatefit("library", "site", "gates", "--title", "Small gates")
    assert (ended.code, ended.err) == (0, "")
    assert ended.out == "gates/index.html: 1 gate, 1 layout; open it in a browser\n"
    index = (tmp_path / "gates" / "index.html").read_text(encoding="utf-8")
    assert "<h1>Small gates</h1>" in index
    assert 'href="gates/2-0111.html"' in index
    # Again, over the earlier one.
    assert gatefit("library", "site", "gates").code == 0
    assert "<h1>Gates</h1>" in (tmp_path / "gates" / "index.html").read_text(encoding="utf-8")


def test_a_layout_that_the_simulator_rejects_leaves_no_pages(
    gatefit: Run, store: Path, tmp_path: Path
) -> None:
    with Store(store) as opened:
        (text,) = opened.connection.execute("SELECT layout FROM layouts").fetchone()
        document = json.loads(text)
        document["parts"] = document["parts"][1:]
        opened.connection.execute("UPDATE layouts SET layout = ?", (json.dumps(document),))
    ended = gatefit("library", "site", "gates")
    assert ended.code == 2
    assert ended.out == ""
    assert "does not pass the simulator" in ended.err
    assert [path.name for path in tmp_path.iterdir()] == ["gatefit.sqlite"]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["gates", "--store", "none.sqlite"], ("none.sqlite", "no such store")),
        (["full"], ("full", "and no catalogue", "name a new or empty folder")),
        (["nowhere/gates"], ("nowhere/gates", "no folder to put it in")),
        (["full/letter.txt"], ("letter.txt", "is a file")),
        (["gates", "--title", "a\nb"], ("--title", "one line")),
        ([], ("FOLDER",)),
    ],
)
def test_what_cannot_be_done_is_one_error(
    gatefit: Run, store: Path, tmp_path: Path, options: list[str], words: tuple[str, ...]
) -> None:
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("mine", encoding="utf-8")
    ended = gatefit("library", "site", *options)
    assert ended.code == 2
    assert ended.out == ""
    assert len(ended.err.splitlines()) == 1
    assert all(word in ended.err for word in words)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["full", "gatefit.sqlite"]
    assert [path.name for path in (tmp_path / "full").iterdir()] == ["letter.txt"]
