"""``shrink``: a right layout in, a better one out."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.search.workers.solvers import DEFAULT_SOLVER, require_solver
from synth.showing import Shows
from synth.shrinking.aim import Aim, Judged
from synth.shrinking.crew import crew
from synth.shrinking.events import Reporter, ShrinkingEnded, ShrinkingStarted, Silent
from synth.shrinking.given import aim_of, purpose_of, unsaid
from synth.shrinking.journal import Gain, Journal
from synth.shrinking.loop import Loop
from synth.simulator.verdict import Verdict
from synth.spec import Spec


@dataclass(frozen=True)
class Shrunk(Shows):
    """What came of shrinking.

    It never says that no smaller layout exists: windows prove nothing about that.

    Attributes:
        layout: the best layout; the one given if none better was found. It has the name of the one
            given, and says what it was made for: the function asked, and the delay.
        verdict: the simulator's verdict on it.
        start: the layout given.
        gains: every layout that was better than all before, with its time, in order.
        reason: why it ended.
        seconds: the time in all, including that before it was resumed.
        effort: the effort spent in this run (conflicts, and formulas counted as conflicts).
        keeps_limits: whether the layout keeps every limit asked; not if the start broke some and
            no layout that keeps them was found yet.
    """

    layout: Layout
    verdict: Verdict
    start: Layout
    gains: tuple[Gain, ...]
    reason: str
    seconds: float
    effort: int
    keeps_limits: bool = True


def shrink(
    layout: Layout,
    spec: Spec | None = None,
    *,
    minimize: Sequence[str] = ("volume",),
    delay: int | None = None,
    pins: str = "fixed",
    time_limit_s: float | None = 60.0,
    effort: int | None = None,
    seed: int = 0,
    workers: int = 1,
    solver: str = DEFAULT_SOLVER,
    rules: Rules = DEFAULT_RULES,
    resume: str | Path | None = None,
    reporter: Reporter | None = None,
) -> Shrunk:
    """Make a right layout better, under the same function and limits.

    The simulator judges every layout along the way. The result is never worse than the layout
    given, and is not claimed to be the smallest. A layout that breaks limits, or is slower than is
    asked, is brought within them first: to break them by less counts more than any measure.

    Args:
        layout: a layout that passes.
        spec: what it must keep doing, including its limits; None takes the function that it says
            it was made for, or else what it does now.
        minimize: measures, the first counts most: volume, floor, length, width, height, parts,
            delay.
        delay: the ticks allowed; None takes the limit of ``spec``, or else the layout's own delay.
        pins: ``fixed`` (each keeps its face and place on it), ``face`` (anywhere on its face) or
            ``free`` (wherever ``spec`` allows it).
        time_limit_s: seconds; None goes on until nothing is left to try.
        effort: conflicts of the solver (formulas count as well) after which to end. Unlike a time
            limit it ends at the same point in every run.
        seed: the same seed gives the same layout with one worker.
        workers: 1 works in this process; more start that many child processes.
        solver: a solver of python-sat that can be given a budget.
        rules: the rule table.
        resume: a journal to continue from; it also keeps every new gain.
        reporter: gets the events.

    Returns:
        The best layout with its verdict, and every gain.

    Raises:
        InputError: if the layout is not right, or if the journal or an argument cannot be used.
        KeyboardInterrupt: if stopped from the keyboard; ``interrupted.shrunk`` is the result so
            far (``Interrupted``).
    """
    if not require_solver(solver).budget:
        raise InputError(
            f"the solver {solver} cannot be given a budget",
            place="solver",
            way_out=f"use {DEFAULT_SOLVER}",
        )
    if workers < 1:
        raise InputError(f"{workers} workers", place="workers", way_out="use 1 or more")
    aim, judged = aim_of(layout, spec, minimize=minimize, delay=delay, pins=pins, rules=rules)

    def before() -> Aim | None:
        asked = unsaid(layout, spec, rules)
        if asked is None:
            return None
        return aim_of(layout, asked, minimize=minimize, delay=delay, pins=pins, rules=rules)[0]

    journal = Journal.of(aim, layout, None if resume is None else Path(resume), before)
    earlier = journal.gains[-1].seconds if journal.gains else 0.0
    best = min([judged, *(gain.judged for gain in journal.gains)], key=lambda one: one.score)
    watcher = Silent() if reporter is None else reporter
    watcher.event(
        ShrinkingStarted(
            best.layout.size, best.verdict.delay, best.layout.part_count, best is not judged
        )
    )
    askers = crew(workers)
    loop = Loop(
        aim,
        best,
        journal,
        askers,
        seed=seed,
        deadline=None if time_limit_s is None else time.monotonic() + time_limit_s,
        most_effort=effort,
        earlier=earlier,
        solver=solver,
        reporter=watcher,
    )

    asked_delay = delay if spec is None or delay is not None else spec.limits.delay
    purpose = purpose_of(layout, aim.spec.function, asked_delay, aim.delay)

    def stated(judged: Judged) -> Judged:
        # A window's formula knows neither: a layout that comes out of one says nothing of them.
        said, own = purpose.delay, judged.verdict.delay
        if own is not None and "delay" in aim.measures:
            said = own if said is None else min(said, own)
        if own is not None and said is not None and asked_delay is None:
            said = max(said, own)  # Nobody asks it to be as quick as its file wrongly says.
        made_for = replace(purpose, delay=said)
        name = layout.name or judged.layout.name
        return replace(judged, layout=judged.layout.replace(name=name, made_for=made_for))

    def shrunk(reason: str) -> Shrunk:
        found = stated(loop.best)
        return Shrunk(
            found.layout,
            found.verdict,
            layout,
            tuple(replace(gain, judged=stated(gain.judged)) for gain in journal.gains),
            reason,
            loop.seconds,
            loop.effort,
            found.keeps_limits,
        )

    try:
        reason = loop.run()
    except KeyboardInterrupt as stop:
        raise Interrupted(shrunk("it was stopped")) from stop
    finally:
        askers.close()
    watcher.event(ShrinkingEnded(reason, loop.seconds))
    return shrunk(reason)


class Interrupted(KeyboardInterrupt):
    """Stopped from the keyboard; ``shrunk`` holds the result so far."""

    def __init__(self, shrunk: Shrunk) -> None:
        super().__init__()
        self.shrunk = shrunk
