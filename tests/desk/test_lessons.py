"""Every lesson begins with a layout that fails, and can be completed by the edits of a hand."""

from __future__ import annotations

from typing import Any

import pytest

from synth.desk.design import Design
from synth.desk.edits import edited
from synth.desk.lessons import LESSONS, Lesson, lesson_named
from synth.simulator import check


def put(*parts: dict[str, Any]) -> dict[str, Any]:
    return {"kind": "put", "parts": list(parts)}


def buffer(at: list[int], to: str) -> dict[str, Any]:
    return {"at": at, "part": "buffer", "to": to, "delay": 1}


def inverter(at: list[int], on: str) -> dict[str, Any]:
    return {"at": at, "part": "inverter", "on": on}


SOLUTIONS: dict[int, list[dict[str, Any]]] = {
    1: [put(inverter([0, 0, 1], "-z"))],
    2: [put(buffer([9, 0, 1], "+x"))],
    3: [put(buffer([0, 0, 1], "+x"))],
    4: [put({"at": [0, 0, 1], "part": "solid"})],
    5: [put({"at": [1, 0, 1], "part": "clear"})],
    6: [put(buffer([1, 0, 1], "+x"), buffer([3, 0, 1], "-x"))],
    7: [
        {"kind": "put", "empty": [[0, 0, 1], [1, 0, 1]]},
        put(inverter([1, 0, 0], "-x")),
    ],
    8: [put(inverter([1, 0, 2], "+y"), inverter([0, 0, 2], "-z"))],
    9: [put(buffer([1, 1, 3], "+x"), buffer([2, 0, 3], "-x"), inverter([0, 0, 2], "+x"))],
    10: [{"kind": "slice", "axis": "y", "at": 1, "out": True}],
}


def completed(lesson: Lesson) -> Design:
    design = lesson.start
    for edit in SOLUTIONS[lesson.number]:
        design = edited(design, edit).design
    return design


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda lesson: lesson.title)
def test_a_lesson_begins_with_what_fails_and_ends_with_what_passes(lesson: Lesson) -> None:
    assert not lesson.done(lesson.start)
    done = completed(lesson)
    assert lesson.done(done), check(done.layout).faults
    # Every edit of the solution is needed.
    for left_out in range(len(SOLUTIONS[lesson.number])):
        design = lesson.start
        for number, edit in enumerate(SOLUTIONS[lesson.number]):
            if number != left_out:
                design = edited(design, edit).design
        assert not lesson.done(design)


def test_there_are_ten_each_with_its_own_name_and_a_solution() -> None:
    assert [lesson.number for lesson in LESSONS] == list(range(1, 11)) == sorted(SOLUTIONS)
    assert len({lesson.title for lesson in LESSONS}) == 10
    assert lesson_named("lesson 3") is LESSONS[2]
    assert lesson_named("lesson 11") is None


def test_what_was_given_may_not_be_changed_nor_the_goal() -> None:
    lesson = LESSONS[2]
    unlocked = Design(completed(lesson).layout)
    spoilt = edited(unlocked, {"kind": "put", "empty": [[1, 0, 1]]}).design
    easier = edited(spoilt, {"kind": "function", "text": "q = 1'b0"}).design
    assert not lesson.done(easier)
    other = edited(completed(lesson), {"kind": "unpin", "name": "q"}).design
    assert not lesson.done(other)


def test_one_lesson_works_alone_and_fails_only_in_a_stack() -> None:
    layout = LESSONS[6].start.layout
    assert check(layout.replace(stack=None)).outputs == {"q": "1100", "r": "0101"}
    assert not check(layout).passes
