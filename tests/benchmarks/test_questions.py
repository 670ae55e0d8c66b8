"""Whole questions in pairs: what is compared, what is kept, and what is refused."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from benchmarks import questions
from benchmarks.record import ROOT

EASY, HARD = "01 stacked wire T1", "0110 free buffer T4"


def row(seconds: float, status: str = "found", volume: int | None = 12) -> dict[str, Any]:
    return {"status": status, "volume": volume, "seconds": seconds, "processor_seconds": seconds}


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> dict[str, dict[str, Any]]:
    """What each checkout answers, by the name of its folder, in place of processes that ask it."""
    given = {ROOT.name: row(2.0), "before": row(6.0)}
    monkeypatch.setattr(questions, "in_process", lambda root, *_: given[root.name])
    return given


def test_a_pair_tells_how_many_times_sooner_it_is_now(answers: dict[str, dict[str, Any]]) -> None:
    made = questions.pair(HARD, 3, ROOT, Path("before"), 600.0)
    assert (made["question"], made["seed"], made["times_faster"]) == (HARD, 3, 3.0)
    assert (made["now"], made["before"]) == (row(2.0), row(6.0))
    answers[ROOT.name] = row(0.0)
    assert questions.pair(HARD, 3, ROOT, Path("before"), 600.0)["times_faster"] == 60.0


def test_what_was_not_decided_in_time_has_no_ratio(answers: dict[str, dict[str, Any]]) -> None:
    answers["before"] = row(600.0, "undecided", 20)
    assert questions.pair(HARD, 0, ROOT, Path("before"), 600.0)["times_faster"] is None


@pytest.mark.parametrize("other", [row(6.0, volume=16), row(6.0, "impossible", None)])
def test_answers_that_differ_are_refused(
    other: dict[str, Any], answers: dict[str, dict[str, Any]]
) -> None:
    answers["before"] = other
    with pytest.raises(RuntimeError, match="with the other checkout"):
        questions.pair(HARD, 0, ROOT, Path("before"), 600.0)


def test_a_summary_is_of_what_was_decided_by_both() -> None:
    ratios = [(EASY, 2.0), (EASY, 4.0), (HARD, 8.0), (HARD, None)]
    found = questions.summary([{"question": name, "times_faster": one} for name, one in ratios])
    assert found["geometric mean"] == 4.0
    assert found["by ticks"] == {2: None, 3: None, 4: 8.0}
    assert found["median"] == {EASY: 3.0, HARD: 8.0}
    assert found["not in time"] == [HARD]
    assert questions.summary([])["geometric mean"] is None


def test_one_question_is_decided_in_a_process_of_its_own() -> None:
    name = next(iter(questions.QUESTIONS))
    # Nothing is decided in so little time: what counts is that the other process answers.
    made = questions.in_process(ROOT, name, 0, 1e-6)
    assert made["status"] == "undecided"
    assert made.keys() == row(0.0).keys()


def test_a_question_is_asked_as_it_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(questions.QUESTIONS, EASY, ("01", "y", "wire", 1))
    made = questions.measure(EASY, 0, 600.0)
    assert (made["status"], made["volume"]) == ("found", 4)


def test_pairs_are_kept_and_not_made_again(
    answers: dict[str, dict[str, Any]],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    other, record = tmp_path / "before", tmp_path / "pairs.json"
    other.mkdir()
    monkeypatch.setattr("benchmarks.record.git", lambda *_, root: root.name)
    words = ["--against", str(other), "--record", str(record), "--names", HARD, "--seeds"]
    for seeds in (["0"], ["0", "1"]):
        monkeypatch.setattr(sys, "argv", ["questions", *words, *seeds])
        questions.main()
        kept = json.loads(record.read_text(encoding="utf-8"))
        assert kept["against"] == "before"
        assert [made["seed"] for made in kept["rows"]] == list(map(int, seeds))
        assert kept["summary"]["median"] == {HARD: 3.0}
        # The second time the first pair stays as it was, whatever would be answered now.
        assert kept["rows"][0]["now"] == row(2.0)
        answers.update({ROOT.name: row(3.0), "before": row(9.0)})
    other.rename(tmp_path / "another")
    monkeypatch.setattr(
        sys, "argv", ["questions", "--against", str(tmp_path / "another"), *words[2:], "0"]
    )
    with pytest.raises(SystemExit):
        questions.main()
    assert "--record holds pairs with before; name another file" in capsys.readouterr().err


def test_without_another_checkout_there_is_nothing_to_compare(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["questions"])
    with pytest.raises(SystemExit):
        questions.main()
    assert "--against is missing" in capsys.readouterr().err
