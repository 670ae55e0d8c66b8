"""``gatefit solve``: each outcome, by a stand-in for the search; and the real search, small."""

from __future__ import annotations

import json
import os
import re
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import synth.search
from synth.layout import Layout
from synth.medium import Joint, RuleId
from synth.questions.outcome import Outcome, Status
from synth.questions.statistics import Statistics
from synth.simulator import Fault, Verdict, check
from synth.spec import Spec
from tests.cli.conftest import NOT_GATE, Run
from tests.views.golden import check_golden

REJECTED = Verdict(
    True, False, None, None, {"q": "11"}, (Fault(RuleId.FUNCTION, (1, 0, 1), "q reads 1"),)
)


def outcome_of(status: Status, layout: Layout | None = None) -> Outcome:
    verdict = None if layout is None else check(layout, Spec.parse("q = ~a"))
    return Outcome(
        status,
        layout,
        REJECTED if status is Status.REFUSED else verdict,
        reason="" if status is Status.FOUND else "for a reason that is stated in a sentence",
        claim="smallest by volume" if status is Status.FOUND else "",
        parts="3 parts; fewer may be possible" if status is Status.FOUND else "",
        assumed=("height at most 5 cells", "a time limit of 600 seconds"),
        stats=Statistics(questions=3, bound=4),
    )


class StandIn:
    """Answers every search with one outcome and keeps what it was asked."""

    def __init__(self, outcome: Outcome) -> None:
        self.outcome = outcome
        self.spec: Spec | None = None
        self.options: dict[str, Any] = {}
        self.advised: list[float] = []
        self.capture: Callable[[], str] | None = None
        self.out_before_advice = ""

    def __call__(self, spec: Spec, **options: Any) -> Outcome:
        self.spec, self.options = spec, options
        return self.outcome

    def advise(self, spec: Spec, seconds: float, **options: Any) -> tuple[str, ...]:
        self.advised.append(seconds)
        captured = "" if self.capture is None else self.capture()
        self.out_before_advice = captured
        return ("delay 0 is what stands in the way", "delay 1 instead of 0 has a layout")


@pytest.fixture
def answer(monkeypatch: pytest.MonkeyPatch) -> Any:
    def give(outcome: Outcome) -> StandIn:
        stand_in = StandIn(outcome)
        monkeypatch.setattr(synth.search, "solve", stand_in)
        monkeypatch.setattr(synth.search, "advise", stand_in.advise)
        return stand_in

    return give


@pytest.mark.parametrize(
    ("status", "layout", "code"),
    [
        (Status.FOUND, NOT_GATE, 0),
        (Status.IMPOSSIBLE, None, 1),
        (Status.UNDECIDED, None, 3),
        (Status.UNDECIDED, NOT_GATE, 3),
        (Status.REFUSED, NOT_GATE, 4),
    ],
)
@pytest.mark.parametrize("as_json", [False, True])
def test_outcome_goes_through_unchanged(
    status: Status, layout: Layout | None, code: int, as_json: bool, gatefit: Run, answer: Any
) -> None:
    outcome = outcome_of(status, layout)
    answer(outcome)
    ended = gatefit("solve", "q = ~a", "--advise", "0", *(["--json"] if as_json else []))
    assert ended.code == code
    if as_json:
        assert ended.document == {
            "format": "gatefit-outcome",
            "version": 2,
            "status": str(status),
            "reason": outcome.reason,
            "claim": outcome.claim,
            "parts": outcome.parts,
            "advice": [],
            "assumed": [*outcome.assumed, "wire joints"],
            "layout": layout and layout.document(),
            "verdict": outcome.verdict and outcome.verdict.document(),
            "stats": outcome.stats.document(),
        }
    else:
        drawn = "with" if layout else "without"
        check_golden(f"outcome_{status}_{drawn}_layout", ended.out.rstrip("\n"))


def test_advice_comes_after_the_answer_and_is_announced(
    gatefit: Run, answer: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    stand_in = answer(outcome_of(Status.IMPOSSIBLE))
    seen = []

    def capture() -> str:
        captured = capsys.readouterr()
        seen.append(captured.err)
        return captured.out

    stand_in.capture = capture
    ended = gatefit("solve", "q = ~a")
    assert ended.code == 1
    assert "IMPOSSIBLE" in stand_in.out_before_advice
    assert "spending up to 20 s" in seen[0]
    assert ended.out == (
        "Advice: delay 0 is what stands in the way:\n  - delay 1 instead of 0 has a layout\n"
    )


@pytest.mark.parametrize(("options", "seconds"), [([], []), (["--advise", "3"], [3.0])])
def test_a_document_waits_for_advice_only_where_it_is_asked_for(
    options: list[str], seconds: list[float], gatefit: Run, answer: Any
) -> None:
    stand_in = answer(outcome_of(Status.IMPOSSIBLE))
    ended = gatefit("solve", "q = ~a", "--json", *options)
    assert stand_in.advised == seconds
    assert len(ended.document["advice"]) == 2 * len(seconds)
    assert ("spending up to 3 s" in ended.err) == bool(seconds)


@pytest.mark.parametrize(
    ("status", "layout", "line"),
    [
        (Status.FOUND, NOT_GATE, "found, 2 x 1 x 2, delay 1, 3 parts, smallest by volume"),
        (Status.IMPOSSIBLE, None, "IMPOSSIBLE"),
        (Status.UNDECIDED, None, "UNDECIDED, no volume below 4"),
        (Status.UNDECIDED, NOT_GATE, "UNDECIDED, 2 x 1 x 2, delay 1, 3 parts, no volume below 4"),
    ],
)
def test_quiet_leaves_one_line(
    status: Status, layout: Layout | None, line: str, gatefit: Run, answer: Any
) -> None:
    stand_in = answer(outcome_of(status, layout))
    ended = gatefit("solve", "q = ~a", "--quiet", "--output", "x.json")
    assert (ended.out, ended.err) == (f"q = ~a: {line}\n", "")
    assert stand_in.advised == []
    assert Path("x.json").exists() == (layout is not None)


def test_refused_is_loud_and_keeps_the_layout(gatefit: Run, answer: Any, tmp_path: Path) -> None:
    answer(outcome_of(Status.REFUSED, NOT_GATE))
    ended = gatefit("solve", "q = ~a", "--quiet")
    assert "REFUSED" in ended.out
    assert "REFUSED" in ended.err
    assert "bug" in ended.err
    assert "gatefit-refused.json" in ended.err
    assert Layout.load(tmp_path / "gatefit-refused.json") == NOT_GATE


def test_refused_layout_goes_where_the_user_said(gatefit: Run, answer: Any, tmp_path: Path) -> None:
    answer(outcome_of(Status.REFUSED, NOT_GATE))
    ended = gatefit("solve", "q = ~a", "--output", "mine.json")
    assert "mine.json" in ended.err
    assert [path.name for path in tmp_path.iterdir()] == ["mine.json"]


def test_output_is_the_layout_document(gatefit: Run, answer: Any, tmp_path: Path) -> None:
    answer(outcome_of(Status.FOUND, NOT_GATE))
    (tmp_path / "x.json").write_text("old")
    ended = gatefit("solve", "q = ~a", "--output", "x.json")
    assert ended.code == 0
    assert "x.json" in ended.err
    assert Layout.load(tmp_path / "x.json") == NOT_GATE
    assert [path.name for path in tmp_path.iterdir()] == ["x.json"]


def test_without_a_layout_nothing_is_written(gatefit: Run, answer: Any, tmp_path: Path) -> None:
    answer(outcome_of(Status.IMPOSSIBLE))
    (tmp_path / "x.json").write_text("old")
    ended = gatefit("solve", "q = ~a", "--output", "x.json")
    assert "nothing is written" in ended.err
    assert (tmp_path / "x.json").read_text() == "old"


def test_unwritable_output_is_refused_before_the_search(gatefit: Run, answer: Any) -> None:
    stand_in = answer(outcome_of(Status.FOUND, NOT_GATE))
    assert gatefit("solve", "q = ~a", "--output", "nowhere/x.json").code == 2
    assert stand_in.spec is None


def test_output_may_be_a_device(gatefit: Run, answer: Any) -> None:
    answer(outcome_of(Status.FOUND, NOT_GATE))
    assert gatefit("solve", "q = ~a", "--output", os.devnull).code == 0
    assert stat.S_ISCHR(os.stat(os.devnull).st_mode)


def test_options_come_before_what_the_specification_says(
    gatefit: Run, answer: Any, tmp_path: Path
) -> None:
    (tmp_path / "spec.toml").write_text(
        '[outputs]\nq = "a & b"\n[limits]\nlength = 5\nheight = 4\n[pins]\na = {faces = ["+y"]}\n'
    )
    (tmp_path / "rules.toml").write_text("reach = 7\n")
    stand_in = answer(outcome_of(Status.FOUND, NOT_GATE))
    ended = gatefit(
        "solve", "spec.toml", "--length", "3", "--width", "2", "--volume", "30", "--floor", "6",
        "--parts", "20", "--delay", "0", "--stack", "y", "--pitch", "3", "--joint", "buffer",
        "--input-face", "-x", "--output-face", "+x,-x", "--ground", "--minimize", "parts,delay",
        "--minimize", "volume", "--solver", "glucose42", "--time-limit", "2.5", "--seed", "7",
        "--prefer", "ledge", "--rules", "rules.toml", "--workers", "1",
    )  # fmt: skip
    assert ended.code == 0, ended.err
    spec = stand_in.spec
    limits = spec.limits
    assert (limits.length, limits.width, limits.height) == (3, 2, 4)
    assert (limits.volume, limits.floor, limits.parts, limits.delay) == (30, 6, 20, 0)
    assert (spec.stack.axis, spec.stack.pitch, spec.ground) == ("y", 3, True)
    assert {ask.joint for ask in spec.pins.values()} == {Joint.BUFFER}
    assert [str(face) for face in spec.pins["a"].faces] == ["-x"]
    assert [str(face) for face in spec.pins["q"].faces] == ["+x", "-x"]
    asked = stand_in.options
    assert asked["minimize"] == ("parts", "delay", "volume")
    assert (asked["solver"], asked["seed"], asked["prefer"]) == ("glucose42", 7, "ledge")
    assert (asked["time_limit_s"], asked["workers"], asked["rules"].reach) == (2.5, 1, 7)


def test_progress_goes_to_standard_error_only(gatefit: Run) -> None:
    ended = gatefit("solve", "q = ~a", "--delay", "1", "--json")
    assert ended.code == 0
    assert json.loads(ended.out)["status"] == "found"
    lines = ended.err.splitlines()
    # Boxes are asked about at the same time, so any of them may be answered first.
    # Structure first may have found a layout before any box is asked about.
    asked = [line for line in lines if line.startswith("[")]
    assert re.match(r"\[\d+/\d+\] \d x \d x \d, delay 1: \w+", asked[0])
    assert lines[-1].startswith("found after ")
    assert gatefit("solve", "q = ~a", "--delay", "1", "--json", "--quiet").err == ""


def test_real_search_ends_in_a_layout_that_passes_its_check(gatefit: Run, tmp_path: Path) -> None:
    limits = ("--length", "3", "--width", "2", "--height", "3", "--delay", "1")
    ended = gatefit("solve", "nor2", *limits, "--output", "nor.json")
    assert ended.code == 0
    assert "Verdict: passes" in ended.out
    assert "smallest by volume" in " ".join(ended.out.split())
    again = gatefit("check", "nor.json", "--function", "q = ~(a | b)", "--delay", "1")
    assert again.code == 0, again.out


def test_real_search_says_impossible(gatefit: Run) -> None:
    limits = ("--length", "1", "--width", "1", "--height", "2", "--delay", "0")
    ended = gatefit("solve", "q = ~a", *limits, "--advise", "10000")
    assert ended.code == 1
    assert "IMPOSSIBLE" in ended.out
    assert "with delay 1 instead of 0 there is a layout of 1 x 1 x 2 cells" in " ".join(
        ended.out.split()
    )


def test_real_search_stops_at_its_time_limit(gatefit: Run) -> None:
    # No solver decides it within minutes.
    ended = gatefit("solve", "parity3", "--time-limit", "0.2", "--quiet")
    assert ended.code == 3
    assert "UNDECIDED" in ended.out


def test_best_and_bound_over_time_are_drawn(gatefit: Run, tmp_path: Path) -> None:
    asked = (
        "q = ~a",
        "--delay",
        "1",
        "--workers",
        "1",
        "--plot",
        "climb.svg",
        "--plot",
        "climb.png",
    )
    ended = gatefit("solve", *asked, "--store", "gates.sqlite")
    assert ended.code == 0
    assert "plot written to climb.svg" in ended.err
    drawn = (tmp_path / "climb.svg").read_text(encoding="utf-8")
    assert "q = ~a" in drawn
    assert "2: 1 x 1 x 2" in drawn
    assert "2: none is smaller" in drawn
    assert (tmp_path / "climb.png").read_bytes().startswith(b"\x89PNG")
    known = gatefit("solve", *asked, "--store", "gates.sqlite")
    assert "no layout was found by this search, so nothing is plotted" in known.err
    refused = gatefit("solve", "q = ~a", "--plot", "climb.pdf")
    assert refused.code == 2
    assert "--plot: the ending of 'climb.pdf' is not that of a picture" in refused.err
