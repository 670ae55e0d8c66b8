"""``gatefit frontier``: what it prints and writes, how it ends, and what it refuses."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

import synth.search.frontier.frontier
from synth.layout import Layout
from synth.search import Outcome, Status
from synth.simulator import check
from synth.spec import Spec
from tests.cli.conftest import NOT_GATE, Run
from tests.waiting import GUARD_S

COMMAND = [sys.executable, "-m", "synth.cli.main"]
ROOT = Path(synth.search.__file__).parents[2]
SMALL = ["q = ~a", "--length", "2", "--width", "1", "--height", "2", "--delay", "2"]
QUIET = ["--quiet", "--workers", "1"]


def test_table_layouts_and_pictures(gatefit: Run, tmp_path: Path) -> None:
    ended = gatefit(
        "frontier", *SMALL, "-o", "gates", "--plot", "a.svg", "--plot", "a.png", "--workers", "1"
    )
    assert ended.code == 0
    assert "Complete: the least delay is 1" in ended.out
    assert "delay-1.json" in ended.out
    assert "2 layouts" not in ended.err
    assert "gatefit: 1 layout and frontier.json written to gates" in ended.err
    assert "floor for delay at most 2" in ended.err
    document = json.loads((tmp_path / "gates" / "frontier.json").read_text(encoding="utf-8"))
    assert document["format"] == "gatefit-frontier"
    files = {step["file"] for step in document["steps"] if step["file"]}
    assert files == {"delay-1.json"}
    spec = Spec.parse("q = ~a", delay=1)
    for name in files:
        assert check(Layout.load(tmp_path / "gates" / name), spec).passes
    assert (tmp_path / "a.svg").read_text(encoding="utf-8").startswith("<?xml")
    assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")


def test_json_is_the_document_and_nothing_else(gatefit: Run) -> None:
    ended = gatefit("frontier", *SMALL, "--json", *QUIET)
    assert ended.err == ""
    assert ended.document["status"] == "found"
    assert [(step["from"], step["to"], step["status"]) for step in ended.document["steps"]] == [
        (0, 0, "none"),
        (1, 2, "smallest"),
    ]


def test_other_axes(gatefit: Run) -> None:
    ended = gatefit("frontier", *SMALL, "--axes", "parts,volume", "--json", *QUIET)
    assert ended.document["axes"] == ["parts", "volume"]
    again = gatefit("frontier", *SMALL, "--axes", "parts", "--axes", "volume", "--json", *QUIET)
    assert again.document["steps"] == ended.document["steps"]


def test_what_the_store_knows_is_not_asked_again(gatefit: Run) -> None:
    first = gatefit("frontier", *SMALL, "--store", "s.sqlite", "--json", *QUIET).document
    second = gatefit("frontier", *SMALL, "--store", "s.sqlite", "--json", *QUIET).document
    assert first["stats"]["questions"] > 0
    assert second["stats"]["questions"] == 0
    assert second["stats"]["remembered"] == second["stats"]["searches"]
    assert second["steps"] == first["steps"]
    listed = gatefit("library", "list", "--store", "s.sqlite")
    assert listed.code == 0
    assert "~" in listed.out
    told = gatefit("frontier", *SMALL, "--store", "s.sqlite")
    assert "found: the answer was in the store" in told.err


def test_impossible_and_undecided(gatefit: Run) -> None:
    none = gatefit("frontier", *SMALL[:-1], "0", *QUIET)
    assert none.code == 1
    assert none.out == "q = ~a: IMPOSSIBLE\n"
    late = gatefit(
        "frontier",
        "q = a ^ b ^ c ^ d",
        "--delay",
        "3",
        "--time-limit",
        "0.2",
        "--plot",
        "x.svg",
        "--workers",
        "1",
    )
    assert late.code == 3
    assert "UNDECIDED for delay" in late.out
    assert "Assumed: length at most 6 cells" in late.out


def test_refused_is_kept_for_the_report(gatefit: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    refused = Outcome(Status.REFUSED, NOT_GATE, reason="the simulator rejects it")
    monkeypatch.setattr(
        synth.search.frontier.frontier, "search", lambda problem, settings, **options: refused
    )
    ended = gatefit("frontier", *SMALL, *QUIET)
    assert ended.code == 4
    assert "REFUSED" in ended.err
    assert Layout.load("gatefit-refused.json") == NOT_GATE


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--axes", "floor"], "--axes: the axes floor: two different measures are needed"),
        (["--axes", "floor,floor"], "--axes: the axes floor, floor: two different"),
        (["--axes", "floor,dealy"], "--axes: no measure 'dealy'; did you mean delay?"),
        (["--axes", "a,b,c"], "--axes: no measure 'a'"),
        (["--plot", "a.pdf"], "--plot: the ending of 'a.pdf' is not that of a picture"),
        (["--plot", "no/where/a.svg"], "--plot: cannot write 'no/where/a.svg'"),
        (["-o", "no/where"], "--output: cannot write to the folder 'no/where'"),
        (["--time-limit", "0"], "--time-limit: a time limit of 0 seconds"),
        (["--solver", "nobody"], "--solver"),
        (["--prefer", "wire"], "--prefer"),
        (["--store", "plain.txt"], "plain.txt"),
        (["--rules", "missing.toml"], "missing.toml: no such file"),
    ],
)
def test_bad_input_is_one_line(
    gatefit: Run, tmp_path: Path, options: list[str], words: str
) -> None:
    (tmp_path / "plain.txt").write_text("no store\n" * 99, encoding="utf-8")
    ended = gatefit("frontier", *SMALL, *options, *QUIET)
    assert ended.code == 2
    assert words in ended.err
    assert ended.err.count("\n") == 1
    assert ended.out == ""
    assert [path.name for path in tmp_path.iterdir()] == ["plain.txt"]


def test_cells_given_leave_no_other_box(gatefit: Run, tmp_path: Path) -> None:
    (tmp_path / "cells.toml").write_text(
        'inputs = ["a"]\n[outputs]\nq = "~a"\n[limits]\nlength = 2\nwidth = 1\nheight = 2\n'
        "[cells]\nempty = [[0, 0, 0]]\n",
        encoding="utf-8",
    )
    ended = gatefit("frontier", "cells.toml", "--axes", "height,length")
    assert ended.code == 2
    assert "--axes: the specification names cells, so there is only one length" in ended.err


@pytest.mark.parametrize(("sent", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_stopped_it_saves_what_there_is(sent: signal.Signals, code: int, tmp_path: Path) -> None:
    limits = ["--length", "6", "--width", "4", "--height", "5", "--delay", "3"]
    targets = ["-o", "gates", "--plot", "x.svg", "--store", "s.sqlite"]
    process = subprocess.Popen(
        [*COMMAND, "frontier", "q = a ^ b ^ c ^ d", *limits, *targets, "--workers", "1"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
    )
    assert process.stderr is not None
    while "impossible" not in process.stderr.readline():
        assert process.poll() is None
    process.send_signal(sent)
    out, err = process.communicate(timeout=GUARD_S)
    assert process.returncode == code, err
    assert "Traceback" not in err
    assert out == ""
    assert "written to gates, as far as it is known" in err
    assert "plot written to x.svg, as far as it is known" in err
    document = json.loads((tmp_path / "gates" / "frontier.json").read_text(encoding="utf-8"))
    assert (document["status"], document["complete"]) == ("undecided", False)
    assert (tmp_path / "x.svg").read_bytes().rstrip().endswith(b"</svg>")
    # And the store has the boxes that were ruled out.
    from synth.library import Store
    from synth.questions.problem import Problem

    with Store(tmp_path / "s.sqlite") as store:
        assert store.recall_boxes(Problem(Spec.parse("q = a ^ b ^ c ^ d")))
