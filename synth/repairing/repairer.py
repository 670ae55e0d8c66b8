"""Repair: mends a layout with the fewest changed cells, and says what it ruled out."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Iterable
from dataclasses import replace

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Part, Rules
from synth.questions.in_force import medium_text
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.repairing.asked import Asked, asked_of
from synth.repairing.naming import changed_cells, count_of_changes, moved_pins
from synth.repairing.repaired import Interrupted, Repaired
from synth.repairing.scopes import MOST_FREE, all_at_once, windows_around
from synth.repairing.solving import MOST_CHANGES, Answer, Limits, Mended, fewest
from synth.reviewing import Remedy
from synth.reviewing.comparing import CellChange
from synth.reviewing.remedies import remedies_of
from synth.reviewing.subject import Subject
from synth.reviewing.suspects import suspects
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.simulator.verdict import Verdict
from synth.spec import Spec
from synth.words import counted, ticks

TRIAL_PARTS = 1_000_000
"""Parts that trials of single changes may play in all: some ten seconds."""


def repair(
    layout: Layout,
    spec: Spec | None = None,
    *,
    delay: int | None = None,
    window: Collection[Cell] | None = None,
    locked: Collection[Cell] = (),
    time_limit_s: float | None = None,
    rules: Rules = DEFAULT_RULES,
    progress: Callable[[str], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Repaired:
    """Find the fewest changed cells that make a layout right.

    A single change that a review knows is taken first. Then the solver is asked for one change,
    for two, and so on, in the box, delay and stacking that are asked; the simulator judges what it
    finds. Pins stay where they are unless one of them breaks a rule of pins; a pin that moves
    counts as a change. Where all cells are too many for one formula, windows around what is at
    fault are asked about, and the claim says so.

    Args:
        layout: the layout; it need not be legal.
        spec: what it should do; None: what it says it was made for, or else what it does now where
            that is known.
        delay: ticks that it has to meet; None: the limit of ``spec``, or else what it says it was
            made for, or else its own, or else one that is assumed.
        window: the only cells that may change; None: all.
        locked: cells that may not change.
        time_limit_s: seconds; None: none.
        rules: the rule table.
        progress: is told how far it came, a line each.
        stop: asked often; once it says yes, the repair ends undecided with the best so far.

    Returns:
        What came of it: see ``Repaired``. A layout that is right already is found with 0 changes.
        The layout says it was made for what was asked.

    Raises:
        InputError: if something cannot be used, or nothing says what is asked.
        Interrupted: a KeyboardInterrupt, with what was known by then.
    """
    began = time.monotonic()
    asked = asked_of(layout, spec, delay=delay, window=window, locked=locked, rules=rules)
    deadline = None if time_limit_s is None else began + time_limit_s
    work = _Work(asked, Limits(deadline, stop), progress or (lambda _: None))
    try:
        work.run()
    except KeyboardInterrupt as interrupted:
        raise Interrupted(work.repaired("it was stopped", began)) from interrupted
    reason = "it was stopped" if stop is not None and stop() else ""
    if not reason and time_limit_s is not None and work.limits.reached:
        reason = f"the time limit of {time_limit_s:g} seconds came first"
    return work.repaired(reason, began)


class _Work:
    def __init__(self, asked: Asked, limits: Limits, tell: Callable[[str], None]) -> None:
        self.asked, self.limits, self.tell = asked, limits, tell
        self.answer = Answer()
        self.scope = _scope(asked)

    def run(self) -> None:
        """Work until there is an answer, or the limits end it."""
        asked = self.asked
        if asked.verdict.passes:
            self.answer = Answer(Mended(asked.layout, asked.verdict, 0), 0)
            return
        if not asked.open_cells and not asked.pins_may_move:
            self.answer.impossible = True
            return
        suspects = self._single_change()
        if self.answer.decided:
            return
        if all_at_once(asked):
            fewest(asked, asked.open_cells, self.answer, self.limits, self.tell)
            return
        self._windows(suspects)

    def _single_change(self) -> list[Cell]:
        """Take a single change that trials in the simulator find; the cells that are suspected."""
        subject = self._subject(self.asked.layout, self.asked.verdict)
        places = suspects(subject, subject.effort(TRIAL_PARTS))
        remedy = self._best_remedy(subject, places)
        if remedy is not None:
            places += remedy.change.cells
            self._step_by_step(subject, remedy)
        places += (subject.within(fault.at) for fault in self.asked.verdict.faults)
        return list(dict.fromkeys(places))

    def _subject(self, layout: Layout, verdict: Verdict) -> Subject:
        asked = self.asked
        return Subject(
            layout, asked.spec, asked.delay, asked.rules, verdict, stop=lambda: self.limits.reached
        )

    def _best_remedy(self, subject: Subject, places: list[Cell]) -> Remedy | None:
        """A change that puts everything right, or one that mends a fault, or None."""
        effort = subject.effort(TRIAL_PARTS)
        found, _ = remedies_of(subject, effort, places, allowed=self.asked.open_cells)
        remedies = [remedy for mending in found.values() for remedy in mending]
        return min(remedies, key=lambda remedy: not remedy.passes, default=None)

    def _step_by_step(self, subject: Subject, remedy: Remedy) -> None:
        """Mend one fault after the other by single changes, as long as trials find one."""
        for _ in range(MOST_CHANGES):
            layout = remedy.change.on(subject.layout)
            verdict = self.asked.judge(layout)
            if verdict.passes:
                changes = count_of_changes(self.asked.layout, layout)
                self.answer.offer(Mended(layout, verdict, changes))
                self.tell(f"{counted(changes, 'change')}, found by trying, will do")
                return
            subject = self._subject(layout, verdict)
            following = self._best_remedy(subject, [])
            if following is None:
                return
            remedy = following

    def _windows(self, suspects: list[Cell]) -> None:
        """Look in windows around what is at fault, until one of them has an answer.

        At first shortly, then in those that this left open as long as it takes.
        """
        windows: Iterable[frozenset[Cell]] = windows_around(self.asked, suspects)
        for at_any_price in (False, True):
            left_open = []
            for free in windows:
                if self.limits.reached:
                    return
                self.tell(f"looking at {len(free)} cells around what is at fault")
                here = fewest(
                    self.asked, free, Answer(), self.limits, self.tell, at_any_price=at_any_price
                )
                self.answer.rejected = self.answer.rejected or here.rejected
                self.answer.given_up = self.answer.given_up or here.given_up
                if here.untried is not None:
                    self.answer.leave_open(here.untried)
                better = here.best is not None and (
                    self.answer.best is None or here.best.changes <= self.answer.best.changes
                )
                if better:
                    self.answer = here
                    around = f"in {counted(len(free), 'cell')} around what is at fault"
                    self.scope = _with_pins(self.asked, around)
                    return
                if not here.decided:
                    left_open.append(free)
            windows = left_open

    # The report

    def repaired(self, reason: str, began: float) -> Repaired:
        """What came of it."""
        asked, answer = self.asked, self.answer
        best = answer.best
        result = Repaired(
            self._status(),
            asked.given,
            asked.verdict,
            ruled_out=answer.ruled_out,
            scope=self.scope,
            stated=tuple(_stated(asked)),
            assumed=asked.assumed,
            seconds=time.monotonic() - began,
        )
        if best is not None:
            result = replace(
                result,
                layout=best.layout.replace(made_for=asked.purpose),
                verdict=best.verdict,
                cells=tuple(
                    CellChange(cell, asked.given.cells.get(cell), best.layout.cells.get(cell))
                    for cell in changed_cells(asked.given, best.layout)
                ),
                pins=tuple(
                    (before, after)
                    for before, after in zip(asked.layout.pins, best.layout.pins, strict=True)
                    if after.name in moved_pins(asked.layout, best.layout)
                ),
            )
        elif result.status is Status.REFUSED and answer.rejected is not None:
            layout, verdict = answer.rejected
            result = replace(result, layout=layout, verdict=verdict)
        return replace(result, claim=self._claim(result), reason=self._reason(result, reason))

    def _status(self) -> Status:
        answer = self.answer
        if answer.best is not None:
            return Status.FOUND if answer.decided else Status.UNDECIDED
        if answer.rejected is not None and self._is_a_bug(answer.rejected[0]):
            return Status.REFUSED
        return Status.IMPOSSIBLE if answer.impossible else Status.UNDECIDED

    def _is_a_bug(self, rejected: Layout) -> bool:
        """Whether the formula is exact: no strength can run out in it, so its layout must pass."""
        wires = sum(block.part is Part.WIRE for block in rejected.cells.values())
        return wires + len(rejected.pins) < self.asked.rules.reach

    def _claim(self, result: Repaired) -> str:
        answer = self.answer
        if result.status is not Status.FOUND:
            return ""
        if result.changes == 0:
            return "it is right as it is"
        if result.changes == 1:
            return "one change does; without any the simulator finds it wrong"
        return (
            f"{counted(result.changes, 'change')} do; {answer.ruled_out - 1} or fewer were ruled "
            f"out by the solver ({DEFAULT_SOLVER}, no proof kept), {self.scope}, "
            f"{self._within()}; {self._medium()}"
        )

    def _medium(self) -> str:
        return medium_text(Problem(self.asked.spec, rules=self.asked.rules))

    def _elsewhere(self) -> str:
        """What to do where no change helps as long as the pins stay."""
        if self.asked.pins_may_move:
            return ""
        return "; 'gatefit solve' looks for a layout with its pins elsewhere"

    def _within(self) -> str:
        """The delay and the number of parts that are allowed, in words."""
        most = self.asked.spec.limits.parts
        parts = "" if most is None else f" with at most {counted(most, 'part')}"
        return f"within {ticks(self.asked.delay)}{parts}"

    def _reason(self, result: Repaired, why: str) -> str:
        if result.status is Status.FOUND:
            return ""
        if result.status is Status.IMPOSSIBLE:
            return (
                f"no change makes it right {self._within()}: the solver ruled all "
                f"out, {self.scope}; {self._medium()}{self._elsewhere()}"
            )
        if result.status is Status.REFUSED:
            return "the simulator rejects what the solver found"
        return f"{why or self._ended()}; {self._ruled_out()}, {self.scope}"

    def _ruled_out(self) -> str:
        """Which numbers of changes are not enough, in words."""
        least = self.answer.ruled_out
        if least <= 1:
            return "no number of changes was ruled out"
        return f"{least - 1} or fewer changes were ruled out"

    def _ended(self) -> str:
        """Why it ended before its time, and the way out."""
        answer = self.answer
        if answer.given_up:
            return (
                "the simulator rejects what the solver found, again and again, and nothing would "
                "have ended that: give a time limit, or cells that may change"
            )
        if answer.untried is not None and answer.ruled_out <= MOST_CHANGES:
            return (
                "so many buffers may be slow or quick that not every choice of them was tried: lock"
                " those that shall stay as they are"
            )
        if answer.ruled_out > MOST_CHANGES:
            return f"more than {counted(MOST_CHANGES, 'change')} are not counted one by one"
        answers = "an answer" if answer.best is None else "a better answer"
        return (
            f"no window of up to {MOST_FREE} cells around what is at fault has {answers}, and the "
            "whole box is too large to be asked about at once: say which cells may change"
        )


def _scope(asked: Asked) -> str:
    """Which cells might change, in words, and whether pins might move."""
    if asked.everywhere:
        return _with_pins(asked, "in the whole box")
    return _with_pins(asked, f"in the {counted(len(asked.open_cells), 'cell')} that might change")


def _with_pins(asked: Asked, where: str) -> str:
    """Where changes might be, with what is said of the pins: a claim holds only if they stay."""
    return where if asked.pins_may_move else f"{where}, with its pins where they are"


def _stated(asked: Asked) -> list[str]:
    """What the layout states differently than before."""
    before, after = asked.given, asked.layout
    said = []
    if after.stack is not None and after.stack != before.stack:
        said.append(f"state a pitch of {after.stack.pitch} along {after.stack.axis}")
    if after.ground != before.ground:
        said.append("stand it on ground")
    old = {pin.name: pin.joint for pin in before.pins}
    said += [
        f"give pin {pin.name!r} a {pin.joint} joint"
        for pin in after.pins
        if old[pin.name] is not pin.joint
    ]
    return said
