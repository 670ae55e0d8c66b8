"""How the command ends when it is stopped, and what it shows while it runs."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

import synth.search
from synth.cli.shared.progress import Progress
from synth.questions.events import (
    BestImproved,
    BoundRaised,
    BoxEnded,
    BoxStarted,
    SearchEnded,
    SearchStarted,
)
from tests.cli.conftest import Run
from tests.waiting import GUARD_S, wait_until

COMMAND = [sys.executable, "-m", "synth.cli.main"]
ROOT = Path(synth.search.__file__).parents[2]
LONG_SEARCH = ["solve", "q = a ^ b ^ c ^ d", "--delay", "3", "--without", "structure"]


def children_of(process: int) -> set[int]:
    children = set()
    for task in Path(f"/proc/{process}/task").glob("*/children"):
        children |= {int(number) for number in task.read_text().split()}
    return children


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for children in /proc")
@pytest.mark.parametrize(
    ("sent", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)], ids=["keyboard", "signal"]
)
def test_stopped_search_says_so_and_leaves_nobody_behind(
    sent: signal.Signals, code: int, tmp_path: Path
) -> None:
    process = subprocess.Popen(
        [*COMMAND, *LONG_SEARCH],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
    )
    assert process.stderr is not None
    process.stderr.readline()  # The search is under way.
    children = children_of(process.pid)
    process.send_signal(sent)
    out, err = process.communicate(timeout=GUARD_S)
    assert process.returncode == code, err
    assert "Traceback" not in err
    assert out == ""
    assert children
    wait_until(
        lambda: not any(Path(f"/proc/{child}").is_dir() for child in children), "a worker lives on"
    )


def test_keyboard_leaves_a_file_to_go_on_from(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [*COMMAND, *LONG_SEARCH],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
    )
    assert process.stderr is not None
    while "impossible" not in process.stderr.readline():
        assert process.poll() is None
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=GUARD_S)
    assert "go on with --resume gatefit-resume.jsonl" in err
    lines = (tmp_path / "gatefit-resume.jsonl").read_text(encoding="utf-8").splitlines()
    assert len(lines) >= 2


def test_reader_that_goes_away_is_told_by_a_code_of_its_own(not_gate: str, tmp_path: Path) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    process = subprocess.run(
        [*COMMAND, "show", not_gate],
        stdout=writer,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
    )
    os.close(writer)
    assert process.stderr == "gatefit: stopped: the reader of standard output is gone\n"
    assert process.returncode == 141


def test_keyboard_during_a_search_in_this_process(
    gatefit: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*arguments: object, **options: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(synth.search, "solve", interrupted)
    ended = gatefit("solve", "q = a")
    assert (ended.code, ended.out, ended.err) == (130, "", "\ngatefit: stopped\n")


EVENTS = [
    SearchStarted(12),
    BoxStarted(1, (1, 1, 1), 2),
    BoxEnded(1, (1, 1, 1), 2, "impossible", 12345, 67890, 0.25),
    BoxStarted(2, (2, 1, 2), 2),
    BoxEnded(2, (2, 1, 2), 2, "found", 20000, 90000, 1.5),
    BoxStarted(3, (1, 1, 5), 2),
    BoxEnded(3, (1, 1, 5), 2, "undecided", 0, 0, 0.0),
    BestImproved((2, 1, 2), 1, 3),
    SearchEnded("found", 1.8),
]

MILESTONES = """\
[1/12] 1 x 1 x 1, delay 2: impossible (12,345 variables, 67,890 clauses, 0.2 s)
[2/12] 2 x 1 x 2, delay 2: found (20,000 variables, 90,000 clauses, 1.5 s)
[3/12] 1 x 1 x 5, delay 2: undecided
best so far: 2 x 1 x 2, delay 1, 3 parts
found after 1.8 s
"""


class Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


def shown_on(stream: io.StringIO) -> str:
    progress = Progress(stream)
    for event in EVENTS:
        progress.event(event)
    return stream.getvalue()


def test_progress_is_a_line_a_milestone_when_piped() -> None:
    assert shown_on(io.StringIO()) == MILESTONES


def test_progress_is_one_changing_line_on_a_terminal() -> None:
    text = shown_on(Screen())
    assert text.split("\n")[1:] == ["found after 1.8 s", ""]
    # What is left on the first line when all has been overwritten is the best layout.
    assert text.split("\n")[0].rpartition("\r")[2] == "best so far: 2 x 1 x 2, delay 1, 3 parts"
    assert all(len(piece) < 80 for piece in text.replace("\n", "\r").split("\r"))


def test_terminal_line_tells_cube_bound_and_best() -> None:
    stream = Screen()
    progress = Progress(stream)
    for event in (
        SearchStarted(12),
        BoundRaised("volume", 8),
        BestImproved((2, 1, 5), 1, 3),
        BoxStarted(4, (2, 2, 2), 2, "cube 1 of 2, q at [0, 0, 0] on -x"),
    ):
        progress.event(event)
    shown = stream.getvalue().rpartition("\r")[2]
    seconds, _, rest = shown.partition(" s, ")
    assert seconds.isdigit()
    assert rest.startswith("volume 8 or more, best 2 x 1 x 5: [1/12] 2 x 2 x 2, delay 2, cube")


def test_progress_never_stops_a_search() -> None:
    stream = io.StringIO()
    progress = Progress(stream)
    stream.close()
    for event in EVENTS:
        progress.event(event)
