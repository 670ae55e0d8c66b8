"""How the command ends when it is stopped, and what it shows while it runs."""

from __future__ import annotations

import io
import os
import shlex
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import synth.cli.show
import synth.search
from synth.cli.shared.ending import keep
from synth.cli.shared.progress import Progress
from synth.errors import OutputError
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


FULL = Path("/dev/full")
"""A device on which nothing can be written, as on a full disk."""

needs_full = pytest.mark.skipif(not FULL.exists(), reason="writes to /dev/full")


def ended(*arguments: str, folder: Path, **streams: object) -> subprocess.CompletedProcess[str]:
    options: dict[str, object] = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | streams
    return subprocess.run(  # type: ignore[call-overload, no-any-return]
        [*COMMAND, *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
        **options,
    )


SMALL_SEARCH = ("solve", "q = ~a", "--length", "1", "--width", "1", "--height", "2", "--delay", "1")


@needs_full
@pytest.mark.parametrize("as_json", [(), ("--json",)], ids=["text", "json"])
def test_an_answer_that_cannot_be_printed_is_kept(as_json: tuple[str, ...], tmp_path: Path) -> None:
    with FULL.open("w") as full:
        process = ended(*SMALL_SEARCH, *as_json, "--quiet", folder=tmp_path, stdout=full)
    assert process.returncode == 74
    kept, why = process.stderr.splitlines()
    assert kept == "gatefit: not printed; it is kept in gatefit-kept-outcome.json"
    assert why == "gatefit: the output cannot be written: no space left on device"
    again = ended("check", "gatefit-kept-outcome.json", folder=tmp_path)
    assert again.returncode == 0


@needs_full
def test_a_layout_that_cannot_be_written_is_printed_and_kept(gatefit: Run) -> None:
    done = gatefit(*SMALL_SEARCH, "--quiet", "--output", str(FULL))
    assert done.code == 74
    assert "q = ~a: found," in done.out
    assert "/dev/full: cannot be written (No space left on device)" in done.err
    assert "it is kept in gatefit-kept-full" in done.err
    assert gatefit("check", "gatefit-kept-full", "--function", "q = ~a").code == 0


@needs_full
@pytest.mark.parametrize("command", ["show", "check", "view", "plan"])
def test_output_to_a_full_disk_has_a_code_of_its_own(
    command: str, not_gate: str, tmp_path: Path
) -> None:
    with FULL.open("w") as full:
        process = ended(command, not_gate, folder=tmp_path, stdout=full)
    assert process.returncode == 74
    assert process.stderr == "gatefit: the output cannot be written: no space left on device\n"


@needs_full
def test_nobody_to_talk_to_changes_no_answer(not_gate: str, tmp_path: Path) -> None:
    with FULL.open("w") as full:
        assert ended("check", not_gate, folder=tmp_path, stderr=full).returncode == 0
        assert ended(*SMALL_SEARCH, folder=tmp_path, stderr=full).returncode == 0


def test_closed_standard_streams(not_gate: str, tmp_path: Path) -> None:
    line = shlex.join([*COMMAND, "check", not_gate])
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    codes = [
        subprocess.run(
            f"{line} {closed}", shell=True, cwd=tmp_path, env=environment, capture_output=True
        ).returncode
        for closed in (">&-", "2>&-", "<&-")
    ]
    assert codes == [74, 0, 0]


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (OSError(28, "No space left on device"), 74, "the output cannot be written: no space"),
        (OSError(5, "Input/output error", "x.bin"), 74, "x.bin: input/output error"),
        (OSError(24, "Too many open files"), 71, "too many open files"),
        (MemoryError(), 71, "this machine has no memory left"),
        (BrokenPipeError(32, "Broken pipe"), 141, "the reader of standard output is gone"),
        (KeyError("x"), 70, "please report this: KeyError: 'x'"),
        (RecursionError("too deep"), 70, "please report this: RecursionError: too deep"),
        (FileNotFoundError(2, "No such file", "x"), 70, "please report this"),
    ],
)
def test_what_no_command_expects(
    error: Exception, code: int, said: str, gatefit: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(argument: str) -> None:
        raise error

    monkeypatch.setattr(synth.cli.show, "read_layout", broken)
    monkeypatch.setattr("tempfile.tempdir", os.getcwd())
    done = gatefit("show", "x.json")
    assert (done.code, done.out) == (code, "")
    assert said in done.err
    assert done.err.count("\n") == 1


def test_what_a_search_found_before_it_failed_is_kept(
    gatefit: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    solve = synth.search.solve

    def failing(*arguments: Any, **options: Any) -> None:
        solve(*arguments, **options)
        raise OutputError("the certificate cannot be written (disk full)", file="proof")

    monkeypatch.setattr(synth.search, "solve", failing)
    done = gatefit(*SMALL_SEARCH, "--quiet")
    assert done.code == 74
    resume, layout, why = done.err.splitlines()
    assert "go on with --resume gatefit-resume.jsonl" in resume
    assert layout.endswith("it is kept in gatefit-kept-layout.json")
    assert why == "gatefit: proof: the certificate cannot be written (disk full)"
    assert gatefit("check", "gatefit-kept-layout.json", "--function", "q = ~a").code == 0
    monkeypatch.undo()


def test_where_nothing_can_be_kept_it_is_said(tmp_path: Path) -> None:
    assert keep("text", "kept", ".txt", [str(tmp_path / "none")]) is None
    first = keep("one", "kept", ".txt", [str(tmp_path / "none"), str(tmp_path)])
    second = keep(b"two", "kept", ".txt", [str(tmp_path)])
    assert first == tmp_path / "kept.txt"
    assert second == tmp_path / "kept-2.txt"
    assert first.read_text() + second.read_text() == "onetwo"


@needs_full
def test_a_frontier_that_cannot_be_written_is_printed_and_kept(gatefit: Run) -> None:
    search = ("frontier", "q = ~a", "--length", "1", "--width", "1", "--height", "2")
    done = gatefit(*search, "--delay", "1", "--quiet", "--json", "-o", "gates")
    assert done.code == 0
    Path("gates/frontier.json").unlink()
    Path("gates/frontier.json").symlink_to(FULL)
    done = gatefit(*search, "--delay", "1", "--quiet", "--json", "-o", "gates")
    assert done.code == 74
    assert done.document["status"] == "found"
    assert "it is kept in gatefit-kept-frontier.json" in done.err
