"""The solver at work on one set of cells: the least number of changes, from below."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations

from synth.encoding.formula import FALSE, TRUE
from synth.encoding.geometry import Slot
from synth.encoding.windows import Window, encode_window
from synth.layout import Layout
from synth.medium import CLEAR, LEDGE, Block, Cell, Direction, Part
from synth.repairing.asked import Asked
from synth.repairing.counting import count_changes
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.shrinking.asking import SLICE_CONFLICTS, solved
from synth.simulator.verdict import Verdict

MOST_CHANGES = 12
"""Up to so many changes are counted one by one. A layout that needs more is mended as well, but
then the claim is only that fewer changes were ruled out."""

PROBE_CONFLICTS = 10_000
"""Conflicts spent on finding out whether any changes are enough at all, before they are counted."""

OTHER_MODELS = 20
"""How many layouts that the simulator rejects are put aside, one by one, at one number of
changes."""


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
    """

    best: Mended | None = None
    ruled_out: int = 1
    impossible: bool = False
    rejected: tuple[Layout, Verdict] | None = None

    @property
    def decided(self) -> bool:
        """Whether the number of changes is known to be the least."""
        return self.impossible or (self.best is not None and self.best.changes <= self.ruled_out)

    def offer(self, mended: Mended) -> None:
        """Keep a layout if it has fewer changes."""
        if self.best is None or mended.changes < self.best.changes:
            self.best = mended


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
        self.encoding = encode_window(self.window)
        self.before = dict(self.window.before)

    def run(self, at_any_price: bool) -> None:
        """Probe, then count from below."""
        if self.overfull or self.encoding.contradicts_itself:
            self.answer.impossible = True
            return
        pins = {pin.name: Slot(pin.at, pin.face) for pin in self.asked.layout.pins}
        counted = count_changes(self.encoding, self.before, pins, MOST_CHANGES)
        from pysat.solvers import Solver

        with Solver(name=DEFAULT_SOLVER, bootstrap_with=self.encoding.clauses) as self.solver:
            self.solver.set_phases(self._as_before())
            if self.answer.best is None and self._probe():
                self.answer.impossible = True
                return
            if self.answer.best is None and not at_any_price:
                return
            while not self.answer.decided and self.answer.ruled_out <= counted.most:
                if not self._count(counted.at_most(self.answer.ruled_out)):
                    return

    def _probe(self) -> bool:
        """Look for any changes that are enough; returns whether there are none."""
        found = self._solve([], PROBE_CONFLICTS)
        if found is False:
            return True
        if found:
            self._read()
        return False

    def _count(self, assumptions: list[int]) -> bool:
        """Ask for one number of changes; returns whether it was decided."""
        changes = self.answer.ruled_out
        for _ in range(OTHER_MODELS):
            self.tell(f"asking for {changes} or fewer changes in {len(self.free)} cells")
            found = self._solve(assumptions, None)
            if found is None:
                return False
            if not found:
                self.answer.ruled_out = changes + 1
                return True
            self._read()
            if self.answer.decided:
                return True
        return False

    def _solve(self, assumptions: list[int], conflicts: int | None) -> bool | None:
        """Whether there is a model; None if the limits, or so many conflicts, came first."""
        spent = 0
        while not self.limits.reached and (conflicts is None or spent < conflicts):
            found = solved(self.solver, SLICE_CONFLICTS, self.limits.deadline, None, assumptions)
            if found is not None:
                return found
            spent += SLICE_CONFLICTS
        return None

    def _read(self) -> None:
        """Judge the layout of the solver's model, and put the model aside."""
        model = self.solver.get_model()
        layout = self.encoding.decode(model)
        rejected = None
        for candidate in _named_as_before(layout, self.asked.layout, self.free):
            verdict = self.asked.judge(candidate)
            if verdict.passes:
                changes = len(changed_cells(self.asked.layout, candidate))
                changes += len(moved_pins(self.asked.layout, candidate))
                self.answer.offer(Mended(candidate, verdict, changes))
                break
            rejected = (candidate, verdict)
        else:
            self.answer.rejected = rejected
        true = set(model)
        choices = self.encoding.choices
        self.solver.add_clause([-choice if choice in true else choice for choice in choices])

    def _as_before(self) -> list[int]:
        """What the solver tries first: what was there."""
        statics = self.encoding.statics
        held = {statics.holds(cell, block) for cell, block in self.before.items()} - {TRUE, FALSE}
        return [choice if choice in held else -choice for choice in self.encoding.choices]


def changed_cells(before: Layout, after: Layout) -> list[Cell]:
    """The cells that hold something else."""
    cells = before.cells.keys() | after.cells.keys()
    return sorted(cell for cell in cells if before.cells.get(cell) != after.cells.get(cell))


def moved_pins(before: Layout, after: Layout) -> list[str]:
    """The names of the pins that sit elsewhere."""
    places = {pin.name: (pin.at, pin.face) for pin in before.pins}
    return [pin.name for pin in after.pins if places[pin.name] != (pin.at, pin.face)]


def _named_as_before(decoded: Layout, before: Layout, free: frozenset[Cell]) -> Iterator[Layout]:
    """A decoded layout with its insulators and slow buffers as they were, where that may be right.

    In the formula clear and ledge are one, and every buffer has the shortest delay. First all
    slow buffers are as they were, then all but one, and so on: the fewest changes first.
    """
    cells: dict[Cell, Block] = dict(decoded.cells)
    slow = []
    for cell in sorted(free & cells.keys() & before.cells.keys()):
        was, now = before.cells[cell], cells[cell]
        if {was.part, now.part} <= {Part.CLEAR, Part.LEDGE}:
            above = cells.get(Direction.PZ.step(cell))
            bears = above is not None and above.part is Part.BUFFER
            cells[cell] = LEDGE if bears or was == LEDGE else CLEAR
        elif was.part is now.part is Part.BUFFER and was.facing is now.facing and was != now:
            slow.append(cell)
    named = before.replace(cells=cells, pins=decoded.pins)
    for count in range(len(slow) + 1):
        for quick in combinations(slow, count):
            yield named.with_cells({cell: before.cells[cell] for cell in slow if cell not in quick})
