"""Cubes cover their question, in every tiny box; a search in cubes answers as one without."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from synth.encoding import Question, encode
from synth.errors import InputError
from synth.medium import Direction, Joint, Size
from synth.questions.cubes import narrowed, read_cube, split
from synth.questions.events import BoxEnded, BoxStarted
from synth.questions.journal import Journal
from synth.questions.problem import Problem
from synth.search import Status, solve
from synth.spec import Limits, Spec
from tests.encoding.every_layout import as_key, models
from tests.encoding.test_symmetry import CASES, orbit, spec_of
from tests.waiting import Clock, Log, TooHard

XOR = "q = a ^ b"
TIGHT: dict[str, Any] = {"length": 2, "width": 2, "height": 3, "delay": 2, "stack": "y"}


@pytest.fixture
def eager(monkeypatch: pytest.MonkeyPatch) -> None:
    """Small questions are split, too, when they are the last."""
    monkeypatch.setattr("synth.search.walk.questioner.LEAST_SPLIT", 0)


# Without symmetry breaking the boxes with the most layouts would take minutes.
@pytest.mark.parametrize(
    ("symmetry", "size", "column", "faces", "joint", "axis", "delay"),
    [(True, *case) for case in CASES] + [(False, *CASES[number]) for number in (1, 4)],
    ids=str,
)
def test_layouts_of_the_cubes_are_all_layouts_up_to_images(
    symmetry: bool,
    size: Size,
    column: str,
    faces: tuple[Direction, ...] | None,
    joint: Joint,
    axis: str | None,
    delay: int,
) -> None:
    spec = spec_of(column, faces, joint, axis)
    question = Question(spec, size, delay, break_symmetry=symmetry)
    plain = replace(question, break_symmetry=False)
    every = {as_key(layout) for layout in models(encode(plain))}
    cubes = split(question) or [None]
    assert len(cubes) > 1 or (symmetry and faces)
    held = [
        {
            as_key(layout): layout
            for layout in models(encode(replace(question, spec=narrowed(spec, cube))))
        }
        for cube in cubes
    ]
    assert sum(map(len, held)) == len(set().union(*held)), "cubes share a layout"
    assert set().union(*held) <= every
    if not symmetry:
        assert set().union(*held) == every
    layouts = {key: layout for cube in held for key, layout in cube.items()}
    assert set().union(*(orbit(layout, plain) for layout in layouts.values())) == every


@pytest.mark.parametrize(
    ("text", "size", "delay", "has"),
    [("q = ~(a | b)", (1, 2, 3), 1, True), (XOR, (2, 2, 3), 2, False), ("q = ~a", (2, 2, 2), 1, 1)],
)
def test_cubes_answer_as_their_question(text: str, size: Size, delay: int, has: bool) -> None:
    spec = Spec.parse(text, stack="y")
    question = Question(spec, size, delay)
    answers = [
        next(models(encode(replace(question, spec=narrowed(spec, cube)))), None)
        for cube in split(question)
    ]
    assert len(answers) > 1
    assert any(answers) == has
    assert (next(models(encode(question)), None) is not None) == has


def test_the_pin_with_the_fewest_places_is_held_and_outputs_come_first() -> None:
    spec = Spec.parse("s = a ^ b; c = a & b", stack="y", output_faces=["+x"])
    pins = dict(spec.pins)
    pins["c"] = replace(pins["c"], at=(1, 0, 0), faces=None)
    cubes = split(Question(spec.replace(pins=pins), (2, 2, 2), 2))
    assert {cube.pin for cube in cubes} == {"s"}
    assert {(cube.cell, cube.face) for cube in cubes} == {
        ((1, y, z), Direction.PX) for y in range(2) for z in range(2)
    }
    pins["s"] = replace(pins["s"], at=(1, 1, 1))
    cubes = split(Question(spec.replace(pins=pins), (2, 2, 2), 2))
    assert {cube.pin for cube in cubes} == {"a"}
    everywhere = {
        name: replace(ask, at=(0, 0, 0), faces=(Direction.NX,)) for name, ask in pins.items()
    }
    assert split(Question(spec.replace(pins=everywhere), (2, 2, 2), 2)) == []


@pytest.mark.usefixtures("eager")
@pytest.mark.parametrize("workers", [2, 3])
def test_a_search_in_cubes_answers_as_one_without(workers: int) -> None:
    for text, limits in ((XOR, TIGHT), ("q = ~(a | b)", TIGHT | {"length": 1, "delay": 1})):
        log = Log()
        spec = Spec.parse(text, **limits)
        whole = solve(spec, workers=1)
        split_up = solve(spec, workers=workers, reporter=log)
        assert split_up.status is whole.status
        assert split_up.layout == whole.layout
        assert split_up.claim == whole.claim
        told = [(type(e), e.number, e.cube) for e in log.events if isinstance(e, BoxStarted)]
        ended = [(BoxStarted, e.number, e.cube) for e in log.events if isinstance(e, BoxEnded)]
        assert Counter(told) == Counter(ended)
        assert any(cube.startswith("cube 1 of ") for _, _, cube in told)


def test_one_worker_and_small_boxes_need_no_cubes() -> None:
    for workers in (1, 2):
        log = Log()
        solve(Spec.parse(XOR, **TIGHT), workers=workers, reporter=log)
        assert not any(event.cube for event in log.events if isinstance(event, BoxStarted))


def test_what_used_up_its_share_goes_on_in_cubes(clock: Clock) -> None:
    log = TooHard(clock, (2, 1, 3), share_s=100.0)
    spec = Spec.parse("q = a & b", **TIGHT | {"length": 3, "height": 4})
    outcome = solve(
        spec, time_limit_s=1000, reporter=log, workers=1, without=("structure", "above")
    )
    cubes = [event for event in log.events if isinstance(event, BoxStarted) and event.cube]
    assert {event.size for event in cubes} == {(2, 1, 3)}
    assert outcome.status is Status.FOUND
    whole = solve(spec, workers=1)
    assert outcome.layout is not None
    assert whole.layout is not None
    assert outcome.layout.volume == whole.layout.volume


@pytest.mark.usefixtures("eager")
def test_a_closed_cube_is_never_asked_again(tmp_path: Path) -> None:
    path = tmp_path / "run.jsonl"
    spec = Spec.parse(XOR, **TIGHT)

    def run() -> tuple[Status, int]:
        journal = Journal.of(Problem(spec), "cadical195", 0, path)
        outcome = solve(spec, journal=journal, workers=2)
        return outcome.status, outcome.stats.questions

    status, questions = run()
    assert status is Status.IMPOSSIBLE
    assert run() == (status, 0)
    lines = path.read_text("utf-8").splitlines(keepends=True)
    cubes = [line for line in lines if "cube" in json.loads(line)]
    assert len(cubes) > 2
    # As if killed before the last two answers.
    path.write_text("".join(line for line in lines if line not in cubes[-2:]), encoding="utf-8")
    assert run() == (status, 2)
    assert all(len(json.loads(line).get("size", (1, 1, 1))) == 3 for line in lines)
    assert questions >= len(lines) - 1


@pytest.mark.usefixtures("eager")
def test_cubes_of_another_limit_on_parts_are_told_apart(tmp_path: Path) -> None:
    """Cubes closed for few parts rule out nothing for more of them."""
    spec = Spec.parse("q = ~a", length=1, width=2, height=2, delay=1)
    few = spec.replace(limits=replace(spec.limits, parts=0))
    assert solve(few, workers=2).status is Status.IMPOSSIBLE
    outcome = solve(spec, minimize=["parts"], workers=2)
    assert outcome.status is Status.FOUND
    assert outcome.layout == solve(spec, minimize=["parts"], workers=1).layout


def test_cubes_read_back_and_bad_ones_are_said() -> None:
    question = Question(Spec.parse(XOR, stack="y").replace(limits=Limits()), (2, 2, 2), 1)
    for cube in split(question):
        assert read_cube(cube.document(), "cube") == cube
    good = {"pin": "q", "cell": [0, 0, 0], "face": "-x"}
    for bad, said in (
        ({"cell": [0, 0]}, "2 coordinates"),
        ({"cell": [0, 0, -1]}, "cube.cell"),
        ({"face": "+z"}, "level direction"),
        ({"pin": 3}, "cube.pin"),
    ):
        with pytest.raises(InputError, match=said):
            read_cube(good | bad, "cube")
