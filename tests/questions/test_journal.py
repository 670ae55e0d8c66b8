"""Nothing done is lost: answers are kept as they come and a search goes on from them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from synth.errors import InputError, OutputError
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.journal import Journal
from synth.questions.problem import Problem
from synth.search import Outcome, Status, solve
from synth.spec import Spec
from tests.waiting import wait_until

SPEC = Spec.parse("q = a & ~b", length=4, width=2, height=4, delay=2, stack="y")


def journal_of(path: Path | None, spec: Spec = SPEC, **changes: Any) -> Journal:
    settings: dict[str, Any] = {"solver": "cadical195", "seed": 0} | changes
    return Journal.of(Problem(spec), path=path, **settings)


@cache
def searched() -> tuple[Outcome, str]:
    """The answer for ``SPEC``, and the journal of that search as it is written.

    One worker, so that answers come in the order they are asked, the layout last.
    """
    with TemporaryDirectory() as folder:
        path = Path(folder, "run.jsonl")
        outcome = solve(
            SPEC,
            journal=journal_of(path),
            workers=1,
            without=("structure", "above"),
            fewest_parts=False,
        )
        return outcome, path.read_text(encoding="utf-8")


def test_a_search_goes_on_from_its_journal(tmp_path: Path) -> None:
    path = tmp_path / "run.jsonl"
    first = solve(SPEC, journal=journal_of(path), workers=2)
    again = solve(SPEC, journal=journal_of(path), workers=2)
    assert first.status is again.status is Status.FOUND
    assert again.layout == first.layout
    assert again.claim == first.claim
    assert again.stats.questions == 0
    assert first.stats.questions > 10


def test_a_journal_says_which_solver_to_go_on_with(tmp_path: Path) -> None:
    path = tmp_path / "run.jsonl"
    assert Journal.solver_of(path) is None
    journal_of(path, solver="glucose4")
    assert Journal.solver_of(path) == "glucose4"
    path.write_text("no journal\n", encoding="utf-8")
    with pytest.raises(InputError, match="no journal of a search"):
        Journal.solver_of(path)


def test_answers_serve_under_other_limits(tmp_path: Path) -> None:
    path = tmp_path / "run.jsonl"
    small = Spec.parse("q = a & ~b", length=1, width=2, height=4, delay=2, stack="y")
    asked = solve(small, journal=journal_of(path, small), workers=1).stats.questions
    whole, _ = searched()
    larger = solve(
        SPEC,
        journal=journal_of(path),
        workers=1,
        without=("structure", "above"),
        fewest_parts=False,
    )
    assert larger.layout == whole.layout
    assert larger.stats.questions <= whole.stats.questions - asked + 1


def test_a_line_cut_short_by_a_kill_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "run.jsonl"
    lines = searched()[1].splitlines(keepends=True)
    path.write_text("".join(lines[:5]) + lines[5][:10], encoding="utf-8")
    journal = journal_of(path)
    assert len(journal.entries) == 4
    solve(SPEC, journal=journal)
    assert all(json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())


def test_a_layout_in_a_journal_is_judged_anew(tmp_path: Path) -> None:
    path = tmp_path / "run.jsonl"
    entries = [json.loads(line) for line in searched()[1].splitlines()]
    layouts = [entry["layout"] for entry in entries if entry.get("layout") is not None]
    assert layouts
    for layout in layouts:
        layout["parts"].pop()
    path.write_text("".join(f"{json.dumps(entry)}\n" for entry in entries), encoding="utf-8")
    again = solve(SPEC, journal=journal_of(path), workers=1, without=("structure", "above"))
    assert again.status is Status.FOUND
    assert again.stats.questions > 0


def test_a_journal_kept_in_memory_can_be_saved(tmp_path: Path) -> None:
    journal = journal_of(None)
    solve(SPEC, journal=journal)
    (tmp_path / "later.jsonl").write_text(journal.text(), encoding="utf-8")
    assert journal_of(tmp_path / "later.jsonl").entries == journal.entries


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("not json\n", "line 1: this is no journal of a search"),
        ('{"format": "gatefit-layout"}\n', "this is no journal of a search"),
    ],
)
def test_what_is_no_journal_is_refused(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "run.jsonl"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=message):
        journal_of(path)


def test_a_journal_of_another_question_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "run.jsonl"
    journal_of(path)
    for changes in ({"seed": 1}, {"solver": "glucose42"}, {"spec": Spec.parse("q = a")}):
        with pytest.raises(InputError, match="belongs to another question"):
            journal_of(path, **changes)
    with pytest.raises(InputError, match="cannot be written"):
        journal_of(tmp_path / "no folder" / "run.jsonl")


def test_a_search_killed_midway_goes_on(tmp_path: Path) -> None:
    """A real kill, nothing tidied up: the second run asks less and finds as small a layout."""
    path = tmp_path / "run.jsonl"
    command = [
        *(sys.executable, "-c", "import sys; from synth.cli.main import main; sys.exit(main())"),
        *("solve", "q = a & ~b", "--width", "2", "--length", "4", "--height", "4"),
        *("--delay", "2", "--stack", "y", "--resume", str(path), "--json", "--quiet"),
        *("--workers", "1"),
    ]
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL)

    def has_answers() -> bool:
        over = running.poll() is not None
        kept = path.exists() and path.read_bytes().count(b"\n") >= 6
        # It may have come to its end before a busy machine looks here: then all are kept.
        assert kept or not over
        return kept

    wait_until(has_answers, "no answer is kept")
    running.kill()
    running.wait()
    kept = path.read_bytes().count(b"\n") - 1
    done = subprocess.run(command, capture_output=True, check=True, text=True)
    outcome = json.loads(done.stdout)
    assert outcome["status"] == "found"
    whole, _ = searched()
    assert whole.layout is not None
    assert outcome["layout"]["size"] == list(whole.layout.size)
    assert outcome["stats"]["questions"] <= whole.stats.questions - kept + 2


def test_layouts_of_wider_limits_are_no_best_under_narrower_ones() -> None:
    layout = searched()[0].layout
    assert layout is not None
    narrow = SPEC.replace(limits=replace(SPEC.limits, volume=layout.volume - 1))
    for spec, best in ((SPEC, layout), (narrow, None)):
        journal = journal_of(None, spec)
        journal.note(BoxAnswer(BoxQuestion(layout.size, 2), layout))
        stopped = solve(spec, journal=journal, time_limit_s=1e-6, without=("structure", "above"))
        assert stopped.status is Status.UNDECIDED
        assert stopped.layout == best
        assert ("best so far" in stopped.reason) == (best is not None)


LINES = {
    "5": "is no table",
    "null": "is no table",
    "[" * 5000: "nested too deeply",
    '{"size":[1,1]}': "the key 'delay' is missing",
    '{"size":[1,1],"delay":1,"parts":null,"layout":null}': "is no size",
    '{"size":[1,1,1],"delay":"x","parts":null,"layout":null}': "delay: 'x' is no whole number",
    '{"size":[1,1,1],"delay":65,"parts":null,"layout":null}': "delay: 65 is too large",
    '{"size":[1,1,65],"delay":1,"parts":null,"layout":null}': "size: 65 is too large",
    '{"size":[1,1,1],"delay":1,"parts":-1,"layout":null}': "parts: -1 is too small",
    '{"size":[1,1,1],"delay":1,"parts":null,"layout":[]}': "is no table",
    '{"size":[1,1,1],"delay":1,"parts":null,"layout":{}}': "'format' is missing",
    '{"cube":{},"cube_of":[1,1,1],"delay":1,"parts":null,"layout":null}': "'pin' is missing",
    '{"cube":{"pin":"z","cell":[0,0,0],"face":"-x"},"cube_of":[1,1,1],"delay":1,"parts":null,'
    '"layout":null}': "no pin 'z'",
    '{"size":' + "9" * 5000: "thousands of digits",
    '{"size":[1,1,1],"size":[1,1,1]}': "stands twice",
    "\xff": "is not UTF-8",
    "": "is empty",
}
"""Lines that are no answer, under a right heading, and what is said of them."""


@pytest.mark.parametrize("line", LINES, ids=lambda line: line[:30])
def test_a_line_that_is_no_answer_is_refused_with_its_place(line: str, tmp_path: Path) -> None:
    path = tmp_path / "run.jsonl"
    journal_of(path)
    before = path.read_bytes() + line.encode("latin-1") + b"\n"
    path.write_bytes(before)
    with pytest.raises(InputError) as refused:
        journal_of(path)
    message = str(refused.value)
    assert message.startswith(f"{path}: line 2")
    assert LINES[line] in message
    assert refused.value.way_out
    assert path.read_bytes() == before


def test_a_last_line_without_its_end_is_kept(tmp_path: Path) -> None:
    """The heading as well: an editor, or a copy, may have left out the last line end."""
    path = tmp_path / "run.jsonl"
    journal = journal_of(path)
    answer = BoxAnswer(BoxQuestion((1, 1, 1), 1), None)
    for entries in ([], [answer]):
        path.write_bytes(path.read_bytes().removesuffix(b"\n"))
        assert journal_of(path).entries == entries
        journal.note(answer)
        assert journal_of(path).entries == [*entries, answer]


def test_a_journal_cut_at_any_byte_goes_on(tmp_path: Path) -> None:
    path = tmp_path / "run.jsonl"
    journal = journal_of(path)
    answers = [BoxAnswer(BoxQuestion((n, 1, 1), 1, n), None) for n in (1, 2, 3)]
    for answer in answers:
        journal.note(answer)
    whole = path.read_bytes()
    heading = whole.index(b"\n") + 1
    for length in [*range(0, heading, 23), *range(heading - 1, len(whole) + 1)]:
        path.write_bytes(whole[:length])
        found = journal_of(path)
        assert found.entries == answers[: len(found.entries)]
        assert len(found.entries) >= whole[heading:length].count(b"\n")
        found.note(answers[0])
        assert journal_of(path).entries == [*found.entries]


def test_what_cannot_be_written_is_an_output_error_and_stays_in_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = journal_of(tmp_path / "run.jsonl")

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    answer = BoxAnswer(BoxQuestion((1, 1, 1), 1), None)
    with pytest.raises(OutputError, match="No space left on device"):
        journal.note(answer)
    assert journal.entries == [answer]
