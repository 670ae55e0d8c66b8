"""Benchmarks: table, modules, records and their page tell the same, and ages are what git says."""

from __future__ import annotations

import json
import platform
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from benchmarks import __main__ as listing
from benchmarks import record, two_input_gates
from benchmarks.ages import NAMED, Age, age_of
from benchmarks.table import BENCHMARKS, RECORDS, Benchmark
from synth.search.workers.solvers import DEFAULT_SOLVER, SOLVERS

FOLDER = RECORDS.parent
ROOT = FOLDER.parent
TOOLS = {"__init__", "__main__", "ages", "asking", "record", "singly", "table"}
MODULES = sorted(path.stem for path in FOLDER.glob("*.py") if path.stem not in TOOLS)


def test_every_record_has_a_line_in_the_table() -> None:
    told = [name for line in BENCHMARKS for name in (line.record, *line.beside) if name]
    assert len(told) == len(set(told))
    assert {path.name for path in RECORDS.iterdir()} <= set(told)


@pytest.mark.parametrize("name", MODULES)
def test_every_module_has_a_line_and_keeps_a_record(name: str) -> None:
    command = f"python -m benchmarks.{name}"
    assert any(f"{line.command} ".startswith(f"{command} ") for line in BENCHMARKS)
    text = (FOLDER / f"{name}.py").read_text(encoding="utf-8")
    assert '"--record"' in text
    assert "keep(" in text
    assert command in (FOLDER / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("line", BENCHMARKS, ids=lambda line: line.command)
def test_what_a_record_rests_on_is_there(line: Benchmark) -> None:
    for path in line.rests_on:
        assert (ROOT / path).exists(), path


def test_records_that_name_their_commit_name_the_rest() -> None:
    """Those from before records did so are listed with what they lack."""
    for line in BENCHMARKS:
        path = RECORDS / (line.record or "none")
        if path.is_file():
            document = json.loads(path.read_text(encoding="utf-8"))
            if "commit" in document:
                assert [name for name in NAMED if document.get(name) is None] == [], path.name
                known = document["solver"].split(", ")
                assert set(known) <= {*SOLVERS, "none"}, path.name


def test_a_benchmark_writes_what_it_was_measured_on(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    limits = {"length": 1, "width": 2, "height": 2, "stack": "y"}
    monkeypatch.setattr(two_input_gates, "LIMITS", limits)
    words = ["--delays", "1", "--joints=wire", "--gates", "or", "--workers", "1"]
    path = tmp_path / "gates.json"
    monkeypatch.setattr(sys, "argv", ["two_input_gates.py", *words, "--record", str(path)])
    two_input_gates.main()
    text = path.read_text(encoding="utf-8")
    document = json.loads(text)
    missing = {name for name in NAMED if document[name] is None}
    # The checkout may be a copy without its history.
    assert missing <= {"commit"}
    assert document["solver"] == DEFAULT_SOLVER
    assert document["command"].endswith(" ".join(words))
    assert document["limits"] == limits
    for secret in filter(None, (str(tmp_path), str(ROOT), platform.node())):
        assert secret not in text


@pytest.mark.parametrize(
    "words",
    [
        ["--each", "--record", "a/b.json"],
        ["--record=a/b.json", "--each", "--atlas", "c", "--against", "d"],
        ["--layouts", "a", "--each", "--output=b", "--plot", "c", "--from", "d"],
    ],
)
def test_a_command_names_no_place(words: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "argv", ["a/suite.py", *words])
    monkeypatch.setattr(sys.modules["__main__"], "__spec__", None)
    assert record.command() == "python -m suite --each"


# Ages, in a history of the test's own

LINE = Benchmark("speed.json", "python -m benchmarks.speed", "speed", "a minute", ("synth/fast",))


@pytest.fixture
def history(tmp_path: Path) -> Callable[..., str]:
    """``history("synth/fast/a.py", "text")`` commits a file, and gives the commit."""
    who = ["-c", "user.name=nobody", "-c", "user.email=nobody@localhost"]

    def commit(name: str, text: str) -> str:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        for words in (["add", "-A"], [*who, "commit", "-qm", "A commit"]):
            subprocess.run(["git", *words], cwd=tmp_path, check=True)
        return record.git("rev-parse", "HEAD", root=tmp_path) or ""

    subprocess.run(["git", "init", "-q"], cwd=tmp_path, check=True)
    return commit


def aged(tmp_path: Path, commit: Any, **more: Any) -> Age:
    values = {"date": "2001-01-01", "commit": commit, "solver": "this", **more}
    document = {**dict.fromkeys(NAMED, "x"), **values}
    (tmp_path / "speed.json").write_text(json.dumps(document), encoding="utf-8")
    return age_of(LINE, tmp_path, "this", tmp_path)


def test_a_record_grows_old_when_what_it_measures_changes(
    history: Callable[..., str], tmp_path: Path
) -> None:
    measured = history("synth/fast/a.py", "one")
    assert aged(tmp_path, measured) == Age("2001-01-01", measured, 0)
    history("synth/slow/a.py", "one")
    assert aged(tmp_path, measured) == Age("2001-01-01", measured, 1)
    history("synth/fast/a.py", "two")
    history("synth/fast/a.py", "three")
    old = aged(tmp_path, measured)
    assert (old.commits, old.old) == (3, ("synth/fast changed since (2 commits)",))
    assert aged(tmp_path, measured, solver="that").old[-1] == "the default solver is now this"
    assert aged(tmp_path, measured, changed=True).old[0].startswith("measured with changes")
    assert aged(tmp_path, "f" * 40).old == ("this history does not have its commit",)


def test_a_record_without_a_commit_is_as_old_as_its_file(
    history: Callable[..., str], tmp_path: Path
) -> None:
    history("synth/solvers.py", 'DEFAULT_SOLVER = "this"\n')
    document = json.dumps({"date": "2001-01-01", "python": "3"})
    kept = history("speed.json", document)
    age = age_of(LINE, tmp_path, "this", tmp_path)
    assert (age.commit, age.commits, age.old) == (kept, 0, ())
    assert set(age.lacks) == set(NAMED) - {"python"}
    history("synth/solvers.py", 'DEFAULT_SOLVER = "that"\n')
    age = age_of(LINE, tmp_path, "that", tmp_path)
    assert (age.commits, age.old) == (1, ("the default solver is now that",))


def test_what_was_never_measured_is_old(tmp_path: Path) -> None:
    assert age_of(LINE, tmp_path, "this", tmp_path) == Age(
        "never", old=("nothing was recorded yet",)
    )


def test_the_list_shows_every_benchmark_and_what_renews_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    ages = [Age("2001-01-01", "a" * 40, 3, ("x changed since (1 commit)",), ("solver",))]
    ages += [Age("2001-01-01", "b" * 40, 0)] * (len(BENCHMARKS) - 1)
    for words, count in (([], len(BENCHMARKS)), (["--old"], 1)):
        given = iter(ages)
        monkeypatch.setattr(listing, "age_of", lambda *_, given=given: next(given))
        monkeypatch.setattr(sys, "argv", ["benchmarks", *words])
        listing.main()
        out = capsys.readouterr().out
        assert out.count("        python -m benchmarks.") == count
        assert f"{BENCHMARKS[0].record}: 2001-01-01, aaaaaaa, 3 commits ago, OLD" in out
        assert "because: x changed since (1 commit)" in out
        assert "does not name: solver" in out
        assert BENCHMARKS[0].renew in out
        assert out.endswith(f"{len(BENCHMARKS)} benchmarks, 1 with an old record\n")
