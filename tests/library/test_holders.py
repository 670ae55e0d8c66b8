"""Several builds on one store: each question is asked by one of them, whoever dies."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from collections import Counter
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from synth.library import Store, holders
from synth.library.build import Build
from synth.library.events import LeftToOthers
from synth.library.holders import LEASE_S, Holder
from tests.library.builds import AtOnce, Noting, impossible, recipe

KEY = "0" * 64


def ended_process() -> Holder:
    """A holder that has ended, on this machine."""
    process = subprocess.Popen(
        [sys.executable, "-c", "input()"], stdin=subprocess.PIPE, stdout=subprocess.DEVNULL
    )
    holder = replace(
        Holder.this(), process=process.pid, started=holders._started(process.pid), name="other"
    )
    assert not holder.is_gone()
    process.kill()
    process.wait()
    process.stdin.close()  # type: ignore[union-attr]
    return holder


def test_one_holds_until_it_lets_go(store: Store) -> None:
    first, second = Holder.this(), Holder.this()
    assert store.hold(KEY, first)
    assert store.hold(KEY, first)
    assert not store.hold(KEY, second)
    assert store.hold("1" * 64, second)
    store.let_go(second)
    assert not store.hold(KEY, second)
    store.let_go(first)
    assert store.hold(KEY, second)


def test_what_the_dead_held_is_free(store: Store) -> None:
    dead = ended_process()
    assert dead.is_gone()
    assert store.hold(KEY, dead)
    assert store.hold(KEY, Holder.this())


def test_a_number_given_to_another_process_is_no_life(store: Store) -> None:
    again = replace(Holder.this(), started="12")
    assert again.is_gone()


def test_a_machine_started_anew_holds_nothing(store: Store) -> None:
    before = replace(Holder.this(), boot="another run")
    assert before.is_gone() is bool(Holder.this().boot)


@pytest.mark.parametrize("change", [{"host": "elsewhere"}, {"space": "another container"}])
def test_of_what_cannot_be_seen_the_lease_decides(
    store: Store, change: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    far = replace(ended_process(), **change)
    assert not far.is_gone()
    assert store.hold(KEY, far)
    assert not store.hold(KEY, Holder.this())
    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + LEASE_S - 1)
    store.hold_on(far)
    monkeypatch.setattr(time, "time", lambda: now + LEASE_S + 1)
    assert not store.hold(KEY, Holder.this())
    monkeypatch.setattr(time, "time", lambda: now + 2 * LEASE_S)
    assert store.hold(KEY, Holder.this())


def test_a_clock_put_back_holds_nothing_for_years(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = time.time()
    far = replace(Holder.this(), host="elsewhere")
    assert store.hold(KEY, far)
    monkeypatch.setattr(time, "time", lambda: now - 100 * LEASE_S)
    assert store.hold(KEY, Holder.this())


def test_what_stands_in_the_table_may_be_anything(store: Store) -> None:
    """A store from elsewhere: whatever it says of holders, a build goes on."""
    for values in (("x", None, b"1", "", -5, 3, "soon"), (1, 2, 3, 4, 1 << 62, 6, 7e300)):
        store.connection.execute("DELETE FROM held")
        store.connection.execute("PRAGMA ignore_check_constraints = ON")
        text = [value if value is not None else "" for value in values]
        store.connection.execute("INSERT INTO held VALUES (?, ?, ?, ?, ?, ?, ?, ?)", [KEY, *text])
        assert store.hold(KEY, Holder.this())


class Slow(AtOnce):
    """Answers each job in a thread, once ``gate`` is open; tells when it has two."""

    def __init__(self, gate: threading.Event) -> None:
        super().__init__(impossible)
        self.gate = gate
        self.both = threading.Event()

    def submit(self, fn: Any, /, *args: Any, **more: Any) -> Future[Any]:
        (job,) = args
        self.jobs.append(job)
        if len(self.jobs) == 2:
            self.both.set()
        future: Future[Any] = Future()

        def answer() -> None:
            self.gate.wait()
            future.set_result(AtOnce(impossible).submit(None, job).result())

        threading.Thread(target=answer).start()
        return future


def test_two_builds_ask_nothing_twice(tmp_path: Path) -> None:
    """The second finds all but the first's chains free, and then waits for the first."""
    path = tmp_path / "one.sqlite"
    given = recipe("0110", "0111", "0001", "1000", delays=(1, 2, 3))
    gate = threading.Event()
    executors = (Slow(gate), AtOnce())
    summaries: list[Any] = [None, None]

    def first() -> None:
        with Store(path) as opened:
            summaries[0] = Build(given, opened, executors[0], 2).run()

    class Opening(Noting):
        def event(self, event: Any) -> None:
            super().event(event)
            if isinstance(event, LeftToOthers):
                gate.set()

    thread = threading.Thread(target=first)
    thread.start()
    assert executors[0].both.wait(60)
    noting = Opening()
    with Store(path) as opened:
        summaries[1] = Build(given, opened, executors[1], 1, noting).run()
    thread.join()
    asked = Counter(job.asked.key for executor in executors for job in executor.jobs)
    assert len(asked) == 12
    assert set(asked.values()) == {1}
    assert [len(executor.jobs) for executor in executors] == [6, 6]
    assert noting.of(LeftToOthers)[0] == LeftToOthers(2)
    assert [summary.impossible for summary in summaries] == [12, 12]
    assert [summary.jobs for summary in summaries] == [6, 6]


def test_what_a_dead_build_held_is_asked_by_the_next(store: Store) -> None:
    given = recipe("0110", delays=(1, 2))
    build = Build(given, store, AtOnce())
    assert store.hold(build.chains[0].box_key, ended_process())
    assert build.run().jobs == 2
    assert store.select("SELECT * FROM held") == []


def test_a_build_that_waits_for_others_stops_at_its_time_limit(store: Store) -> None:
    build = Build(recipe("0110"), store, AtOnce(), time_limit_s=0.2)
    assert store.hold(build.chains[0].box_key, Holder.this())
    summary = build.run()
    assert summary.stopped
    assert (summary.jobs, summary.undecided) == (0, 1)


def test_a_build_that_fails_lets_go(store: Store) -> None:
    class Interrupted(AtOnce):
        def submit(self, fn: Any, /, *args: Any, **more: Any) -> Future[Any]:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        Build(recipe("0110"), store, Interrupted()).run()
    assert store.select("SELECT * FROM held") == []
