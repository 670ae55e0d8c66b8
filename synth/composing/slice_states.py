"""The states between the slices of a row, learnt by asking the circuit that it is to compute.

What the slices behind a place hear of those before it is a state: a kind of assignments of the
groups before that are alike for every output that is still open. D. Angluin, Learning Regular Sets
from Queries and Counterexamples, 1987 (from memory), learns them for automata; here it is done
layer by layer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from random import Random

from synth.circuits.circuit import Circuit

MOST_STATES = 4
"""As many as two signals can tell apart."""

MOST_EXHAUSTED, TRIED = 10, 256
"""Most inputs of which a row is compared in every assignment; of more, in so many at random."""

DRAWN = 6
"""Assignments at random with which what lies before a place is told apart at first."""

Bits = tuple[int, ...]


@dataclass(frozen=True)
class Arrangement:
    """Inputs of a circuit in groups, the first one's slice first.

    Attributes:
        groups: for each slice its inputs, as many for each.
        extra: inputs that may come in where the first slice has its links.
    """

    groups: tuple[tuple[str, ...], ...]
    extra: tuple[str, ...] = ()

    @property
    def inputs(self) -> tuple[str, ...]:
        """All inputs, in the order in which they come in."""
        return (*self.extra, *(name for group in self.groups for name in group))


@dataclass(frozen=True)
class Step:
    """What a slice does in one state and with one assignment of its group.

    Attributes:
        shown: the values of the outputs that are read at this slice.
        next: the state that it hands on; None at the last slice.
    """

    shown: Mapping[str, int]
    next: int | None


Steps = list[dict[tuple[int, Bits], Step]]
"""For each slice: its steps by state and assignment."""


class Learner:
    """Learns the states between the slices of a row.

    Args:
        circuit: what the row is to compute.
        arrangement: of its inputs.
    """

    def __init__(self, circuit: Circuit, arrangement: Arrangement) -> None:
        self.circuit = circuit
        self.count = len(arrangement.groups)
        extra, flat = arrangement.extra, arrangement.inputs
        self.inputs = flat
        self.order = [flat.index(name) for name in circuit.inputs]
        self.wide = len(flat)
        self.group = len(arrangement.groups[0])
        self.letters = list(product((0, 1), repeat=self.group))
        self.place = _places(circuit, arrangement)
        self.states: list[list[Bits]] = [[] for _ in range(self.count)]
        self.states[0] = list(product((0, 1), repeat=len(extra)))
        draw = Random(self.wide)
        self.contexts: list[list[Bits]] = []
        for cut in range(self.count + 1):
            ahead = self.group * (self.count - cut)
            drawn = [tuple(draw.choices((0, 1), k=ahead)) for _ in range(DRAWN)]
            self.contexts.append(list(dict.fromkeys([(0,) * ahead, (1,) * ahead, *drawn])))

    def wrong(self, row: Callable[[Mapping[str, int]], Mapping[str, int]]) -> Bits | None:
        """An assignment in which a row shows something else than the circuit, if one is found.

        All are tried of few inputs, else many at random.

        Args:
            row: what the row shows at the circuit's outputs, by the values of its inputs.
        """
        if self.wide <= MOST_EXHAUSTED:
            tried: list[Bits] = list(product((0, 1), repeat=self.wide))
        else:
            draw = Random(self.wide)
            tried = [tuple(draw.choices((0, 1), k=self.wide)) for _ in range(TRIED)]
        for bits, wanted in zip(tried, self._shown(tried), strict=True):
            if row(dict(zip(self.inputs, bits, strict=True))) != wanted:
                return bits
        return None

    def learn(self, wrong: Bits) -> None:
        """Learn of an assignment in which what was learnt is wrong: all that follows a place in it
        tells states apart.
        """
        for cut in range(1, self.count):
            context = wrong[self.wide - self.group * (self.count - cut) :]
            if context not in self.contexts[cut]:
                self.contexts[cut].append(context)

    def learnt(self) -> Steps | None:
        """The steps of every slice, or None where two signals do not tell enough or nothing."""
        if self.place is None:
            return None
        while True:
            if not self._close():
                return None
            if not self._tell_apart():
                break
        if any(len(states) < 2 for states in self.states[1:]):
            return None
        return [self._steps(cut) for cut in range(self.count)]

    def _close(self) -> bool:
        """Find every state that can be reached; False where there are too many."""
        for cut in range(self.count - 1):
            known = self._signatures(cut + 1, self.states[cut + 1])
            ahead = [state + letter for state in self.states[cut] for letter in self.letters]
            for before, signature in zip(ahead, self._signatures(cut + 1, ahead), strict=True):
                if signature not in known:
                    known.append(signature)
                    self.states[cut + 1].append(before)
            if len(known) > MOST_STATES:
                return False
        return True

    def _tell_apart(self) -> bool:
        """Add a context where what counts as one state differs a slice later; whether any was."""
        for cut in range(self.count - 1):
            known = self._signatures(cut + 1, self.states[cut + 1])
            ahead = [state + letter for state in self.states[cut] for letter in self.letters]
            for before, signature in zip(ahead, self._signatures(cut + 1, ahead), strict=True):
                alike = self.states[cut + 1][known.index(signature)]
                context = self._difference(cut + 1, before, alike)
                if context is not None:
                    self.contexts[cut + 1].append(context)
                    return True
        return False

    def _difference(self, cut: int, one: Bits, other: Bits) -> Bits | None:
        """A context of a place that tells two assignments before it apart, or None."""
        longer = [letter + context for letter in self.letters for context in self.contexts[cut + 1]]
        first, second = (self._values(cut, [before], longer) for before in (one, other))
        for context, own, its in zip(longer, first, second, strict=True):
            if own != its:
                return context
        return None

    def _signatures(self, cut: int, before: Sequence[Bits]) -> list[tuple[Bits, ...]]:
        """What outputs that are still open show, for each assignment before a place."""
        contexts = self.contexts[cut]
        values = self._values(cut, before, contexts)
        many = len(contexts)
        return [tuple(values[many * i : many * (i + 1)]) for i in range(len(before))]

    def _values(self, cut: int, before: Sequence[Bits], contexts: Sequence[Bits]) -> list[Bits]:
        """The outputs read at a slice from a place on, for each pair of assignments."""
        assert self.place is not None
        place = self.place
        shown = self._shown([one + other for one in before for other in contexts])
        still = [name for name in self.circuit.outputs if place[name] >= cut]
        return [tuple(row[name] for name in still) for row in shown]

    def _shown(self, assignments: Sequence[Bits]) -> list[dict[str, int]]:
        """The outputs of the circuit for assignments in the order of the arrangement."""
        masks = [0] * self.wide
        for row, bits in enumerate(assignments):
            for index, bit in enumerate(bits):
                masks[index] |= bit << row
        full = (1 << len(assignments)) - 1
        values = self.circuit.evaluate([masks[index] for index in self.order], full)
        return [
            {name: mask >> row & 1 for name, mask in values.items()}
            for row in range(len(assignments))
        ]

    def _steps(self, cut: int) -> dict[tuple[int, Bits], Step]:
        assert self.place is not None
        pairs = list(product(range(len(self.states[cut])), self.letters))
        ahead = [self.states[cut][state] + letter for state, letter in pairs]
        rest = self.contexts[cut + 1][0]
        shown = self._shown([before + rest for before in ahead])
        following: list[int | None] = [None] * len(pairs)
        if cut + 1 < self.count:
            known = self._signatures(cut + 1, self.states[cut + 1])
            following = [known.index(one) for one in self._signatures(cut + 1, ahead)]
        read = [name for name in self.circuit.outputs if self.place[name] == cut]
        return {
            pair: Step({name: row[name] for name in read}, after)
            for pair, row, after in zip(pairs, shown, following, strict=True)
        }


def _places(circuit: Circuit, arrangement: Arrangement) -> dict[str, int] | None:
    """At which slice each output is read: the last one that it hears; None where it hears none."""
    place = dict.fromkeys(arrangement.extra, 0)
    for number, group in enumerate(arrangement.groups):
        place |= dict.fromkeys(group, number)
    last = [-1, *(place[name] for name in circuit.inputs)]
    for one, other in circuit.ands:
        last.append(max(last[one >> 1], last[other >> 1]))
    found = {name: last[literal >> 1] for name, literal in circuit.outputs.items()}
    return None if min(found.values(), default=-1) < 0 else found
