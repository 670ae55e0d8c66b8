"""A window that is a whole question is asked as one, and answered alike."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from synth.encoding.windows import Window, encode_window
from synth.encoding.windows.labels import Labels
from synth.encoding.windows.promises import Promises
from synth.medium import SOLID
from synth.shrinking import asking as asking_module
from synth.shrinking.asking import Asking, answer
from synth.simulator import check
from tests.encoding.test_every_layout import CASES, Case
from tests.encoding.windows.cutting import all_free
from tests.encoding.windows.test_models import asked_of

WHOLE = all_free(asked_of(CASES[0])[0])
CELL = min(WHOLE.free)

OTHERS: dict[str, dict[str, Any]] = {
    "a cell is fixed": {"free": WHOLE.free - {CELL}, "cells": {CELL: SOLID}},
    "a pin stays": {"pins": {**WHOLE.pins, "q": WHOLE.pins["q"][:1]}},
    "few parts": {"parts": 1},
    "something else": {"unlike": {CELL: SOLID}},
    "no buffers": {"buffers": False},
    "some rows": {"rows": (0,)},
    "promises": {"promises": Promises({}, 0)},
    "labels": {"labels": Labels((), {}, {})},
}


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_whole_question_has_the_answer_of_its_window(case: Case) -> None:
    for question in asked_of(case):
        window = all_free(question)
        assert window.whole == replace(question, break_symmetry=True)
        reply = answer(Asking(window, 100_000))
        plain = answer(Asking(replace(window, parts=len(window.free)), 100_000))
        assert reply.answer == plain.answer != "undecided"
        if reply.layout is not None:
            assert check(reply.layout, window.spec, delay=window.delay).passes


@pytest.mark.parametrize("other", OTHERS)
def test_what_asks_for_anything_else_is_no_whole_question(other: str) -> None:
    assert WHOLE.whole is not None
    assert replace(WHOLE, **OTHERS[other]).whole is None


def test_an_aim_that_judges_by_itself_has_the_window_asked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    windows: list[Window] = []

    def noted(window: Window) -> object:
        windows.append(window)
        return encode_window(window)

    class Judge:
        def judge(self, layout: object) -> object:
            return layout

    monkeypatch.setattr(asking_module, "encode_window", noted)
    answer(Asking(WHOLE, 1_000))
    assert not windows
    answer(Asking(WHOLE, 1_000, aim=Judge()))  # type: ignore[arg-type]
    assert windows == [WHOLE]
