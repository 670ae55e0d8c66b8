"""``gatefit census``: what it prints and writes, how it ends, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from synth.layout import Layout
from synth.search.workers import cluster
from synth.simulator import check
from synth.spec import BooleanFunction, Spec
from tests.census.in_process import here
from tests.cli.conftest import Run

__all__ = ["here"]
pytestmark = pytest.mark.usefixtures("here")

SMALL = ["--length", "1", "--width", "2", "--height", "4", "--delay", "1", "--stack", "y"]
BUFFER = [*SMALL, "--joint", "buffer", "--workers", "1"]


def test_a_table_and_a_sentence(gatefit: Run) -> None:
    ended = gatefit("census", *BUFFER)
    assert ended.code == 0
    assert "1000   ~(a | b)  1 x 2 x 1  2       1      2      smallest" in ended.out
    assert "No layout of 4 classes that are counted" in ended.out
    assert "COMPLETE: 4 of 8 classes of functions have a layout, each its smallest" in ended.out
    assert "function 1 of 8: 1000 in 1 x 2 x 1, delay 1" in ended.err


def test_the_document(gatefit: Run, tmp_path: Path) -> None:
    ended = gatefit("census", *BUFFER, "--json", "--quiet", "-o", "census.json")
    assert ended.err == ""
    document = ended.document
    assert document == json.loads((tmp_path / "census.json").read_text(encoding="utf-8"))
    assert document["format"] == "gatefit-census"
    assert document["complete"]
    assert document["box"] is None
    assert document["delay"] == 1
    assert document["counted"] == len(document["classes"]) + len(document["without_layout"])
    for entry in document["classes"]:
        layout = Layout.from_document(entry["layout"])
        spec = Spec(BooleanFunction(("a", "b"), {"q": entry["table"]}))
        assert check(layout, spec, delay=entry["delay"]).passes
        assert entry["smallest"]


def test_one_box(gatefit: Run) -> None:
    ended = gatefit(
        "census", "--box", "1x2x4", "--delay", "1", "--stack", "y", "--joint", "buffer", "--quiet"
    )
    assert ended.code == 0
    assert ended.out.startswith("COMPLETE: 4 of 8 classes")
    assert "in the box 1 x 2 x 4" in ended.out
    assert ended.err == ""


def test_functions_that_a_file_lists(gatefit: Run, tmp_path: Path) -> None:
    (tmp_path / "wanted.txt").write_text(
        "# two of them\n1110\nq = ~(a | b)  # the other\n1-01\n", encoding="utf-8"
    )
    ended = gatefit("census", *BUFFER, "--functions", "wanted.txt", "--json", "--quiet")
    assert ended.code == 0
    assert ended.document["sought"] == ["1110", "1000", "1-01"]
    assert {entry["table"] for entry in ended.document["classes"]} >= {"1110", "1000"}


def test_stopped_and_resumed(gatefit: Run, here: type, tmp_path: Path) -> None:
    def stop(step: int) -> None:
        if step == 8:
            raise KeyboardInterrupt

    here.watch = stop
    ended = gatefit("census", *BUFFER, "--resume", "census.jsonl")
    assert ended.code == 130
    assert "functions kept; go on with --resume census.jsonl" in ended.err
    here.watch = None
    again = gatefit("census", *BUFFER, "--resume", "census.jsonl", "--quiet")
    assert again.code == 0
    assert again.out.startswith("COMPLETE: 4 of 8")


@pytest.mark.own_workers
def test_the_time_is_up(gatefit: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    ended = gatefit("census", *BUFFER, "--time-limit", "0.000001")
    assert ended.code == 3
    assert "UNDECIDED (the time was up): so far 0 of 8 classes" in ended.out
    assert "open (the first is 1 x 1 x 1, delay at most 1)" in ended.out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--box", "3x2"], "no box '3x2'"),
        (["--box", "0x2x2"], "no box '0x2x2'"),
        (
            ["--box", "3x2x2", "--length", "2"],
            "--box: the length of the box 3 x 2 x 2 is 3, the limit on it 2; leave out the limit",
        ),
        (["--box", "3x2x2", "--length", "5"], "is 3, the limit on it 5"),
        (["--box", "3x2x2", "--width", "1"], "the width of the box"),
        (["--box", "3x2x2", "--height", "3"], "the height of the box"),
        (["--box", "3x2x2", "--volume", "20"], "the volume of the box"),
        (["--inputs", "5"], "--inputs: 5 inputs"),
        (["--outputs", "0"], "--outputs: 0 outputs"),
        (["--minimize", "parts"], "--minimize: a census goes from box to box"),
        (["--functions", "none.txt"], "none.txt"),
        (["--stack", "w"], "--stack"),
        (["--stack", "y", "--input-face", "+y"], "along the stacking axis"),
    ],
)
def test_what_cannot_be_used(gatefit: Run, arguments: list[str], said: str) -> None:
    ended = gatefit("census", *arguments)
    assert ended.code == 2
    assert said in ended.err
    assert ended.out == ""


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("0110 0001", "2 outputs"),
        ("01100", "no column of 4 rows"),
        ("q = a & b & c", "has 3 inputs"),
        ("----", "asks for no value"),
        ("q = a &", "line 2"),
    ],
)
def test_lists_that_cannot_be_used(gatefit: Run, tmp_path: Path, line: str, said: str) -> None:
    (tmp_path / "wanted.txt").write_text(f"0110\n{line}\n", encoding="utf-8")
    ended = gatefit("census", "--functions", "wanted.txt")
    assert ended.code == 2
    assert "wanted.txt: line 2" in ended.err
    assert said in ended.err


def test_certificate_and_its_audit(gatefit: Run) -> None:
    ended = gatefit("census", *BUFFER, "--certificate", "proof")
    assert ended.code == 0
    assert "certificate written to proof; check it with: gatefit audit proof" in ended.err
    audited = gatefit("audit", "proof", "--workers", "1")
    assert audited.code == 0
    assert "Each of 4 classes has its layout" in audited.out
    assert "all that is claimed is certain" in audited.out


def test_certificate_of_a_solver_whose_proofs_do_not_hold(gatefit: Run) -> None:
    ended = gatefit("census", *BUFFER, "--certificate", "proof", "--solver", "cadical195")
    assert ended.code == 2
    assert "--solver: cadical195 writes no proofs that hold for a census" in ended.err


def test_store_serves_what_a_census_found(gatefit: Run) -> None:
    kept = gatefit("census", *BUFFER, "--store", "gates.sqlite")
    assert "kept in the store gates.sqlite: 8 new answers" in kept.err
    again = gatefit("census", *BUFFER, "--store", "gates.sqlite")
    assert again.out.partition("COMPLETE")[2] == kept.out.partition("COMPLETE")[2]
    assert "8 that could hold nothing new" in again.out
    assert "kept in the store gates.sqlite: 0 new answers" in again.err
    solved = gatefit(
        "solve", "q = ~(c | d)", *SMALL, "--joint", "buffer", "--store", "gates.sqlite"
    )
    assert solved.code == 0
    assert "nothing was searched" in solved.out
    find = ("library", "find", "--store", "gates.sqlite", "--fits")
    fits = gatefit(*find, "1x2x3", "--delay", "1")
    assert fits.code == 0
    assert "3 layouts of different functions fit 1 x 2 x 3 within 1 tick." in fits.out
    document = gatefit(*find, "1x2x4", "--most", "2", "--json").document
    assert [entry["volume"] for entry in document["entries"]] == [2, 3]
    assert gatefit(*find, "1x1x1").code == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "one of SPEC and --fits is needed"),
        (["q = a", "--fits", "1x1x1"], "one of SPEC and --fits is needed"),
        (["--fits", "1x1"], "--fits: no box '1x1'"),
        (["--fits", "1x1x1", "--ground"], "--ground: it says nothing of what fits"),
    ],
)
def test_what_fits_cannot_be_asked(gatefit: Run, arguments: list[str], said: str) -> None:
    gatefit("census", *BUFFER[:-2], "--store", "gates.sqlite", "--time-limit", "60")
    ended = gatefit("library", "find", "--store", "gates.sqlite", *arguments)
    assert ended.code == 2
    assert said in ended.err


def test_posters_are_drawn(gatefit: Run, tmp_path: Path) -> None:
    ended = gatefit("census", *BUFFER, "--poster", "atlas.svg", "--poster", "atlas.png")
    assert ended.code == 0
    assert "poster written to atlas.svg" in ended.err
    assert (tmp_path / "atlas.svg").read_text(encoding="utf-8").startswith("<?xml")
    assert (tmp_path / "atlas.png").read_bytes().startswith(b"\x89PNG")
    refused = gatefit("census", *BUFFER, "--poster", "atlas.jpg")
    assert refused.code == 2
    assert "--poster: the ending of 'atlas.jpg' is not that of a picture" in refused.err


def test_a_cluster_that_does_not_answer_is_refused(
    gatefit: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")
    monkeypatch.setattr(cluster, "CONNECT_S", 0.5)
    ended = gatefit("census", "--cluster", "tcp://127.0.0.1:9")
    assert ended.code == 2
    assert "--cluster: no scheduler answers at 'tcp://127.0.0.1:9'" in ended.err


@pytest.mark.parametrize(
    ("option", "message"),
    [
        ("--workers=2", "--workers has no effect with --cluster"),
        ("--certificate=proof", "the proofs would be written on the machines of the cluster"),
    ],
)
def test_what_a_cluster_cannot_do_is_refused(
    gatefit: Run, tmp_path: Path, option: str, message: str
) -> None:
    ended = gatefit("census", "--cluster=tcp://127.0.0.1:9", option)
    assert ended.code == 2
    assert message in ended.err
    assert not any(tmp_path.iterdir())
