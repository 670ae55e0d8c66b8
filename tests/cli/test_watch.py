"""``check --watch`` judges a layout again at every save, whatever an editor does to its file."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from itertools import takewhile
from pathlib import Path

import pytest

from synth.cli.shared import watching
from synth.layout import Layout, MadeFor
from tests.cli.conftest import NOT_GATE, UNSUPPORTED, Run

GOOD = NOT_GATE.replace(made_for=MadeFor("q = ~a", 1))
BAD = UNSUPPORTED.replace(made_for=GOOD.made_for)
FILE = "not.drawing"
WATCHING = f"gatefit: watching {FILE}; Ctrl-C ends\n"


class Script:
    """Stands in for the time between two looks: at each an editor does something, then Ctrl-C."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.steps: Iterator[Callable[[], object]] = iter(())
        monkeypatch.setattr(watching, "pause", self)

    def __call__(self) -> None:
        step = next(self.steps, None)
        if step is None:
            raise KeyboardInterrupt
        step()

    def of(self, *steps: Callable[[], object]) -> None:
        """What happens at one look after the other."""
        self.steps = iter(steps)


@pytest.fixture
def script(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Script:
    GOOD.save(tmp_path / FILE)
    return Script(monkeypatch)


def nothing() -> None:
    """A look at which nothing has changed."""


def save(layout: Layout) -> Callable[[], object]:
    return lambda: layout.save(FILE)  # Another file takes the place of the old one.


def write(text: str) -> Callable[[], object]:
    return lambda: Path(FILE).write_text(text)  # The same file holds something else.


def verdicts(out: str) -> list[str]:
    return [line.split()[1] for line in out.splitlines() if line.startswith("Verdict:")]


def test_every_save_is_judged_and_the_last_verdict_is_the_exit_code(
    gatefit: Run, script: Script
) -> None:
    script.of(nothing, save(BAD), nothing, nothing, write(GOOD.drawing()), nothing, save(BAD))
    ended = gatefit("check", FILE, "--watch")
    # The last save came just before Ctrl-C.
    assert (verdicts(ended.out), ended.code) == (["passes", "FAILS", "passes"], 0)
    script.of(save(BAD), nothing)
    ended = gatefit("check", FILE, "--watch")
    assert (verdicts(ended.out), ended.code) == (["FAILS"] * 2, 1)


def test_a_save_in_steps_is_read_when_it_is_whole(gatefit: Run, script: Script) -> None:
    text = BAD.drawing()
    script.of(write(""), write(text[:40]), write(text[:80]), write(text), nothing)
    ended = gatefit("check", FILE, "--watch")
    assert (verdicts(ended.out), ended.code) == (["passes", "FAILS"], 1)
    assert ended.err.count("is no") == 0


def test_a_file_that_is_replaced_is_not_gone(gatefit: Run, script: Script) -> None:
    script.of(lambda: os.remove(FILE), nothing, save(BAD), nothing)
    ended = gatefit("check", FILE, "--watch")
    assert verdicts(ended.out) == ["passes", "FAILS"]
    assert "no such file" not in ended.err


def test_a_broken_save_is_said_and_the_next_one_is_judged(gatefit: Run, script: Script) -> None:
    script.of(write("z = 0\n| xx |\n"), nothing, nothing, write(GOOD.drawing()), nothing)
    ended = gatefit("check", FILE, "--watch")
    assert (verdicts(ended.out), ended.code) == (["passes", "passes"], 0)
    assert "gatefit: not.drawing: line 2, column 3: 'xx' is no part" in ended.err
    assert "\n      ^\n" in ended.err
    script.of(write("z = 0\n| xx |\n"), nothing)
    assert gatefit("check", FILE, "--watch").code == 2


def test_a_file_that_stays_away_is_missed_and_taken_up_again(gatefit: Run, script: Script) -> None:
    away = [nothing] * watching.LOOKS_GONE
    script.of(lambda: os.remove(FILE), *away, save(BAD), nothing)
    ended = gatefit("check", FILE, "--watch")
    assert (verdicts(ended.out), ended.code) == (["passes", "FAILS"], 1)
    assert ended.err.count("not.drawing: no such file") == 1


def test_each_verdict_is_a_line_for_a_program(gatefit: Run, script: Script) -> None:
    script.of(save(BAD), nothing)
    lines = gatefit("check", FILE, "--watch", "--json").out.splitlines()
    assert ['"legal": true' in line for line in lines] == [True, False]


def test_standard_input_cannot_be_watched(gatefit: Run) -> None:
    ended = gatefit("check", "-", "--watch", stdin=GOOD.drawing())
    assert (ended.code, ended.out) == (2, "")
    assert "--watch: standard input is never saved; name a file" in ended.err


def test_a_real_editor_and_a_real_keyboard(tmp_path: Path) -> None:
    """In a process of its own, with its own pauses: saved once, stopped by the signal."""
    GOOD.save(tmp_path / FILE)
    command = [sys.executable, "-m", "synth.cli.main", "check", FILE, "--watch"]
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
    with subprocess.Popen(
        [*command, "--brief"],
        cwd=tmp_path,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as process:
        assert process.stdout is not None
        # Each run ends in a line that says so.
        said = "".join(takewhile(WATCHING.__ne__, process.stdout))
        BAD.save(tmp_path / FILE)
        said += "".join(takewhile(WATCHING.__ne__, process.stdout))
        process.send_signal(signal.SIGINT)
        process.stdout.read()
        assert process.wait() == 1
    assert verdicts(said) == ["passes", "FAILS"]
