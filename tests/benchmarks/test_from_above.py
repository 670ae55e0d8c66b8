"""The benchmark from above: what is measured is kept at once, and not measured again."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from benchmarks import from_above
from benchmarks.from_above import Row
from synth.spec import Spec

SMALL = Spec.parse("q = ~a", length=2, width=2, height=2, delay=1, stack="y", joint="buffer")


def test_rows_are_kept_as_they_are_measured_and_not_measured_again(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(from_above, "SOLVED", {"small": Row(SMALL, ((20.0, 4),))})
    record, plot = tmp_path / "record.json", tmp_path / "small.svg"
    words = ["--rows", "small", "--record", str(record), "--plot", str(plot)]
    monkeypatch.setattr(sys, "argv", ["from_above", *words, "--seeds", "0"])
    from_above.main()
    (row,) = json.loads(record.read_text(encoding="utf-8"))["rows"]
    assert (row["row"], row["seed"], row["status"], row["passes"]) == ("small", 0, "found", True)
    assert row["reached"] == [{"seconds": 20.0, "reach": 4, "volume": row["bound"]}]
    assert len(row["load"]) == 2
    assert row["processor_seconds"] > 0
    assert plot.read_text(encoding="utf-8").startswith("<?xml")
    assert f"{row['bound']} after 20 s (to reach: 4)" in capsys.readouterr().out
    monkeypatch.setattr(sys, "argv", ["from_above", *words, "--seeds", "0,1"])
    from_above.main()
    rows = json.loads(record.read_text(encoding="utf-8"))["rows"]
    assert rows[0] == row
    assert [one["seed"] for one in rows] == [0, 1]


def test_a_row_that_is_none_is_refused(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["from_above", "--rows", "majorty"])
    with pytest.raises(SystemExit):
        from_above.main()
    assert "no row majorty" in capsys.readouterr().err
