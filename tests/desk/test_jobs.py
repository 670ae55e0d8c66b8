"""Jobs behind a design: what they gain becomes a version, and they stop when they are told to."""

from __future__ import annotations

import queue
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from synth.desk.design import Design
from synth.desk.desk import Desk
from synth.desk.jobs import Job, Jobs
from synth.desk.session import Session
from synth.errors import InputError
from synth.layout import Layout, MadeFor
from synth.medium import DEFAULT_RULES, SOLID, Direction, Role, inverter
from synth.simulator import check
from synth.simulator.made_for import spec_made_for
from tests.desk.layouts import LOOSE
from tests.simulator.build import enters, leaves
from tests.waiting import GUARD_S


class Watched:
    """A desk whose calls are made in the test's own thread, as they come."""

    def __init__(self, folder: Path, layout: Layout) -> None:
        layout.save(folder / "gate.json")
        self.desk = Desk(folder, folder / "gate.json")
        self.calls: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self.desk.post = self.calls.put
        self.session: Session = self.desk.session("gate.json")
        self.jobs: Jobs = self.desk.jobs(self.session)

    def begin(self, kind: str, seconds: int = 60) -> Job:
        return self.jobs.begin(kind, self.session.design, seconds, DEFAULT_RULES)

    def until(self, condition: Callable[[], object]) -> None:
        while not condition():
            self.calls.get(timeout=GUARD_S)()


@pytest.fixture
def watched(tmp_path: Path) -> Iterator[Callable[[Layout], Watched]]:
    made: list[Watched] = []

    def make(layout: Layout) -> Watched:
        made.append(Watched(tmp_path, layout))
        return made[-1]

    yield make
    for one in made:
        one.desk.close()


def test_a_layout_becomes_smaller_and_each_gain_is_a_version(
    watched: Callable[[Layout], Watched],
) -> None:
    assert check(LOOSE, spec_made_for(LOOSE)).passes
    desk = watched(LOOSE)
    job = desk.begin("smaller", 5)
    desk.until(lambda: job.over)
    assert job.gains
    best = desk.session.version(job.gains[-1]).layout
    assert best.volume < LOOSE.volume
    assert check(best, spec_made_for(LOOSE)).passes
    assert job.best == best.volume
    assert desk.session.design.layout == LOOSE, "a gain is offered, not taken"
    # Versions are in the journal: a desk that is killed has them still.
    again = Session.of(desk.desk.folder, "gate.json")
    assert again.versions == desk.session.versions


def test_one_is_found_for_the_expected_function_with_what_is_locked_kept(
    watched: Callable[[Layout], Watched],
) -> None:
    desk = watched(LOOSE.replace(cells={(0, 0, 2): SOLID}, size=(2, 1, 3), pins=(
        enters("a", (0, 0, 0), "-x"), leaves("q", (1, 0, 1), "+x"),
    )))  # fmt: skip
    desk.session.edit({"kind": "lock", "cells": [[0, 0, 2], [1, 0, 2]]})
    job = desk.begin("find")
    desk.until(lambda: job.over)
    assert "Found." in job.text
    found = desk.session.version(job.gains[-1]).layout
    assert found.cells[0, 0, 2] == SOLID
    assert (1, 0, 2) not in found.cells
    assert check(found, spec_made_for(LOOSE)).passes
    assert [(pin.name, pin.role, pin.face) for pin in found.pins] == [
        ("a", Role.INPUT, Direction.NX),
        ("q", Role.OUTPUT, Direction.PX),
    ]


def test_what_is_broken_is_mended(watched: Callable[[Layout], Watched]) -> None:
    desk = watched(LOOSE.with_cells({(1, 0, 0): None}))
    job = desk.begin("mend")
    desk.until(lambda: job.over)
    mended = desk.session.version(job.gains[-1]).layout
    assert check(mended, spec_made_for(LOOSE)).passes


def test_the_smallest_is_proven_so(watched: Callable[[Layout], Watched]) -> None:
    small = Layout(
        size=(1, 1, 2),
        cells={(0, 0, 0): SOLID, (0, 0, 1): inverter(Direction.NZ)},
        pins=(enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 1), "+x")),
        made_for=MadeFor("q = ~a", 1),
    )
    desk = watched(small)
    job = desk.begin("prove")
    desk.until(lambda: job.over)
    assert "smallest by volume 2" in " ".join(job.text.split())
    assert job.document()["gap"] == 0
    assert not job.gains


def test_a_job_is_stopped_at_any_moment(watched: Callable[[Layout], Watched]) -> None:
    desk = watched(LOOSE)
    jobs = [desk.begin("smaller", 3600) for _ in range(2)]
    desk.until(lambda: any(job.text != "begins" for job in jobs))
    for job in jobs:
        desk.jobs.stop(job.number)
        assert job.over
    with pytest.raises(InputError, match="no job 1 runs"):
        desk.jobs.stop(1)
    with pytest.raises(InputError, match="no job"):
        desk.jobs.begin("fly", Design(LOOSE), 5, DEFAULT_RULES)


def test_a_job_that_cannot_begin_says_why(watched: Callable[[Layout], Watched]) -> None:
    desk = watched(LOOSE.replace(cells={}))
    job = desk.begin("smaller")
    desk.until(lambda: job.over)
    assert "could not begin: " in job.text
    desk.session.edit({"kind": "function", "text": ""})
    other = desk.begin("find")
    desk.until(lambda: other.over)
    assert "no function is expected" in other.text
    assert not job.gains + other.gains
