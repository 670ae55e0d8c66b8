"""Moves: what is drawn is better by its box, and fits what is asked."""

from __future__ import annotations

import math
import random

from synth.layout import Layout
from synth.medium import DEFAULT_RULES
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.shrinking import own_spec
from synth.shrinking.aim import Judged
from synth.shrinking.asking import answer
from synth.shrinking.given import aim_of
from synth.shrinking.levels import (
    ASKED_WHOLE,
    LABELLED,
    LEVELS,
    QUICK,
    QUICK_BOX,
    QUICK_CUTS,
    QUICK_LEVELS,
)
from synth.shrinking.memory import Memory
from synth.shrinking.moves import Moves, Try
from synth.simulator import check
from synth.spec import Limits
from tests.shrinking.layouts import XOR

SPEC = own_spec(XOR)


def moves_of(layout: Layout, limits: Limits, pins: str = "free") -> tuple[Moves, Judged]:
    spec = SPEC.replace(limits=limits)
    aim, judged = aim_of(
        layout, spec, minimize=("volume",), delay=2, pins=pins, rules=DEFAULT_RULES
    )
    return Moves(aim, Memory(), random.Random(1), DEFAULT_SOLVER, layout.size), judged


def drawn(moves: Moves, base: Judged, count: int) -> list[Try]:
    """Moves as if each were answered with no."""
    found = []
    for _ in range(count):
        move = moves.draw(base)
        assert move is not None
        moves.note(move, "impossible", False, 1_000)
        found.append(move)
    return found


def test_a_refit_frees_a_whole_better_box_and_what_it_finds_is_right() -> None:
    taller = XOR.replace(size=(XOR.length, XOR.width, XOR.height + 2))
    moves, base = moves_of(taller, Limits(length=XOR.length, width=XOR.width))
    moves._swept = (taller.size, QUICK_CUTS)  # They come first, and are another test's.
    refits = [move for move in drawn(moves, base, 200) if move.kind == "refit"]
    assert refits
    for move in refits:
        window = move.asking.window
        assert not window.cells
        assert len(window.free) == math.prod(window.size) <= LEVELS[-1].cells
        assert moves.aim.box_score(window.size) < moves.aim.box_score(taller.size)
    large = (move for move in refits if math.prod(move.asking.window.size) >= XOR.volume)
    layout = next(filter(None, (answer(move.asking).layout for move in large)))
    assert check(layout, SPEC, delay=2).passes


def test_a_small_box_is_asked_for_whatever_works_as_well() -> None:
    """Half of the refits of a small layout are asked plainly, and none of a larger one."""
    small = XOR.replace(size=(XOR.length, XOR.width, ASKED_WHOLE // (XOR.length * XOR.width)))
    large = XOR.replace(size=(XOR.length, XOR.width, XOR.height + 2))
    assert small.volume <= ASKED_WHOLE < large.volume
    for layout, ways in ((small, {"plain", "labels"}), (large, {"labels"})):
        moves, base = moves_of(layout, Limits())
        moves._swept = (layout.size, QUICK_CUTS)
        refits = [move for move in drawn(moves, base, 80) if move.kind == "refit"]
        assert {move.way.asked for move in refits} == ways
        for move in refits:
            assert (move.asking.window.labels is None) == (move.way.asked == "plain")
            assert move.asking.conflicts == LABELLED * LEVELS[move.way.level].conflicts


def test_pins_that_stay_leave_no_room_for_a_refit() -> None:
    moves, base = moves_of(XOR, Limits(), pins="fixed")
    assert "refit" not in moves.kinds(base)


def test_the_first_cuts_of_a_box_cost_little() -> None:
    moves, base = moves_of(XOR, Limits())
    first, *later = drawn(moves, base, 4 * QUICK_CUTS)
    assert first.kind == "cut"
    assert first.way.asked == "labels"
    assert first.way.level in QUICK_LEVELS
    assert first.asking.conflicts <= QUICK
    assert {"fewer", "elsewhere"} <= {move.kind for move in later[QUICK_CUTS:]}
    assert moves._quick_cut(base) is None
    taller = XOR.replace(size=(XOR.length, XOR.width, XOR.height + 1))
    higher = moves.aim.judge(taller)
    assert higher is not None
    assert moves._quick_cut(higher) is not None, "none in a new box"


def test_what_is_near_its_limits_or_large_has_no_quick_cuts() -> None:
    moves, base = moves_of(XOR, Limits(length=XOR.length - 1))
    assert moves._quick_cut(base) is None
    long = XOR.replace(size=(QUICK_BOX, XOR.width, XOR.height))
    moves, base = moves_of(long, Limits())
    assert moves._quick_cut(base) is None


def test_no_window_is_smaller_than_what_a_cut_breaks() -> None:
    moves, base = moves_of(XOR, Limits())
    for move in drawn(moves, base, 40):
        if move.kind == "cut":
            assert len(move.asking.window.free) <= LEVELS[move.way.level].cells


def test_beyond_a_limit_room_along_other_axes_is_no_loss() -> None:
    """A trade may put in slices elsewhere; a box with more room is as good."""
    wide = XOR.replace(stack=None, size=(XOR.length, XOR.width + 1, XOR.height))
    spec = SPEC.replace(stack=None, limits=Limits(width=XOR.width))
    aim, judged = aim_of(
        wide, spec, minimize=("volume",), delay=2, pins="free", rules=DEFAULT_RULES
    )
    longer = (wide.length + 1, wide.width, wide.height)
    assert aim.broken_axes(wide.size) == [1]
    assert not judged.keeps_limits
    assert aim.room(longer) == aim.room(wide.size)
    assert aim.excess(longer, 0) == aim.excess(wide.size, 0) == 1
    assert aim.excess((wide.length + 9, XOR.width, wide.height), 0) == 0
