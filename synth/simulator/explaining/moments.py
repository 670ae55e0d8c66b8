"""Moments: the play worked out in advance, so that a page can be played without a simulator.

A moment is one tick: the state of every inverter and buffer, and the inputs. Two ticks that are
equal in both look the same and go on the same way, so moments that can follow one another form a
graph. It is walked here from the settled moments, using ``play`` only.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Rules
from synth.simulator.explaining.reasons import Reasons, Situation
from synth.simulator.fabric import Fabric
from synth.simulator.play import State, after, dark, frame
from synth.simulator.settling import refuse_illegal

MAX_LOOKS = 150_000
"""The most moments times live cells that are kept, so that a page stays small."""

MAX_JUMP_INPUTS = 5
"""Up to this many inputs, changes between any two assignments are played; above, of one input."""

MAX_PLAYED_INPUTS = 8
"""The most inputs of a layout that is played in advance: every row of inputs is settled."""

MAX_ROWS_LOOKS = 1_000_000
"""The most rows of inputs times parts of a layout that is played in advance: each row is settled,
and its moment kept, even if nothing else fits."""

MAX_SETTLING_TICKS = 1_000
"""The most ticks from the dark state until a layout that oscillates is taken as it is."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One tick.

    Attributes:
        row: the inputs, as a row of counting order, the first input the most significant bit.
        looks: for each live cell, which of its situations it is in.
        outputs: 0 or 1 for each output, in order of pins.
        after: the state that the next tick starts from.
    """

    row: int
    looks: tuple[int, ...]
    outputs: tuple[int, ...]
    after: int


@dataclass(frozen=True, slots=True)
class Moments:
    """A graph of moments.

    Attributes:
        cells: the live cells; those outside the box last, one for each pin, in order of pins.
        situations: for each live cell, the different ones it is found in.
        moments: by number.
        enter: for each state, the moment it is with each row of inputs, as far as played.
        rest: for each row of inputs, the moment in which it settles after the dark start; for a
            row that never settles, a moment that keeps coming back.
        settles: the rows that settle.
        jumps: ``all``: any row may follow any settled one; ``one``: rows that differ in one
            input; ``some``: not all of those, as there was no room for more.
        free: whether inputs may change at any tick.
    """

    cells: tuple[Cell, ...]
    situations: tuple[tuple[Situation, ...], ...]
    moments: tuple[Moment, ...]
    enter: tuple[dict[int, int], ...]
    rest: dict[int, int]
    settles: frozenset[int]
    jumps: str
    free: bool


def playable(layout: Layout) -> bool:
    """Whether a legal layout is small enough to be played in advance."""
    count = len(layout.inputs)
    return count <= MAX_PLAYED_INPUTS and layout.part_count << count <= MAX_ROWS_LOOKS


def moments_of(
    layout: Layout, rules: Rules = DEFAULT_RULES, *, max_looks: int = MAX_LOOKS
) -> Moments:
    """Play a layout in advance, as far as there is room.

    First every row of inputs is settled. Then every change from one settled row to another is
    played until it settles. Last, inputs change at any tick, if all of that fits.

    Args:
        layout: a legal layout; one copy is played alone even if it stacks.
        rules: the rule table.
        max_looks: the room, in moments times live cells.

    Raises:
        InputError: if the layout is not legal or not ``playable``.
    """
    refuse_illegal(layout, rules)
    if len(layout.inputs) > MAX_PLAYED_INPUTS:
        raise InputError(
            f"{len(layout.inputs)} inputs are too many to play in advance",
            place="pins",
            way_out=f"use at most {MAX_PLAYED_INPUTS}, or play a trace",
        )
    if not playable(layout):
        raise InputError(
            f"{layout.part_count:,} parts and {len(layout.inputs)} inputs are too many to play in "
            "advance",
            way_out="play a trace",
        )
    walk = _Walk(layout, rules, max_looks)
    complete = walk.jump_between_settled()
    jumps = ("all" if walk.jumps_are_free else "one") if complete else "some"
    free = False
    if complete:
        kept = walk.size()
        free = walk.change_at_any_tick()
        if not free:
            walk.cut(kept)
    return walk.result(jumps, free)


class _Full(Exception):
    """There is no room for another moment."""


class _Walk:
    """Builds the graph of moments."""

    def __init__(self, layout: Layout, rules: Rules, max_looks: int) -> None:
        self.rules = rules
        self.reasons = Reasons(layout, rules)
        self.fabric: Fabric = self.reasons.fabric
        self.count = len(layout.inputs)
        self.rows = 1 << self.count
        self.jumps_are_free = self.count <= MAX_JUMP_INPUTS
        self.most = max(self.rows, max_looks // max(1, len(self.reasons.cells)))
        self.states: dict[State, int] = {}
        self.by_number: list[State] = []
        self.enter: list[dict[int, int]] = []
        self.moments: list[Moment] = []
        self.situations: list[dict[Situation, int]] = [{} for _ in self.reasons.cells]
        self.rest: dict[int, int] = {}
        self.settles: set[int] = set()

    # Growing.

    def jump_between_settled(self) -> bool:
        """Settle rows, and play every change of inputs from every settled moment.

        Returns:
            Whether there was room for all of them.
        """
        try:
            ahead = deque(self._settled(row) for row in range(self.rows))
            seen = set(ahead)
            while ahead:
                start = ahead.popleft()
                for row in self._changes(self.moments[start].row):
                    end = self._play_to_rest(self.moments[start].after, row)
                    if end not in seen:
                        seen.add(end)
                        ahead.append(end)
        except _Full:
            return False
        return True

    def change_at_any_tick(self) -> bool:
        """Play every row of inputs from every state; returns whether there was room for all."""
        state = 0
        try:
            while state < len(self.by_number):
                for row in range(self.rows):
                    self._moment(state, row)
                state += 1
        except _Full:
            return False
        return True

    def size(self) -> tuple[int, int]:
        """The numbers of states and moments, for ``cut``."""
        return len(self.by_number), len(self.moments)

    def cut(self, size: tuple[int, int]) -> None:
        """Forget everything that was added since ``size``."""
        states, moments = size
        del self.enter[states:]
        del self.moments[moments:]
        for entries in self.enter:
            for row in [row for row, moment in entries.items() if moment >= moments]:
                del entries[row]

    def _changes(self, row: int) -> Iterable[int]:
        if self.jumps_are_free:
            return (other for other in range(self.rows) if other != row)
        return (row ^ 1 << bit for bit in range(self.count))

    def _settled(self, row: int) -> int:
        """The moment in which a row of inputs settles, played from the dark state."""
        inputs = self._bits(row)
        state = dark(self.fabric)
        for _ in range(MAX_SETTLING_TICKS):
            following = after(self.fabric, state, frame(self.fabric, state, inputs, self.rules))
            if following == state:
                self.settles.add(row)
                break
            state = following
        self.rest[row] = self._moment(self._number(state), row)
        return self.rest[row]

    def _play_to_rest(self, state: int, row: int) -> int:
        """Play on with fixed inputs until a moment comes back, and return that moment."""
        seen = set()
        moment = self._moment(state, row)
        while moment not in seen:
            seen.add(moment)
            moment = self._moment(self.moments[moment].after, row)
        return moment

    # One moment.

    def _moment(self, state: int, row: int) -> int:
        known = self.enter[state].get(row)
        if known is not None:
            return known
        if len(self.moments) >= self.most:
            raise _Full
        now = self.by_number[state]
        shown = frame(self.fabric, now, self._bits(row), self.rules)
        looks = tuple(
            kinds.setdefault(situation, len(kinds))
            for kinds, situation in zip(
                self.situations, self.reasons.situations(now, shown), strict=True
            )
        )
        outputs = tuple(shown.power.seen(port.sight) for port in self.fabric.outputs)
        following = self._number(after(self.fabric, now, shown))
        self.enter[state][row] = len(self.moments)
        self.moments.append(Moment(row, looks, outputs, following))
        return len(self.moments) - 1

    def _number(self, state: State) -> int:
        if state not in self.states:
            self.states[state] = len(self.by_number)
            self.by_number.append(state)
            self.enter.append({})
        return self.states[state]

    def _bits(self, row: int) -> Sequence[int]:
        return [row >> (self.count - 1 - index) & 1 for index in range(self.count)]

    def result(self, jumps: str, free: bool) -> Moments:
        """The graph as it was built."""
        return Moments(
            cells=self.reasons.cells,
            situations=self._used_situations(),
            moments=tuple(self.moments),
            enter=tuple(self.enter),
            rest=self.rest,
            settles=frozenset(self.settles),
            jumps=jumps,
            free=free,
        )

    def _used_situations(self) -> tuple[tuple[Situation, ...], ...]:
        """The situations of each cell that a moment still refers to; later ones were cut."""
        used = [
            1 + max((moment.looks[index] for moment in self.moments), default=-1)
            for index in range(len(self.situations))
        ]
        return tuple(
            tuple(kinds)[:count] for kinds, count in zip(self.situations, used, strict=True)
        )
