"""Settling for very many input assignments at once: what rows of copies are judged with.

The three-valued play of section 5, as ``settling`` plays it, made quick in two ways. Who touches
whom never changes, so for every inverter, buffer and output the emitters that it looks at are
collected beforehand, through wires and solids, for both plays: with strength that fades and without
loss. A tick is then one union of emitters each. And an assignment is a bit, 64 to a numpy word.

``settling`` judges layouts; this module plays what is too much for it. It shares the fabric with it
and is held to it by tests.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from synth.medium import DEFAULT_RULES, Rules
from synth.simulator.fabric import Fabric, Sight, Table

Words = npt.NDArray[np.uint64]
"""Bits by row (an input, an output, an emitter) and word: bit ``b`` of word ``w`` is that of
assignment ``64 w + b``."""

FULL = np.uint64(0xFFFF_FFFF_FFFF_FFFF)

_WORDS_AT_ONCE = 1 << 18
"""About how many words a union gathers at once: 2 MB, which a processor's own memory holds."""


@dataclass(frozen=True, slots=True)
class ManyTick:
    """One tick: where each output surely and possibly reads on, and each input is fed back."""

    sure: Words
    possible: Words
    fed_back: Words


class Unions:
    """For each entry of a list the union of the rows of a table that it names.

    Args:
        named: the numbers of rows, for each entry; none gives 0.
        nothing: the number of a row that is always 0.
    """

    def __init__(self, named: Sequence[frozenset[int]], nothing: int) -> None:
        filled = [sorted(numbers) or [nothing] for numbers in named]
        self._rows = np.array([row for numbers in filled for row in numbers], dtype=np.intp)
        starts = [0]
        for numbers in filled:
            starts.append(starts[-1] + len(numbers))
        self._starts = np.array(starts[:-1], dtype=np.intp)

    def of(self, table: Words) -> Words:
        """The unions, a row an entry."""
        if not len(self._starts):
            return np.zeros((0, table.shape[1]), dtype=np.uint64)
        gathered: Words = np.bitwise_or.reduceat(table[self._rows], self._starts, axis=0)
        return gathered

    @property
    def size(self) -> int:
        """Rows that are gathered."""
        return len(self._rows)


class ManyPlay:
    """Plays a fabric for any number of assignments.

    Args:
        fabric: of a layout that stands alone; its inputs are all known.
        rules: the rule table.
    """

    def __init__(self, fabric: Fabric, rules: Rules = DEFAULT_RULES) -> None:
        self.fabric = fabric
        self._devices = fabric.first_input
        self._inverters = fabric.first_buffer
        # Inputs come after the devices, then the fog, of which a layout alone has none: always off.
        sure, possible = (Looks(fabric, reach) for reach in (rules.reach, None))
        leads = [port.lead for port in fabric.inputs]
        self._sure_seen = self._unions(sure)
        self._possible_seen = self._unions(possible)
        self._sure_read = Unions([sure.seen(port.sight) for port in fabric.outputs], fabric.fog)
        self._possible_read = Unions(
            [
                *(possible.seen(port.sight) for port in fabric.outputs),
                *(frozenset() if lead is None else possible.wires[lead] for lead in leads),
            ],
            fabric.fog,
        )
        self._held = np.array([bool(holders) for holders in fabric.holders], dtype=bool)
        self._delays = np.array(fabric.delays, dtype=np.intp)

    def _unions(self, looks: Looks) -> Unions:
        fabric = self.fabric
        seen = [looks.solids[host] for host in fabric.hosts]
        return Unions([*seen, *map(looks.seen, fabric.backs)], fabric.fog)

    @property
    def words_at_once(self) -> int:
        """How many words of assignments are best played at once."""
        return max(1, _WORDS_AT_ONCE // max(1, self._possible_seen.size))

    def play(self, inputs: Words) -> Iterator[ManyTick]:
        """The ticks from 0 to where nothing can change any more, inputs standing still.

        Args:
            inputs: a row for each entry of ``fabric.inputs``.
        """
        words = inputs.shape[1]
        sure = np.zeros((self.fabric.fog + 1, words), dtype=np.uint64)
        sure[self._devices : self.fabric.fog] = inputs
        possible = sure.copy()
        possible[: self._devices] = FULL
        longest = self.fabric.longest_window
        saw_sure: deque[Words] = deque(maxlen=longest)
        saw_possible: deque[Words] = deque(maxlen=longest)
        quiet = 0
        while True:
            yield self._tick(sure, possible, inputs)
            if quiet == longest:
                return
            surely, possibly = self._sure_seen.of(sure), self._possible_seen.of(possible)
            saw_sure.append(surely[self._inverters :])
            saw_possible.append(possibly[self._inverters :])
            next_sure = np.empty_like(surely)
            next_possible = np.empty_like(possibly)
            next_sure[: self._inverters] = ~possibly[: self._inverters]
            next_possible[: self._inverters] = ~surely[: self._inverters]
            next_sure[self._inverters :] = self._throughout(saw_sure)
            next_possible[self._inverters :] = self._ever(saw_possible)
            devices = slice(0, self._devices)
            alike = np.array_equal(next_sure, sure[devices]) and np.array_equal(
                next_possible, possible[devices]
            )
            quiet = quiet + 1 if alike else 0
            sure[devices], possible[devices] = next_sure, next_possible

    def _throughout(self, saw: deque[Words]) -> Words:
        """What each buffer saw at all ticks of its window; unknown where that began before 0."""
        seen = saw[-1].copy()
        for back in range(2, int(self._delays.max(initial=1)) + 1):
            longer = self._delays >= back
            seen[longer] &= saw[-back][longer] if len(saw) >= back else np.uint64(0)
        seen[self._held] = 0
        return seen

    def _ever(self, saw: deque[Words]) -> Words:
        """What each buffer saw at any tick of its window."""
        windows = 2 * self._delays - 1
        seen = saw[-1].copy()
        for back in range(2, int(windows.max(initial=1)) + 1):
            longer = windows >= back
            seen[longer] |= saw[-back][longer] if len(saw) >= back else FULL
        seen[self._held] = FULL
        return seen

    def _tick(self, sure: Words, possible: Words, inputs: Words) -> ManyTick:
        read = self._possible_read.of(possible)
        outputs = len(self.fabric.outputs)
        return ManyTick(self._sure_read.of(sure), read[:outputs], read[outputs:] & ~inputs)


class Looks:
    """Which emitters each wire and solid gets power from.

    Args:
        reach: strength beside a source, or None where it never fades.
    """

    def __init__(self, fabric: Fabric, reach: int | None) -> None:
        givers: list[list[int]] = [[] for _ in fabric.receivers]
        for wire, others in enumerate(fabric.receivers):
            for other in others:
                givers[other].append(wire)
        self.wires = [
            frozenset(
                emitter for near in _within(givers, wire, reach) for emitter in fabric.sources[near]
            )
            for wire in range(len(fabric.receivers))
        ]
        self.solids = [
            frozenset(drivers).union(*(self.wires[wire] for wire in chargers))
            for drivers, chargers in zip(fabric.drivers, fabric.chargers, strict=True)
        ]

    def seen(self, sight: Sight | None) -> frozenset[int]:
        """The emitters that make a buffer or an output see power."""
        if sight is None:
            return frozenset()
        if sight.table is Table.ON:
            return frozenset((sight.index,))
        return (self.wires if sight.table is Table.POWERED else self.solids)[sight.index]


def _within(givers: Sequence[Sequence[int]], wire: int, reach: int | None) -> set[int]:
    """The wires that give a wire strength over less than ``reach`` links, itself included."""
    found, front, steps = {wire}, [wire], 1
    while front and (reach is None or steps < reach):
        front = list({other for one in front for other in givers[one]} - found)
        found.update(front)
        steps += 1
    return found
