"""The solver at work on one set of cells: the least number of changes, from below."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import count
from typing import Any

from synth.encoding.formula import FALSE, TRUE
from synth.encoding.geometry import Slot
from synth.encoding.windows import Window, encode_window
from synth.layout import Layout
from synth.medium import Cell
from synth.repairing.asked import Asked
from synth.repairing.counting import Counted, count_changes
from synth.repairing.naming import Naming
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.shrinking.asking import SLICE_CONFLICTS, solved
from synth.simulator.verdict import Verdict

MOST_CHANGES = 12
"""Up to so many changes are counted one by one. A layout that needs more is mended as well, but
then the claim is only that fewer changes were ruled out."""

PROBE_CONFLICTS = 10_000
"""Conflicts spent on finding out whether any changes are enough at all, before they are counted."""

OTHER_MODELS = 20
"""How many layouts that the simulator rejects are put aside, one by one, at one number of changes,
until layouts with short runs of wires are asked for. Where nothing ever ends a repair, it gives up
a number of changes after as many."""

MOST_COUNTERS = 200_000
"""Most variables that count changes from above, where a layout is known and needs too many."""


@dataclass
class Limits:
    """When to stop.

    Attributes:
        deadline: on the monotonic clock, or None.
        stop: asked often; None: never.
    """

    deadline: float | None = None
    stop: Callable[[], bool] | None = None

    @property
    def reached(self) -> bool:
        """Whether it is time to stop."""
        late = self.deadline is not None and time.monotonic() >= self.deadline
        return late or (self.stop is not None and self.stop())

    @property
    def endless(self) -> bool:
        """Whether nothing ever says that it is time to stop."""
        return self.deadline is None and self.stop is None


@dataclass(frozen=True)
class Mended:
    """A layout that the simulator passes, and how many cells and pins of it were changed."""

    layout: Layout
    verdict: Verdict
    changes: int


@dataclass
class Answer:
    """What is known of one set of cells.

    Attributes:
        best: the layout with the fewest changes, or None.
        ruled_out: fewer changes than this are not enough.
        impossible: whether no changes of these cells are enough.
        rejected: a layout that the simulator rejects, if nothing else was found.
        untried: layouts with so many changes, or more, were left out of what was tried, since their
            buffers may be slow in too many ways; None: none were.
        given_up: whether a number of changes was left open because the simulator rejected too many
            layouts, and nothing would have ended that.
    """

    best: Mended | None = None
    ruled_out: int = 1
    impossible: bool = False
    rejected: tuple[Layout, Verdict] | None = None
    given_up: bool = False
    untried: int | None = None

    @property
    def decided(self) -> bool:
        """Whether the number of changes is known to be the least."""
        return self.impossible or (self.best is not None and self.best.changes <= self.ruled_out)

    def offer(self, mended: Mended) -> None:
        """Keep a layout if it has fewer changes."""
        if self.best is None or mended.changes < self.best.changes:
            self.best = mended

    def leave_open(self, changes: int) -> None:
        """Keep in mind that layouts with so many changes were left out of what was tried."""
        self.untried = changes if self.untried is None else min(self.untried, changes)

    def left_open(self, changes: int) -> bool:
        """Whether layouts with so many changes, or fewer, were left out of what was tried."""
        return self.untried is not None and self.untried <= changes


def fewest(
    asked: Asked,
    free: frozenset[Cell],
    answer: Answer,
    limits: Limits,
    tell: Callable[[str], None],
    *,
    at_any_price: bool = True,
) -> Answer:
    """Find the fewest changes in some cells, from below.

    Args:
        asked: what is asked.
        free: the cells that may change.
        answer: what is known of them already; it is added to.
        limits: when to stop.
        tell: is told how far it came, in words.
        at_any_price: whether to go on where a short look leaves open whether any changes do.
    """
    _Search(asked, free, answer, limits, tell).run(at_any_price)
    return answer


class _Search:
    def __init__(
        self,
        asked: Asked,
        free: frozenset[Cell],
        answer: Answer,
        limits: Limits,
        tell: Callable[[str], None],
    ) -> None:
        self.asked, self.free, self.answer = asked, free, answer
        self.limits, self.tell = limits, tell
        layout, most = asked.layout, asked.spec.limits.parts
        fixed = {cell: block for cell, block in layout.cells.items() if cell not in free}
        self.overfull = most is not None and len(fixed) > most
        self.window = Window(
            asked.spec,
            layout.size,
            asked.delay,
            fixed,
            free,
            asked.slots,
            parts=None if most is None else max(0, most - len(fixed)),
            before={cell: layout.cells[cell] for cell in free & layout.cells.keys()},
            rules=asked.rules,
        )
        self.with_short_runs = False

    def run(self, at_any_price: bool) -> None:
        """Probe, then count from below; at last, ask for any changes as long as it takes."""
        answer = self.answer
        with _Asker(self) as asker:
            if self.overfull or asker.contradicts_itself:
                answer.impossible = True
                return
            asker.count(MOST_CHANGES)
            if answer.best is None and self._probe(asker):
                answer.impossible = True
                return
            if answer.best is None and answer.rejected is not None:
                self._short_runs()
            if answer.best is None and not at_any_price:
                return
            while not answer.decided and answer.ruled_out <= asker.most:
                if not self._count(asker):
                    return
            if answer.best is None:
                answer.impossible = self._exhausted(asker)

    def _probe(self, asker: _Asker) -> bool:
        """Look for any changes that are enough; returns whether there are none."""
        found = asker.solve(None, PROBE_CONFLICTS)
        if found:
            asker.read()
        return found is False

    def _count(self, asker: _Asker) -> bool:
        """Ask for one number of changes; returns whether it was decided."""
        changes = self.answer.ruled_out
        self.tell(f"asking for {changes} or fewer changes in {len(self.free)} cells")
        for rejected in count():
            if rejected == OTHER_MODELS:
                self._short_runs()
                if self.answer.decided:
                    return True
                if self.limits.endless:
                    self.answer.given_up = True
                    return False
            found = asker.solve(changes)
            if found is None:
                return False
            if not found:
                if self.answer.left_open(changes):
                    return False
                self.answer.ruled_out = changes + 1
                return True
            asker.read()
            if self.answer.decided:
                return True
        return False

    def _exhausted(self, asker: _Asker) -> bool:
        """Ask for any changes until some are enough; returns whether there are none."""
        for rejected in count():
            if rejected == OTHER_MODELS and self.limits.endless:
                self.answer.given_up = True
                return False
            found = asker.solve(None)
            if not found:
                return found is False and self.answer.untried is None
            asker.read()
            if self.answer.best is not None:
                return False
        return False

    def _short_runs(self) -> None:
        """Look for layouts in which no strength runs out: then the simulator rejects none for that.

        The window's formula leaves the reach to the simulator, and there may be very many layouts
        that fail by it alone. What is found is a layout, and what is not proves nothing.
        """
        if self.with_short_runs:
            return
        self.with_short_runs = True
        self.tell(f"asking for short runs of wires in {len(self.free)} cells")
        with _Asker(self, longest_run=self.asked.rules.reach) as asker:
            if asker.contradicts_itself:
                return
            asker.count(min(len(self.free), MOST_COUNTERS // max(1, len(self.free))))
            changes = None
            for _ in range(OTHER_MODELS * OTHER_MODELS):
                if not asker.solve(changes, PROBE_CONFLICTS):
                    return
                asker.read()
                if self.answer.decided:
                    return
                if self.answer.best is not None:
                    changes = self.answer.best.changes - 1
                    changes = changes if changes <= asker.most else None


class _Asker:
    """A solver with the formula of a search's window, and what it knows of the layouts in it."""

    def __init__(self, search: _Search, longest_run: int | None = None) -> None:
        self.search = search
        self.encoding = encode_window(replace(search.window, longest_run=longest_run))
        self.before = dict(search.window.before)
        self.counted = Counted(())
        self._solver: Any = None

    @property
    def contradicts_itself(self) -> bool:
        """Whether the formula has no model, as writing it showed."""
        return self.encoding.contradicts_itself

    @property
    def most(self) -> int:
        """The largest number of changes that can be asked for."""
        return self.counted.most

    def __enter__(self) -> _Asker:
        return self

    def __exit__(self, *_: object) -> None:
        if self._solver is not None:
            self._solver.delete()

    def count(self, most: int) -> None:
        """Begin the solver, with changes counted up to so many."""
        from pysat.solvers import Solver

        pins = {pin.name: Slot(pin.at, pin.face) for pin in self.search.asked.layout.pins}
        self.counted = count_changes(self.encoding, self.before, pins, most)
        self._solver = Solver(name=DEFAULT_SOLVER, bootstrap_with=self.encoding.clauses)
        self._solver.set_phases(self._as_before())

    def solve(self, changes: int | None, conflicts: int | None = None) -> bool | None:
        """Whether there is a model; None if the limits, or so many conflicts, came first.

        Args:
            changes: no more than so many; None: any number.
            conflicts: how many to spend; None: as many as it takes.
        """
        assumptions = [] if changes is None else self.counted.at_most(changes)
        limits = self.search.limits
        spent = 0
        while not limits.reached and (conflicts is None or spent < conflicts):
            found = solved(self._solver, SLICE_CONFLICTS, limits.deadline, None, assumptions)
            if found is not None:
                return found
            spent += SLICE_CONFLICTS
        return None

    def read(self) -> None:
        """Judge the layout of the solver's model, and put the model aside."""
        asked, answer = self.search.asked, self.search.answer
        model = self._solver.get_model()
        naming = Naming(self.encoding.decode(model), asked.layout, self.search.free)
        rejected = None
        for quick in naming.choices(None if answer.best is None else answer.best.changes):
            if self.search.limits.reached:
                return
            candidate = naming.layout(quick)
            verdict = asked.judge(candidate)
            if verdict.passes:
                self._offer(naming, quick, Mended(candidate, verdict, naming.changes(quick)))
                break
            rejected = (candidate, verdict)
        else:
            answer.rejected = rejected
        if naming.untried is not None:
            answer.leave_open(naming.untried)
        true = set(model)
        choices = self.encoding.choices
        self._solver.add_clause([-choice if choice in true else choice for choice in choices])

    def _offer(self, naming: Naming, quick: Sequence[Cell], mended: Mended) -> None:
        """Keep a layout; if smaller choices were skipped, with as many slow buffers as may be."""
        asked, answer = self.search.asked, self.search.answer
        answer.offer(mended)
        if naming.untried is None:
            return
        for cell in quick:
            if self.search.limits.reached:
                return
            fewer = tuple(other for other in quick if other != cell)
            candidate = naming.layout(fewer)
            verdict = asked.judge(candidate)
            if verdict.passes:
                quick = fewer
                answer.offer(Mended(candidate, verdict, naming.changes(fewer)))

    def _as_before(self) -> list[int]:
        """What the solver tries first: what was there."""
        statics = self.encoding.statics
        held = {statics.holds(cell, block) for cell, block in self.before.items()} - {TRUE, FALSE}
        return [choice if choice in held else -choice for choice in self.encoding.choices]
