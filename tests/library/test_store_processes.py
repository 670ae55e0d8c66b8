"""Several processes at one store, and processes that are killed while they write."""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest

from synth.errors import InputError
from synth.library import Store
from synth.library import file as file_module
from tests.library.answers import found, question
from tests.waiting import GUARD_S

ROOT = Path(__file__).resolve().parents[2]


def writer(path: Path, first: int, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.library.writer", str(path), str(first), str(count)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )


def require_whole(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []


def test_several_processes_write_and_nothing_is_lost(tmp_path: Path) -> None:
    """They make the store together, too: none has been there before."""
    path = tmp_path / "one.sqlite"
    processes = [writer(path, first, 10) for first in (0, 10, 20)]
    for process in processes:
        process.communicate(timeout=GUARD_S)
        assert process.returncode == 0
    require_whole(path)
    with Store(path, create=False) as store:
        assert store.count() == 31
        for delay in range(30):
            assert store.answer(question(delay=delay).key) == found(6 + delay, parts=3)
        shared = store.answer(question(delay=63, length=64).key)
        assert shared is not None
        assert shared.layout is not None
        assert (shared.layout.volume, shared.bound, shared.seconds) == (35, 29, 30.0)
        assert len(store.ruled_out(question())) == 30


def test_a_writer_killed_at_any_moment_leaves_a_whole_store(tmp_path: Path) -> None:
    """What it said is written is there; of what it had begun, all or nothing."""
    path = tmp_path / "one.sqlite"
    chance = random.Random(5)
    for turn in range(6):
        process = writer(path, 10 * turn, 1_000_000)
        assert process.stdout is not None
        said = [int(process.stdout.readline())]
        timer = threading.Timer(chance.uniform(0, 0.05), process.kill)
        timer.start()
        said += [int(line) for line in process.stdout if line.endswith("\n")]
        process.communicate(timeout=GUARD_S)
        timer.join()
        assert process.returncode == -9
        with Store(path) as store:
            boxes = {no.question.delay for no in store.ruled_out(question())}
            for delay in said:
                assert delay in boxes
            kept = {entry.delay_asked for entry in store.entries()} - {63}
            assert {delay % 60 for delay in boxes} == kept
            for entry in store.entries():
                assert store.answer(entry.key) is not None
        require_whole(path)


def test_a_writer_waits_for_another(tmp_path: Path) -> None:
    path = tmp_path / "one.sqlite"
    holding, wanted, held = threading.Event(), threading.Event(), threading.Event()

    def hold() -> None:
        with Store(path) as store, store.writing():
            store.keep_answer(question(), found(6))
            holding.set()
            wanted.wait(GUARD_S)
            held.set()

    thread = threading.Thread(target=hold)
    thread.start()
    assert holding.wait(GUARD_S)
    with Store(path) as store:
        # Readers see the state before, and do not wait.
        assert store.count() == 0
        store.connection.set_trace_callback(lambda statement: wanted.set())
        assert store.keep_answer(question(delay=4), found(6))
        assert held.is_set()
        assert store.count() == 2
    thread.join()


def test_who_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(file_module, "BUSY_S", 0.05)
    path = tmp_path / "one.sqlite"
    with Store(path) as first, Store(path) as second:
        with first.writing(), pytest.raises(InputError, match="another process is writing"):
            second.keep_answer(question(), found(6))
        assert second.keep_answer(question(), found(6))
