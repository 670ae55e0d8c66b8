"""Proven layouts, met from above: the questions are drawn, the volume is judged."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from benchmarks import met_from_above
from synth.library import Canonical, Store
from synth.questions.problem import Problem
from synth.spec import Spec
from tests.waiting import GUARD_S


def test_every_layout_that_is_to_be_met_is_proven() -> None:
    with Store(met_from_above.LIBRARY) as store:
        for number, asked, least in met_from_above.proven((3,)):
            entry, _, answer = store.answered(number)
            assert (entry.delay_asked, entry.proven, entry.volume) == (3, True, least)
            assert answer.bound in (None, least)
            assert asked.minimize == ("volume",)


def test_what_is_met_is_kept_and_not_asked_again(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spec = Spec.parse("q = ~a", delay=1)
    asked, _ = Canonical.of(Problem(spec))
    monkeypatch.setattr(met_from_above, "proven", lambda delays: [(7, asked, 2)])
    record = tmp_path / "met.json"
    words = ["--record", str(record), "--most", str(GUARD_S)]
    monkeypatch.setattr(sys, "argv", ["met_from_above", *words])
    met_from_above.main()
    (row,) = json.loads(record.read_text())["rows"]
    assert (row["number"], row["least"], row["best"], row["met"]) == (7, 2, 2, True)
    monkeypatch.setattr(met_from_above, "met", None)
    met_from_above.main()
    assert "1 of 1 met" in capsys.readouterr().out
