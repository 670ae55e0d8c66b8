"""``gatefit library build``: what it says, how it ends, and that no end costs what is answered."""

from __future__ import annotations

import io
import json
import os
import random
import signal
import subprocess
import sys
import threading
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

import synth
from synth.cli.library.progress import BuildEvents, BuildProgress
from synth.library.canonical import Canonical
from synth.library.events import (
    BuildEnded,
    BuildStarted,
    Event,
    JobEnded,
    JobFailed,
    JobStarted,
    RoundStarted,
    Summary,
)
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.questions.statistics import Statistics
from synth.spec import Spec
from tests.cli.conftest import Run
from tests.cli.test_ending import children_of
from tests.library.builds import RECIPE, contents
from tests.waiting import GUARD_S, wait_until

ROOT = Path(synth.__file__).parents[1]

SMALL = """
[functions]
tables = ["10", "0110"]
[[asks]]
delays = [1]
length = 2
width = 1
height = 2
"""
"""Two questions: an inverter, which there is, and an exclusive-or, which there is not."""

HARD = """
solver = "lingeling"
[functions]
tables = ["0110100110010110"]
[time]
first = {first}
most = {first}
[[asks]]
delays = [3]
length = 5
width = 4
height = 5
"""


def events_of(text: str) -> list[dict[str, Any]]:
    """The events of ``--json``; a line that a kill cut short is passed over."""
    return [json.loads(line) for line in text.splitlines(keepends=True) if line.endswith("\n")]


def command(*arguments: str) -> list[str]:
    return [sys.executable, "-m", "synth.cli.main", "library", "build", *arguments]


def started(folder: Path, *arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        command(*arguments),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
    )


@pytest.fixture
def recipe(tmp_path: Path) -> str:
    (tmp_path / "gates.toml").write_text(SMALL)
    return "gates.toml"


@pytest.mark.usefixtures("clock")
def test_builds_and_says_what_came_of_it(gatefit: Run, recipe: str, tmp_path: Path) -> None:
    ended = gatefit("library", "build", recipe, "--workers", "1")
    assert ended.code == 0
    answers, work = ended.out.splitlines()
    assert answers == "gatefit.sqlite: 1 found, 1 impossible, 0 undecided"
    assert work.startswith("2 jobs in ")
    assert work.endswith(" s, 0 answers known before")
    lines = ended.err.splitlines()
    assert lines[:2] == ["2 questions, 0 answered already", "2 questions open, 10 s each"]
    assert lines[2].startswith("[1/2] inverter, free, wire, delay 1: found 1 x 1 x ")
    assert lines[3].startswith("[2/2] xor2, free, wire, delay 1: impossible (")
    listed = gatefit("library", "list", "--proven", "--json").document
    assert [entry["name"] for entry in listed["entries"]] == ["inverter", "xor2"]


@pytest.mark.usefixtures("clock")
def test_built_again_it_has_nothing_left_to_do(gatefit: Run, recipe: str, tmp_path: Path) -> None:
    gatefit("library", "build", recipe, "--store", "one.sqlite", "--quiet")
    before = contents(tmp_path / "one.sqlite")
    ended = gatefit("library", "build", recipe, "--store", "one.sqlite")
    assert ended.code == 0
    assert ended.err == "2 questions, 2 answered already\n"
    assert ended.out.splitlines()[1].startswith("0 jobs in ")
    assert ended.out.endswith("2 answers known before\n")
    assert contents(tmp_path / "one.sqlite") == before


@pytest.mark.usefixtures("clock")
def test_events_as_documents(gatefit: Run, recipe: str) -> None:
    ended = gatefit("library", "build", recipe, "--json", "--workers", "1")
    assert (ended.code, ended.err) == (0, "")
    events = events_of(ended.out)
    assert {(event["format"], event["version"]) for event in events} == {("gatefit-build-event", 1)}
    assert [event["event"] for event in events] == [
        "started", "round", "job", "answer", "job", "answer", "ended"
    ]  # fmt: skip
    assert (events[0]["total"], events[0]["known"]) == (2, 0)
    assert (events[1]["share_s"], events[1]["open"]) == (10, 2)
    first, second = events[3], events[5]
    assert (first["name"], first["table"], first["status"]) == ("inverter", "10", "found")
    assert (first["done"], first["total"], first["delay"]) == (1, 2, 1)
    assert (second["status"], second["size"], second["done"]) == ("impossible", None, 2)
    assert (events[6]["found"], events[6]["impossible"], events[6]["stopped"]) == (1, 1, "")


def test_undecided_questions_are_told_by_the_exit_code(gatefit: Run, tmp_path: Path) -> None:
    (tmp_path / "hard.toml").write_text(HARD.format(first=0.3))
    ended = gatefit("library", "build", "hard.toml")
    assert ended.code == 3
    assert "0 found, 0 impossible, 1 undecided" in ended.out
    assert ended.out.endswith("had all the time of the recipe; raise time.most to go on\n")


def test_a_time_limit_stops_the_build(gatefit: Run, tmp_path: Path) -> None:
    (tmp_path / "hard.toml").write_text(HARD.format(first=600))
    ended = gatefit("library", "build", "hard.toml", "--time-limit", "0.5")
    assert ended.code == 3
    assert ended.out.endswith(
        "stopped: the time limit of 0.5 seconds is up; the same command goes on from there\n"
    )


WRONG = [
    (["none.toml"], "gatefit: none.toml: no such file"),
    (["wrong.toml"], "gatefit: wrong.toml: asks[0].joints[0]: no joint 'glue'; use one of wire"),
    (
        ["gates.toml", "--time-limit", "0"],
        "gatefit: --time-limit: a time limit of 0 seconds cannot",
    ),
    (["gates.toml", "--time-limit", "nan"], "gatefit: --time-limit: a time limit of nan seconds"),
    (
        ["gates.toml", "--without", "order,abov"],
        "gatefit: --without: no acceleration 'abov'; use one of symmetry, order,",
    ),
    (["gates.toml", "--workers", "0"], "gatefit: --workers: 0 is out of range; use 1 to 256"),
    (
        ["gates.toml", "--workers", "2", "--cluster", "tcp://127.0.0.1:1"],
        "gatefit: --workers: --workers has no effect with --cluster; leave one of the two out",
    ),
    (
        ["gates.toml", "--store", "none/one.sqlite"],
        "none/one.sqlite: the store cannot be used (unable to open database file); name a file in",
    ),
    (["gates.toml", "--store", "gates.toml"], "gates.toml: this is no store of gatefit"),
]


@pytest.mark.parametrize(("arguments", "message"), WRONG)
def test_what_cannot_be_used_is_told_before_anything_is_written(
    arguments: list[str], message: str, gatefit: Run, recipe: str, tmp_path: Path
) -> None:
    (tmp_path / "wrong.toml").write_text(SMALL + 'joints = ["glue"]\n')
    before = sorted(path.name for path in tmp_path.iterdir())
    ended = gatefit("library", "build", *arguments)
    assert ended.code == 2
    assert message in ended.err
    assert len(ended.err.splitlines()) == 1
    assert ended.out == ""
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_killed_at_any_moment_it_ends_with_the_same_store_and_solves_nothing_twice(
    tmp_path: Path,
) -> None:
    """``benchmarks/library_kill.py`` does the same twenty times, on a larger recipe."""
    (tmp_path / "gates.toml").write_text(RECIPE)
    alone = started(tmp_path, "gates.toml", "--store", "alone.sqlite", "--quiet")
    alone.communicate(timeout=GUARD_S)
    assert alone.returncode == 0

    chance = random.Random(7)
    answered: Counter[str] = Counter()
    kills = 0
    while True:
        process = started(tmp_path, "gates.toml", "--store", "killed.sqlite", "--json")
        assert process.stdout is not None
        # Some lines, and a moment more: the kill may hit anything.
        lines = [process.stdout.readline() for _ in range(chance.randrange(1, 8))]
        if kills < 2:
            process.kill()
        timer = threading.Timer(chance.uniform(0, 0.1) if kills < 3 else GUARD_S, process.kill)
        timer.start()
        # By the same stream: what it has read ahead would be missing otherwise.
        out = "".join(lines) + process.stdout.read()
        process.communicate()
        timer.cancel()
        events = events_of(out)
        answered.update(event["key"] for event in events if event["event"] == "answer")
        if process.returncode == 0:
            break
        assert process.returncode == -signal.SIGKILL
        kills += 1
    assert kills >= 2
    # The claim tells the number of answers that it rests on: it is compared as well.
    assert contents(tmp_path / "killed.sqlite") == contents(tmp_path / "alone.sqlite")
    assert max(answered.values()) == 1


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for children in /proc")
@pytest.mark.parametrize(
    ("sent", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)], ids=["keyboard", "signal"]
)
def test_stopped_it_says_how_to_go_on_and_leaves_nobody_behind(
    sent: signal.Signals, code: int, tmp_path: Path
) -> None:
    (tmp_path / "hard.toml").write_text(HARD.format(first=600))
    process = started(tmp_path, "hard.toml", "--json")
    assert process.stdout is not None
    while json.loads(process.stdout.readline())["event"] != "job":
        pass
    wait_until(lambda: children_of(process.pid), "no worker is started")
    children = children_of(process.pid)
    process.send_signal(sent)
    out, err = process.stdout.read(), process.communicate(timeout=GUARD_S)[1]
    assert process.returncode == code, err
    assert out == ""
    assert "Traceback" not in err
    assert err.splitlines()[0] == (
        "gatefit: the answers so far are in gatefit.sqlite; the same command goes on from there"
    )
    for child in children:
        assert not Path(f"/proc/{child}").is_dir()


# What is shown


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def asked(text: str) -> Canonical:
    return Canonical.of(Problem(Spec.parse(text, delay=2, stack="y"), ("volume",)))[0]


XOR, NOR = asked("q = a ^ b"), asked("q = ~(a | b)")
ANSWER = Outcome(Status.IMPOSSIBLE, reason="made up", stats=Statistics())
EVENTS: list[Event] = [
    BuildStarted(total=8, known=3),
    RoundStarted(share_s=10, open=5),
    JobStarted("xor", XOR, 10),
    JobStarted("", NOR, 10),
    JobEnded("xor", XOR, ANSWER, 1.25, 4, 8),
    JobFailed("", NOR, "OSError: gone", again=True),
    BuildEnded(Summary()),
]


def test_on_a_terminal_one_line_changes() -> None:
    stream = Terminal()
    progress = BuildProgress(stream)
    shown = []
    for event in EVENTS:
        progress.event(event)
        shown.append(stream.getvalue().rpartition("\r")[2].rstrip())
    assert shown[2] == "[3/8] 10 s for each: xor, stack y, wire, delay 2"
    both = "xor, stack y, wire, delay 2; 1000, stack y, wire, delay 2"
    assert shown[3] == f"[3/8] 10 s for each: {both}"
    assert shown[4] == "[4/8] 10 s for each: 1000, stack y, wire, delay 2"
    assert shown[5] == "[4/8]"
    lines = [line.rpartition("\r")[2] for line in stream.getvalue().split("\n")[:-1]]
    assert lines == [
        "8 questions, 3 answered already",
        "5 questions open, 10 s each",
        "1000, stack y, wire, delay 2: its worker failed (OSError: gone); it is tried again",
    ]
    progress.clear()
    assert stream.getvalue().endswith(" \r")


def test_elsewhere_a_line_a_milestone() -> None:
    stream = io.StringIO()
    progress = BuildProgress(stream)
    for event in EVENTS:
        progress.event(event)
    progress.clear()
    assert stream.getvalue().splitlines() == [
        "8 questions, 3 answered already",
        "5 questions open, 10 s each",
        "[4/8] xor, stack y, wire, delay 2: impossible (1.2 s)",
        "1000, stack y, wire, delay 2: its worker failed (OSError: gone); it is tried again",
    ]


def test_a_terminal_that_is_gone_does_not_stop_a_build() -> None:
    stream = Terminal()
    progress = BuildProgress(stream)
    stream.close()
    for event in EVENTS:
        progress.event(event)


def test_every_event_has_its_document() -> None:
    stream = io.StringIO()
    for event in EVENTS:
        BuildEvents(stream).event(event)
    kinds = [event["event"] for event in events_of(stream.getvalue())]
    assert kinds == ["started", "round", "job", "job", "answer", "failure", "ended"]
