"""Finds out whether a circuit is a row of equal slices that hand one signal on.

Adders, comparators, parities and priority chains are such circuits: what switching theory calls
iterative networks. Inputs are arranged in groups, one for each slice (``arrangements``). All that
the slices behind a place hear of those before it is one signal if there are two states at most
there: two kinds of assignments of the groups before, alike for every output that is still open.
States are learnt by asking the circuit, as D. Angluin, Learning Regular Sets from Queries and
Counterexamples, 1987 (from memory), does it for automata, here layer by layer.

What is found is a guess: that the row computes the circuit is for the miter to prove.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations, product
from random import Random

from synth.circuits.circuit import Circuit
from synth.spec import BooleanFunction

LINK_IN, LINK_OUT = "li", "lo"
"""What the link of a slice is called."""

MOST_LOCAL = 4
"""Most inputs of a slice besides its link."""

MOST_STATES = 2
"""As many as one signal can tell apart."""

DRAWN = 6
"""Assignments at random with which what lies before a place is told apart at first."""

Bits = tuple[int, ...]


@dataclass(frozen=True)
class Arrangement:
    """Inputs of a circuit in groups, the first one's slice first.

    Attributes:
        groups: for each slice its inputs, as many for each.
        extra: an input that may come in where the first slice has its link, or None.
    """

    groups: tuple[tuple[str, ...], ...]
    extra: str | None = None


@dataclass(frozen=True)
class Iteration:
    """A row of equal slices that should compute a circuit.

    Attributes:
        function: of one slice. Its inputs are ``i0``, ``i1``, ... and ``LINK_IN``, its outputs
            ``o0``, ... and ``LINK_OUT``; what no slice of the row needs to do is left open.
        inputs, outputs: for each slice the circuit's inputs by the slice's own, and its outputs.
        first: the circuit's input that is the link of the first slice, or its constant value.
        last: the circuit's output that is the link of the last slice, or None.
    """

    function: BooleanFunction
    inputs: tuple[Mapping[str, str], ...]
    outputs: tuple[Mapping[str, str], ...]
    first: str | bool
    last: str | None


def iterations(circuit: Circuit) -> Iterator[Iteration]:
    """Rows of equal slices that should compute a circuit, each slice's function once."""
    known: list[BooleanFunction] = []
    for arrangement in arrangements(circuit.inputs):
        learnt = _Learner(circuit, arrangement).learnt()
        if learnt is None:
            continue
        for found in _Reading(circuit, arrangement, learnt).iterations():
            if found.function not in known:
                known.append(found.function)
                yield found


_INDEXED = re.compile(r"(.*?)\[?(\d+)\]?")


def arrangements(inputs: Sequence[str]) -> Iterator[Arrangement]:
    """Groups of inputs for the slices of a row, from either end.

    Inputs whose names end in the same number are a group, ``a3`` and ``b3`` or ``a[3]`` and
    ``b[3]``; one input may be left, for the link of the first slice. Where names have no numbers,
    every input is a group, in the order given.
    """
    buses: dict[str, dict[int, str]] = {}
    for name in inputs:
        found = _INDEXED.fullmatch(name)
        if found is not None:
            buses.setdefault(found[1], {})[int(found[2])] = name
    wide = [bus for bus in buses.values() if len(bus) > 1]
    groups: list[tuple[str, ...]] = [(name,) for name in inputs]
    left: list[str] = []
    if wide:
        longest = max(wide, key=len)
        places = sorted(longest)
        whole = [bus for bus in wide if sorted(bus) == places]
        groups = [tuple(bus[place] for bus in whole) for place in places]
        grouped = {name for group in groups for name in group}
        left = [name for name in inputs if name not in grouped]
    if len(left) > 1 or len(groups) < 2 or len(groups[0]) > MOST_LOCAL:
        return
    extra = left[0] if left else None
    yield Arrangement(tuple(groups), extra)
    yield Arrangement(tuple(reversed(groups)), extra)


@dataclass(frozen=True)
class _Step:
    """What a slice does in one state and with one assignment of its group.

    Attributes:
        shown: the values of the outputs that are read at this slice.
        next: the state that it hands on; None at the last slice.
    """

    shown: Mapping[str, int]
    next: int | None


_Steps = list[dict[tuple[int, Bits], _Step]]
"""For each slice: its steps by state and assignment."""


class _Learner:
    """Learns the states between the slices of a row.

    Args:
        circuit: what the row is to compute.
        arrangement: of its inputs.
    """

    def __init__(self, circuit: Circuit, arrangement: Arrangement) -> None:
        self.circuit = circuit
        self.count = len(arrangement.groups)
        extra = [] if arrangement.extra is None else [arrangement.extra]
        flat = [*extra, *(name for group in arrangement.groups for name in group)]
        self.order = [flat.index(name) for name in circuit.inputs]
        self.wide = len(flat)
        self.group = len(arrangement.groups[0])
        self.letters = list(product((0, 1), repeat=self.group))
        self.place = _places(circuit, arrangement)
        self.states: list[list[Bits]] = [[] for _ in range(self.count)]
        self.states[0] = [(0,), (1,)] if extra else [()]
        draw = Random(self.wide)
        self.contexts: list[list[Bits]] = []
        for cut in range(self.count + 1):
            ahead = self.group * (self.count - cut)
            drawn = [tuple(draw.choices((0, 1), k=ahead)) for _ in range(DRAWN)]
            self.contexts.append(list(dict.fromkeys([(0,) * ahead, (1,) * ahead, *drawn])))

    def learnt(self) -> _Steps | None:
        """The steps of every slice, or None where one signal does not tell enough or nothing."""
        if self.place is None:
            return None
        while True:
            if not self._close():
                return None
            if not self._tell_apart():
                break
        if any(len(states) < MOST_STATES for states in self.states[1:]):
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

    def _steps(self, cut: int) -> dict[tuple[int, Bits], _Step]:
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
            pair: _Step({name: row[name] for name in read}, after)
            for pair, row, after in zip(pairs, shown, following, strict=True)
        }


def _places(circuit: Circuit, arrangement: Arrangement) -> dict[str, int] | None:
    """At which slice each output is read: the last one that it hears; None where it hears none."""
    place = {arrangement.extra: 0} if arrangement.extra is not None else {}
    for number, group in enumerate(arrangement.groups):
        place |= dict.fromkeys(group, number)
    last = [-1, *(place[name] for name in circuit.inputs)]
    for one, other in circuit.ands:
        last.append(max(last[one >> 1], last[other >> 1]))
    found = {name: last[literal >> 1] for name, literal in circuit.outputs.items()}
    return None if min(found.values(), default=-1) < 0 else found


_Table = dict[tuple[Bits, int], dict[str, int]]
"""Of a slice: for its group and its link the values of its outputs, as far as they are asked."""


class _Reading:
    """Reads the steps of a row as those of equal slices, state by state as 0 or 1.

    Args:
        circuit: what the row is to compute.
        arrangement: of its inputs.
        steps: of every slice.
    """

    def __init__(self, circuit: Circuit, arrangement: Arrangement, steps: _Steps) -> None:
        self.circuit = circuit
        self.arrangement = arrangement
        self.steps = steps
        self.last = len(steps) - 1
        self.read = [list(next(iter(step.values())).shown) for step in steps]
        self.slots = [f"o{i}" for i in range(max(map(len, self.read[:-1])))]

    def iterations(self) -> Iterator[Iteration]:
        """One for each way to begin that works."""
        extra = self.arrangement.extra
        for constant in (False,) if extra is not None else (False, True):
            found = self._from(0, (int(constant), 1 - int(constant)), {}, [])
            if found is not None:
                table, outputs = found
                yield self._iteration(table, outputs, constant if extra is None else extra)

    def _from(
        self, number: int, bits: Sequence[int], table: _Table, before: list[dict[str, str]]
    ) -> tuple[_Table, list[dict[str, str]]] | None:
        """Read the slices from one on; ``bits`` are what the states before it are told as."""
        for names in self._named(number):
            for ahead in ((0, 1), (1, 0)):
                wider = self._with(number, bits, ahead, names, table)
                if wider is None:
                    continue
                named = [*before, names]
                if number == self.last:
                    return wider, named
                found = self._from(number + 1, ahead, wider, named)
                if found is not None:
                    return found
        return None

    def _named(self, number: int) -> Iterator[dict[str, str]]:
        """The outputs that a slice's own may be: of the last slice one may be its link's."""
        own = self.read[number]
        places = [*self.slots, LINK_OUT] if number == self.last else self.slots
        if len(own) <= len(places):
            for chosen in permutations(places, len(own)):
                yield dict(zip(chosen, own, strict=True))

    def _with(
        self,
        number: int,
        bits: Sequence[int],
        ahead: Sequence[int],
        names: Mapping[str, str],
        table: _Table,
    ) -> _Table | None:
        """The table with what a slice asks besides; None where it asks something else."""
        wider = {key: dict(values) for key, values in table.items()}
        for (state, letter), step in self.steps[number].items():
            asked = {slot: step.shown[name] for slot, name in names.items()}
            if step.next is not None:
                asked[LINK_OUT] = ahead[step.next]
            held = wider.setdefault((letter, bits[state]), {})
            if any(held.get(slot, value) != value for slot, value in asked.items()):
                return None
            held |= asked
        return wider

    def _iteration(
        self, table: _Table, outputs: Iterable[dict[str, str]], first: str | bool
    ) -> Iteration:
        group = len(self.arrangement.groups[0])
        inputs = tuple(f"i{i}" for i in range(group))
        columns = dict.fromkeys((*self.slots, LINK_OUT), "")
        for bits in product((0, 1), repeat=group + 1):
            row = table.get((bits[:-1], bits[-1]), {})
            for slot in columns:
                columns[slot] += str(row.get(slot, "-"))
        named = [dict(own) for own in outputs]
        last = named[-1].pop(LINK_OUT, None)
        return Iteration(
            BooleanFunction((*inputs, LINK_IN), columns),
            tuple(dict(zip(inputs, own, strict=True)) for own in self.arrangement.groups),
            tuple(named),
            first,
            last,
        )
