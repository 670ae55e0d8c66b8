"""Whatever a command reads, it ends in an answer or in one line that says what is wrong."""

from __future__ import annotations

from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzz.cases import KINDS as BROKEN
from tests.fuzz.cases import Case, Ended, run
from tests.fuzz.large import hostile_certificate, random_case

KINDS = {**BROKEN, "random": random_case, "hostile": hostile_certificate}

EXAMPLES = {"journal": 15, "hostile": 8}
"""How many inputs of a kind are tried, where each takes longer; ``benchmarks/fuzz.py`` tries
thousands."""


@pytest.mark.parametrize("kind", KINDS)
def test_no_broken_input_breaks_a_command(kind: str) -> None:
    @settings(
        max_examples=EXAMPLES.get(kind, 50),
        deadline=None,
        suppress_health_check=list(HealthCheck),
        database=None,
    )
    @given(st.integers(0, 2**32))
    def ends_well(seed: int) -> None:
        case = KINDS[kind](Random(seed))
        with TemporaryDirectory() as folder:
            ended = run(case, Path(folder))
        assert ended.fault() is None, case

    ends_well()


@pytest.mark.parametrize("kind", BROKEN)
def test_the_inputs_are_broken(kind: str, tmp_path: Path) -> None:
    """Inputs that were all in order would make the test above empty."""
    codes = []
    for seed in range(20):
        folder = tmp_path / str(seed)
        folder.mkdir()
        codes.append(run(KINDS[kind](Random(seed)), folder).code)
    assert codes.count(2) >= 5


@pytest.mark.parametrize(
    ("ended", "said"),
    [
        (Ended(70, b"", b"gatefit: a bug\n"), "exit code 70"),
        (Ended(1, b"", b"Traceback (most recent call last):\n"), "a traceback"),
        (Ended(2, b"", b"gatefit: one\ngatefit: two\n"), "2 lines"),
        (Ended(2, b"", b"gatefit: \x1b[2J\n"), "no line for a terminal"),
        (Ended(2, b"", b"gatefit: " + b"x" * 5000 + b"\n"), "no line for a terminal"),
    ],
)
def test_what_is_no_good_end_is_seen(ended: Ended, said: str) -> None:
    assert said in (ended.fault() or "")


def test_a_bug_is_told_in_one_line_and_its_details_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import synth.cli.show

    def broken(argument: str) -> None:
        raise ZeroDivisionError("by none")

    monkeypatch.setattr(synth.cli.show, "read_layout", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    ended = run(Case(("show", "x.json")), tmp_path)
    assert ended.code == 70
    (line,) = ended.err.decode().splitlines()
    assert "please report this" in line
    (details,) = tmp_path.glob("gatefit-error*.txt")
    assert str(details) in line
    text = details.read_text(encoding="utf-8")
    assert "ZeroDivisionError: by none" in text
    assert "'show' 'x.json'" in text
