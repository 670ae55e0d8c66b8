"""One window put to a solver, in the calling process, within so many conflicts."""

from __future__ import annotations

import os
import random
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from synth.encoding import Encoding, encode
from synth.encoding.formula import FALSE, TRUE
from synth.encoding.windows import Window, WindowEncoding, encode_window
from synth.layout import Layout
from synth.medium import Block, Cell
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.shrinking.aim import Aim
from synth.simulator import check

SLICE_CONFLICTS = 1_000
"""Conflicts between two looks at the clock."""

OTHER_MODELS = 3
"""How many layouts that the simulator rejects (a signal fades) are put aside, one by one."""

OVERHEAD = 500
"""What drawing a window and looking at its surroundings costs, in conflicts, roughly."""

CLAUSES_A_CONFLICT = 40
"""How many clauses take as long to write as one conflict takes to find, roughly."""


@dataclass(frozen=True)
class Asking:
    """A window, and how to ask.

    Attributes:
        window: the window; its specification carries the limits that the layout must keep.
        conflicts: how many the solver may have.
        seed: for the phases of variables.
        before: what the free cells held: the solver looks there first; None: anywhere first.
        solver: a solver that can be given a budget.
        aim: judges what is found; None: the simulator does, by the window's own specification.
    """

    window: Window
    conflicts: int
    seed: int = 0
    before: Mapping[Cell, Block] | None = field(default=None)
    solver: str = DEFAULT_SOLVER
    aim: Aim | None = None


@dataclass(frozen=True)
class Reply:
    """What came of it.

    Attributes:
        answer: ``found``, ``impossible`` or ``undecided`` (the conflicts were up, or the
            simulator rejected every layout that was tried).
        layout: the layout found.
        effort: conflicts, and the writing of the formula in conflicts: the same in every run.
        clauses: of the formula.
        seconds: for all of it.
    """

    answer: str
    layout: Layout | None = None
    effort: int = 0
    clauses: int = 0
    seconds: float = 0.0


def answer(asking: Asking, until: float | None = None, parent: int | None = None) -> Reply:
    """Ask a window.

    Args:
        asking: what is asked.
        until: when to give up, on the monotonic clock; None: never.
        parent: the process to live as long as; None: none.
    """
    began = time.perf_counter()
    encoding = _encoded(asking)
    clauses = len(encoding.clauses)

    def reply(said: str, layout: Layout | None = None, conflicts: int = 0) -> Reply:
        effort = OVERHEAD + conflicts + clauses // CLAUSES_A_CONFLICT
        return Reply(said, layout, effort, clauses, time.perf_counter() - began)

    if isinstance(encoding, WindowEncoding) and encoding.contradicts_itself:
        return reply("impossible")
    from pysat.solvers import Solver

    with Solver(name=asking.solver, bootstrap_with=encoding.clauses) as solver:
        solver.set_phases(_phases(encoding, asking))
        for _ in range(OTHER_MODELS):
            left = asking.conflicts - solver.accum_stats()["conflicts"]
            found = solved(solver, left, until, parent)
            conflicts = solver.accum_stats()["conflicts"]
            if not found:
                return reply("undecided" if found is None else "impossible", None, conflicts)
            model = solver.get_model()
            layout = encoding.decode(model)
            if _passes(layout, asking):
                return reply("found", layout, conflicts)
            true = set(model)
            choices = encoding.choices
            solver.add_clause([-choice if choice in true else choice for choice in choices])
        return reply("undecided", None, conflicts)


def _encoded(asking: Asking) -> Encoding | WindowEncoding:
    """The formula: of a window that is a whole question, the one with all accelerations.

    That is decided several times sooner. It admits one of several mirror images, of which the
    specification likes all alike; an aim that judges by itself may not.
    """
    whole = None if asking.aim is not None else asking.window.whole
    return encode_window(asking.window) if whole is None else encode(whole)


def solved(
    solver: object,
    left: int,
    until: float | None,
    parent: int | None,
    assumptions: Sequence[int] = (),
) -> bool | None:
    """Whether there is a model, or None if that took too long.

    Args:
        solver: one that can be given a budget.
        left: conflicts that it may take.
        until: when to give up, on the monotonic clock; None: never.
        parent: the process to live as long as; None: none.
        assumptions: literals that a model must have.
    """
    while left > 0:
        solver.conf_budget(min(left, SLICE_CONFLICTS))  # type: ignore[attr-defined]
        # Else python-sat puts a handler of its own in the place of Python's for the keyboard, which
        # jumps out of the solver, and which it leaves behind.
        found: bool | None = solver.solve_limited(  # type: ignore[attr-defined]
            assumptions=assumptions, expect_interrupt=True
        )
        if found is not None:
            return found
        left -= SLICE_CONFLICTS
        if until is not None and time.monotonic() >= until:
            return None
        if parent is not None and os.getppid() != parent:
            os._exit(1)
    return None


def _passes(layout: Layout, asking: Asking) -> bool:
    """Whether the simulator passes a layout."""
    if asking.aim is not None:
        return asking.aim.judge(layout) is not None
    window = asking.window
    return check(layout, window.spec, delay=window.delay, rules=window.rules).passes


def _phases(encoding: Encoding | WindowEncoding, asking: Asking) -> list[int]:
    """What the solver tries first of the static choices: what was there, or at random."""
    generator = random.Random(asking.seed)
    if asking.before is None:
        return [v if generator.random() < 0.2 else -v for v in encoding.choices]
    held = {
        encoding.statics.holds(cell, block)
        for cell, block in asking.before.items()
        if cell in asking.window.free
    } - {TRUE, FALSE}
    return [choice if choice in held else -choice for choice in encoding.choices]
