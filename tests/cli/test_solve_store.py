"""``gatefit solve --store``: an identical question is never searched twice."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import synth.search
from synth.layout import Layout
from synth.library import Store
from synth.questions.journal import Journal
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.simulator import check
from synth.spec import Spec
from tests.cli.conftest import Run

LIMITS = ["--length", "2", "--width", "1", "--height", "2", "--delay", "1"]
STORE = ["--store", "gates.sqlite"]
QUIET = ["--quiet", "--workers", "1"]


def problem(text: str, **limits: Any) -> Problem:
    given = {"length": 2, "width": 1, "height": 2, "delay": 1} | limits
    return Problem(Spec.parse(text, **given))


@pytest.fixture
def no_search(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*arguments: Any, **options: Any) -> Outcome:
        raise AssertionError("it was searched")

    monkeypatch.setattr(synth.search, "solve", fail)


@pytest.fixture
def known(gatefit: Run) -> None:
    assert gatefit("solve", "q = ~a", *LIMITS, *STORE, *QUIET).code == 0
    assert gatefit("solve", "q = a & b", *LIMITS, *STORE, *QUIET).code == 1


@pytest.mark.usefixtures("known", "no_search")
def test_a_decided_answer_comes_from_the_store_and_says_so(gatefit: Run) -> None:
    ended = gatefit("solve", "out = ~in", *LIMITS, *STORE, "-o", "x.json")
    assert ended.code == 0
    assert "Store: the answer was in gates.sqlite; nothing was searched." in ended.out
    layout = Layout.load("x.json")
    assert {pin.name for pin in layout.pins} == {"in", "out"}
    assert check(layout, Spec.parse("out = ~in"), delay=1).passes
    line = gatefit("solve", "q = ~a", *LIMITS, *STORE, "--quiet")
    assert line.out.endswith(", from gates.sqlite\n")
    assert line.err == ""


@pytest.mark.usefixtures("known", "no_search")
def test_impossible_comes_from_the_store_too(gatefit: Run) -> None:
    ended = gatefit("solve", "y = p & r", *LIMITS, *STORE, "--advise", "0", "--json")
    assert ended.code == 1
    assert ended.document["status"] == "impossible"
    assert "nothing was searched" in ended.err


@pytest.mark.usefixtures("known", "no_search")
@pytest.mark.parametrize(
    "options", [["--delay", "2"], ["--joint", "buffer"], ["--minimize", "floor"], ["--ground"]]
)
def test_another_question_is_searched(options: list[str], gatefit: Run) -> None:
    ended = gatefit("solve", "q = ~a", *LIMITS, *options, *STORE, "--quiet")
    assert ended.code == 70
    assert "it was searched" in ended.err


def entries_seen(monkeypatch: pytest.MonkeyPatch) -> list[Journal]:
    seen = []
    real = synth.search.solve

    def watched(spec: Spec, **options: Any) -> Outcome:
        seen.append(Journal({}, entries=list(options["journal"].entries)))
        return real(spec, **options)

    monkeypatch.setattr(synth.search, "solve", watched)
    return seen


def test_boxes_ruled_out_are_not_asked_again(gatefit: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    # One tick is ruled out for this function without a question: three ticks must be asked.
    limits = ["--width", "1", "--height", "2", "--delay", "3"]
    assert gatefit("solve", "q = a & b", *limits, "--length", "2", *STORE, *QUIET).code == 1
    seen = entries_seen(monkeypatch)
    wider = [*limits, "--length", "3"]
    with_store = gatefit("solve", "q = a & b", *wider, *STORE, "--json", "--workers", "1")
    without = gatefit("solve", "q = a & b", *wider, "--json", "--workers", "1")
    assert with_store.code == without.code == 1
    # A taller box answers for the lower ones.
    assert len(seen[0].entries) == 2
    assert all(entry.layout is None for entry in seen[0].entries)
    asked = [ended.document["stats"]["questions"] for ended in (with_store, without)]
    assert asked[0] + 2 == asked[1]


def test_with_a_certificate_the_store_counts_for_nothing_and_gets_the_proof(
    gatefit: Run, known: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = entries_seen(monkeypatch)
    ended = gatefit("solve", "q = a & b", *LIMITS, *STORE, "--certificate", "proof", *QUIET)
    assert ended.code == 1
    assert seen[0].entries == []
    assert gatefit("audit", "proof").code == 0
    with Store.for_reading("gates.sqlite") as store:
        answer = store.known(problem("q = a & b"))
        proofs = [entry.proof for entry in store.entries() if entry.status == "impossible"]
    assert answer is not None
    assert str(proofs[0]).startswith("proof sha256:")
    verified = gatefit("library", "verify", *STORE)
    assert verified.code == 0
    assert "1 certificate audited" in verified.out


def test_what_a_stopped_search_found_out_is_kept(
    gatefit: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = synth.search.solve

    def stopped(spec: Spec, **options: Any) -> Outcome:
        real(spec, **options)
        raise KeyboardInterrupt

    monkeypatch.setattr(synth.search, "solve", stopped)
    ended = gatefit("solve", "q = ~a", *LIMITS, *STORE, *QUIET)
    assert ended.code == 130
    assert "what was found so far is kept in gates.sqlite; the same command goes on" in ended.err
    assert not Path("gatefit-resume.jsonl").exists()
    asked = problem("q = ~a")
    with Store.for_reading("gates.sqlite") as store:
        kept = store.known(asked)
        boxes = store.recall_boxes(asked)
    assert kept is not None
    assert kept.status is Status.UNDECIDED
    assert kept.layout is not None
    assert boxes
    monkeypatch.setattr(synth.search, "solve", real)
    seen = entries_seen(monkeypatch)
    ended = gatefit("solve", "q = ~a", *LIMITS, *STORE, *QUIET)
    assert ended.code == 0
    assert [entry.layout for entry in seen[0].entries if entry.layout] == [kept.layout]


def test_an_answer_that_cannot_be_kept_is_shown(
    gatefit: Run, known: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two answers that contradict each other: one is wrong, and the user sees the new one."""
    real = Store.recall
    monkeypatch.setattr(Store, "recall", lambda self, asked: None)
    outcome = Outcome(Status.IMPOSSIBLE, reason="none of the boxes has one")
    monkeypatch.setattr(synth.search, "solve", lambda spec, **options: outcome)
    ended = gatefit("solve", "q = ~a", *LIMITS, *STORE, "--quiet")
    assert ended.code == 74
    assert ended.out == "q = ~a: IMPOSSIBLE\n"
    assert "not kept in the store: " in ended.err
    monkeypatch.setattr(Store, "recall", real)
    assert gatefit("solve", "q = ~a", *LIMITS, *STORE, "--quiet").code == 0


def test_a_store_that_is_none_is_refused_before_the_search(gatefit: Run, no_search: None) -> None:
    Path("plain.txt").write_text("no store at all, but long enough to be read as one " * 9)
    ended = gatefit("solve", "q = ~a", *LIMITS, "--store", "plain.txt")
    assert ended.code == 2
    assert "plain.txt" in ended.err


def test_find_looks_for_the_joints_that_solve_assumes(gatefit: Run, known: None) -> None:
    gatefit("solve", "q = a", "--joint", "buffer", *LIMITS, *STORE, *QUIET)
    ended = gatefit("library", "find", "q = a", *STORE)
    assert ended.code == 1
    assert "Assumed: wire joints." in ended.out
    named = gatefit("library", "find", "q = a", *STORE, "--joint", "buffer")
    assert named.code == 0
    assert "Assumed" not in named.out


RIGHT = Layout.load(Path(__file__).parents[2] / "benchmarks" / "records" / "parity_layout.json")
"""A parity of 9 x 2 x 4 cells with buffer joints, stacking along y, within 4 ticks."""


def test_a_search_begins_with_layouts_found_for_other_questions(
    gatefit: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    RIGHT.save("parity.json")
    assert gatefit("library", "add", "parity.json", *STORE).code == 0
    seen = entries_seen(monkeypatch)
    begun = []
    real = synth.search.solve

    def watched(spec: Spec, **options: Any) -> Outcome:
        begun.append(options["starts"])
        return real(spec, **options)

    monkeypatch.setattr(synth.search, "solve", watched)
    asked = ["--length", "12", "--width", "2", "--height", "5", "--delay", "5", "--joint", "buffer"]
    few = ["--volume", "72", "--time-limit", "0.5", "--workers", "1"]
    ended = gatefit("solve", "y = r ^ p ^ s", *asked, *few, *STORE, "-o", "found.json")
    assert ended.code == 3
    assert "begins with a layout of 72 cells from gates.sqlite" in ended.err
    assert [entry.layout for entry in seen[0].entries if entry.layout] == list(begun[0])
    assert Layout.load("found.json").cells == begun[0][0].cells
    # Wire joints take a column and a layer more, which is beyond these limits: it is a start alone.
    joined = ["--joint", "wire", "--delay", "9", "--volume", "72"]
    ended = gatefit("solve", "y = r ^ p ^ s", *asked, *joined, "--time-limit", "0.5", *STORE)
    assert "begins with a layout of 80 cells from gates.sqlite" in ended.err
    assert all(entry.layout is None for entry in seen[1].entries)


def test_a_layout_beyond_limits_that_were_assumed_does_not_stand_in_the_way(gatefit: Run) -> None:
    """No length is asked: what comes from above may be longer than the length that is assumed."""
    for _ in range(2):
        ended = gatefit("solve", "q = a ^ b ^ c", "--joint", "buffer", "--time-limit", "1", *STORE)
        assert ended.code == 3
        assert "kept in the store gates.sqlite" in ended.err
    assert "begins with a layout of" in ended.err
    assert gatefit("library", "verify", *STORE).code == 0
