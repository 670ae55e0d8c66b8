"""Finds out whether a circuit is a row of equal slices that hand one or two signals on.

Adders, comparators, parities and priority chains are such circuits: what switching theory calls
iterative networks. Inputs are arranged in groups, one for each slice (``arrangements``). What the
slices behind a place hear of those before it is a state: a kind of assignments of the groups before
that are alike for every output that is still open. States are learnt by asking the circuit, as
D. Angluin, Learning Regular Sets from Queries and Counterexamples, 1987 (from memory), does it for
automata, here layer by layer. If equal slices can be told by naming the states alike at every
place, the row is an automaton (``_Naming``), and each way to write its states as bits gives the
function of a slice (``_written``). Two signals can tell four states apart.

What is found is a guess: that the row computes the circuit is for the miter to prove.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice, permutations, product
from random import Random

from synth.circuits.circuit import Circuit
from synth.medium import ChainLink
from synth.spec import BooleanFunction

MOST_LOCAL = 4
"""Most inputs of a slice besides its links."""

MOST_EXTRA = 2
"""Most inputs that belong to no slice: they come in at the links of the first one."""

MOST_STATES = 4
"""As many as two signals can tell apart."""

MOST_AUTOMATA = 4
"""Most ways to number the states of one arrangement that are tried."""

MOST_ROUNDS = 8
"""How often a row that is wrong is learnt from."""

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
class Iteration:
    """A row of equal slices that should compute a circuit.

    Attributes:
        function: of one slice. Its inputs are ``i0``, ``i1``, ... and those of its links, its
            outputs ``o0``, ..., ``e0``, ... (read at the last slice alone) and those of its links.
            What no slice of the row needs to do is left open.
        links: ``lo`` to ``li``, or two of them.
        inputs, outputs: for each slice the circuit's inputs by the slice's own, and its outputs.
        first: for each link the circuit's input that it is at the first slice, or its value.
        last: for each link the circuit's output that it is at the last slice, or None.
    """

    function: BooleanFunction
    links: tuple[ChainLink, ...]
    inputs: tuple[Mapping[str, str], ...]
    outputs: tuple[Mapping[str, str], ...]
    first: tuple[str | bool, ...]
    last: tuple[str | None, ...]

    def shown(self, values: Mapping[str, int]) -> dict[str, int]:
        """What the circuit's outputs are, slice by slice; by its inputs. What is open is 0."""
        function = self.function
        handed = {
            link.input: values[first] if isinstance(first, str) else int(first)
            for link, first in zip(self.links, self.first, strict=True)
        }
        found: dict[str, int] = {}
        for inputs, outputs in zip(self.inputs, self.outputs, strict=True):
            row = 0
            for name in function.inputs:
                row = 2 * row + (handed[name] if name in handed else values[inputs[name]])
            for slot, name in outputs.items():
                found[name] = int(function.outputs[slot][row] == "1")
            for link in self.links:
                handed[link.input] = int(function.outputs[link.output][row] == "1")
        for link, last in zip(self.links, self.last, strict=True):
            if last is not None:
                found[last] = handed[link.input]
        return found


def links_of(count: int) -> tuple[ChainLink, ...]:
    """The links of a slice, as they are called here."""
    if count == 1:
        return (ChainLink("lo", "li"),)
    return tuple(ChainLink(f"lo{number}", f"li{number}") for number in range(count))


def iterations(circuit: Circuit) -> Iterator[Iteration]:
    """Rows of equal slices that should compute a circuit, each slice's function once.

    Of those of one arrangement the first are those whose links need least besides.
    """
    known: list[BooleanFunction] = []
    for arrangement in arrangements(circuit.inputs):
        for one in _arranged(circuit, arrangement):
            if one.function not in known:
                known.append(one.function)
                yield one


def _arranged(circuit: Circuit, arrangement: Arrangement) -> list[Iteration]:
    """The rows of one arrangement; what is found to be wrong is learnt from."""
    learner = _Learner(circuit, arrangement)
    for _ in range(MOST_ROUNDS):
        steps = learner.learnt()
        if steps is None:
            return []
        found = [
            written
            for automaton in islice(_Naming(steps).automata(), MOST_AUTOMATA)
            for written in _written(arrangement, automaton)
        ]
        found.sort(key=_besides)
        wrong = _wrong(circuit, arrangement, found[0]) if found else None
        if wrong is None:
            return found
        learner.learn(wrong)
    return []


def _wrong(circuit: Circuit, arrangement: Arrangement, one: Iteration) -> Bits | None:
    """An assignment in which a row shows something else, in the order of the arrangement.

    All are tried of few inputs, else many at random.
    """
    flat = arrangement.inputs
    if len(flat) <= MOST_EXHAUSTED:
        tried: list[Bits] = list(product((0, 1), repeat=len(flat)))
    else:
        draw = Random(len(flat))
        tried = [tuple(draw.choices((0, 1), k=len(flat))) for _ in range(TRIED)]
    masks = dict.fromkeys(flat, 0)
    for row, bits in enumerate(tried):
        for name, bit in zip(flat, bits, strict=True):
            masks[name] |= bit << row
    full = (1 << len(tried)) - 1
    wanted = circuit.evaluate([masks[name] for name in circuit.inputs], full)
    for row, bits in enumerate(tried):
        shown = one.shown(dict(zip(flat, bits, strict=True)))
        if any(shown[name] != mask >> row & 1 for name, mask in wanted.items()):
            return bits
    return None


def _besides(one: Iteration) -> tuple[int, ...]:
    """What a row needs besides its slices: outputs of their own, links that begin with 1."""
    return len(one.links), len(one.function.outputs), sum(value is True for value in one.first)


_INDEXED = re.compile(r"(.*?)\[?(\d+)\]?")


def arrangements(inputs: Sequence[str]) -> Iterator[Arrangement]:
    """Groups of inputs for the slices of a row, from either end.

    Inputs whose names end in the same number are a group, ``a3`` and ``b3`` or ``a[3]`` and
    ``b[3]``; one or two inputs may be left, for the links of the first slice. Where names have no
    numbers, every input is a group, in the order given. Of groups of one input the first may come
    in at the link, too.
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
    if len(left) > MOST_EXTRA or len(groups) < 2 or len(groups[0]) > MOST_LOCAL:
        return
    for ordered in (groups, groups[::-1]):
        if len(groups[0]) == 1 and not left and len(groups) > 2:
            # A slice less: the first input is what the next one would have of its slice.
            yield Arrangement(tuple(ordered[1:]), ordered[0])
        yield Arrangement(tuple(ordered), tuple(left))


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
        extra, flat = arrangement.extra, arrangement.inputs
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

    def learn(self, wrong: Bits) -> None:
        """Learn of an assignment in which what was learnt is wrong: all that follows a place in it
        tells states apart.
        """
        for cut in range(1, self.count):
            context = wrong[self.wide - self.group * (self.count - cut) :]
            if context not in self.contexts[cut]:
                self.contexts[cut].append(context)

    def learnt(self) -> _Steps | None:
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
    place = dict.fromkeys(arrangement.extra, 0)
    for number, group in enumerate(arrangement.groups):
        place |= dict.fromkeys(group, number)
    last = [-1, *(place[name] for name in circuit.inputs)]
    for one, other in circuit.ands:
        last.append(max(last[one >> 1], last[other >> 1]))
    found = {name: last[literal >> 1] for name, literal in circuit.outputs.items()}
    return None if min(found.values(), default=-1) < 0 else found


_Key = tuple[Bits, int]
"""The assignment of a group, and the state that is handed to it."""


@dataclass(frozen=True)
class _Automaton:
    """Slices that are all equal, with their states by number.

    Attributes:
        states: how many there are.
        shown: what a slice shows at its outputs ``o0``, ..., as far as it is asked.
        ahead: the state that it hands on.
        begins: the state at the first slice for each assignment of the extra inputs.
        outputs: for each slice the circuit's outputs by the slice's own.
        ends: of the outputs that the state behind the last slice tells, their value in each state;
            states that never are there are left out.
    """

    states: int
    shown: Mapping[_Key, Mapping[str, int]]
    ahead: Mapping[_Key, int]
    begins: tuple[int, ...]
    outputs: tuple[Mapping[str, str], ...]
    ends: Mapping[str, Mapping[int, int]]


_Named = Mapping[int, int]
"""At a place between slices: by numbers of the automaton the states there."""


class _Naming:
    """Numbers the states between slices so that all slices are equal.

    Near the last slice states may be one that are two elsewhere, since nothing that is still open
    tells them apart: they have two numbers there.

    Args:
        steps: of every slice.
    """

    def __init__(self, steps: _Steps) -> None:
        self.steps = steps
        self.last = len(steps) - 1
        self.read = [list(next(iter(step.values())).shown) for step in steps]
        self.slots = [f"o{i}" for i in range(max(map(len, self.read[:-1])))]
        self.counts = [1 + max(state for state, _ in step) for step in steps]
        self.states = max(self.counts)
        self.whole = max(n for n, count in enumerate(self.counts) if count == self.states)

    def automata(self) -> Iterator[_Automaton]:
        """One for each way that works."""
        begins = tuple(range(self.counts[0]))
        for found in self._from(0, {state: state for state in begins}, {}, {}, []):
            yield replace(found, begins=begins)

    def _from(
        self,
        number: int,
        named: _Named,
        shown: Mapping[_Key, Mapping[str, int]],
        ahead: Mapping[_Key, int],
        before: list[Mapping[str, str]],
    ) -> Iterator[_Automaton]:
        """Read the slices from one on; ``named`` are the states before it."""
        for outputs in self._slotted(number):
            wider = self._showing(number, named, outputs, shown)
            if wider is None:
                continue
            here = [*before, outputs]
            if number == self.last:
                ends = _Ends(self, named, outputs, ahead).found()
                if ends is not None:
                    further, told = ends
                    yield _Automaton(self.states, wider, further, (), tuple(here), told)
                    return
                continue
            keys = [(letter, own) for own in named for letter in self._letters]
            for longer, following in self._leading(number, named, keys, ahead, {}):
                found = False
                for automaton in self._from(number + 1, following, wider, longer, here):
                    found = True
                    yield automaton
                if found and number > 0:
                    return

    @property
    def _letters(self) -> list[Bits]:
        return [letter for state, letter in self.steps[0] if state == 0]

    def _slotted(self, number: int) -> Iterator[dict[str, str]]:
        """The outputs that a slice's own may be; of the last slice some may be left for its state.

        Those of the last slice are tried with as many of them as can be first.
        """
        own = self.read[number]
        least = 0 if number == self.last else len(own)
        for count in range(min(len(own), len(self.slots)), least - 1, -1):
            for chosen in combinations(own, count):
                for places in permutations(self.slots, count):
                    yield dict(zip(places, chosen, strict=True))

    def _showing(
        self,
        number: int,
        named: _Named,
        outputs: Mapping[str, str],
        shown: Mapping[_Key, Mapping[str, int]],
    ) -> dict[_Key, dict[str, int]] | None:
        """What is shown, with what a slice shows besides; None where it shows something else."""
        wider = {key: dict(values) for key, values in shown.items()}
        for own, state in named.items():
            for letter in self._letters:
                held = wider.setdefault((letter, own), {})
                step = self.steps[number][state, letter]
                for slot, name in outputs.items():
                    if held.setdefault(slot, step.shown[name]) != step.shown[name]:
                        return None
        return wider

    def _leading(
        self,
        number: int,
        named: _Named,
        keys: Sequence[_Key],
        ahead: Mapping[_Key, int],
        following: _Named,
    ) -> Iterator[tuple[Mapping[_Key, int], _Named]]:
        """Where numbers lead at a slice, and the states behind it, in every way there is.

        Args:
            number: of the slice.
            named: the states before it.
            keys: what is to be said.
            ahead: what is known.
            following: the states behind it that are numbered.
        """
        if not keys:
            yield ahead, following
            return
        key, *others = keys
        letter, own = key
        state = self.steps[number][named[own], letter].next
        assert state is not None
        for to in (ahead[key],) if key in ahead else self._numbers(number, state, ahead, following):
            if following.get(to, state) == state:
                longer, further = {**ahead, key: to}, {**following, to: state}
                yield from self._leading(number, named, others, longer, further)

    def _numbers(
        self, number: int, state: int, ahead: Mapping[_Key, int], following: _Named
    ) -> list[int]:
        """The numbers that a state behind a slice may have."""
        has = [own for own, other in following.items() if other == state]
        if has and number + 1 <= self.whole:
            return has
        free = [own for own in range(self.states) if own not in following]
        used = {*ahead.values(), *(own for _, own in ahead), *range(self.counts[0])}
        new = [own for own in free if own not in used]
        # Of those that were nowhere yet any comes to the same.
        return [*has, *(own for own in free if own in used), *new[:1]]


class _Ends:
    """Reads outputs of the last slice off the state that it would hand on.

    Args:
        naming: of the states.
        named: the numbers of those before the last slice.
        outputs: of the last slice those that are read otherwise.
        ahead: where states are known to lead.
    """

    def __init__(
        self,
        naming: _Naming,
        named: _Named,
        outputs: Mapping[str, str],
        ahead: Mapping[_Key, int],
    ) -> None:
        self.states = range(naming.states)
        self.ahead = ahead
        self.names = [name for name in naming.read[naming.last] if name not in outputs.values()]
        self.wanted = {
            (letter, own): tuple(step.shown[name] for name in self.names)
            for own, state in named.items()
            for (its, letter), step in naming.steps[naming.last].items()
            if its == state
        }

    def found(self) -> tuple[Mapping[_Key, int], Mapping[str, Mapping[int, int]]] | None:
        """Where states lead, with what the last slice adds, and what each state tells."""
        told: dict[int, Bits] = {}
        for key, values in self.wanted.items():
            if key in self.ahead and told.setdefault(self.ahead[key], values) != values:
                return None
        further = dict(self.ahead)
        for key, values in self.wanted.items():
            if key in further or not self.names:
                continue
            # Nothing else says where this leads: to a state that tells the same, or a new one.
            alike = [state for state in self.states if told.get(state, values) == values]
            if not alike:
                return None
            further[key] = max(alike, key=lambda state: state in told)
            told[further[key]] = values
        ends = {
            name: {state: values[index] for state, values in told.items()}
            for index, name in enumerate(self.names)
        }
        return further, ends


def _written(arrangement: Arrangement, automaton: _Automaton) -> Iterator[Iteration]:
    """The row for each way to write the states of its slices as the values of links."""
    count = 1 if automaton.states == 2 else 2
    for codes in permutations(product((0, 1), repeat=count), automaton.states):
        first = _first(arrangement, [codes[state] for state in automaton.begins])
        if first is not None:
            yield _Writing(arrangement, automaton, codes).iteration(first)


def _first(arrangement: Arrangement, begins: Sequence[Bits]) -> tuple[str | bool, ...] | None:
    """What the links of the first slice are; None where one is neither an input nor a constant."""
    assignments = product((0, 1), repeat=len(arrangement.extra))
    inputs = dict(zip(zip(*assignments, strict=True), arrangement.extra, strict=True))
    found: list[str | bool] = []
    for values in zip(*begins, strict=True):
        if len(set(values)) == 1:
            found.append(bool(values[0]))
        elif values in inputs and inputs[values] not in found:
            found.append(inputs[values])
        else:
            return None
    return tuple(found)


class _Writing:
    """An automaton whose states are written as bits.

    Args:
        arrangement: of the circuit's inputs.
        automaton: the slices.
        codes: of each state the values of the links.
    """

    def __init__(
        self, arrangement: Arrangement, automaton: _Automaton, codes: Sequence[Bits]
    ) -> None:
        self.arrangement = arrangement
        self.automaton = automaton
        self.codes = codes
        self.links = links_of(len(codes[0]))
        self.last: list[str | None] = [None] * len(self.links)
        self.besides: dict[str, str] = {}
        for name, values in automaton.ends.items():
            self._end(name, values)

    def _end(self, name: str, values: Mapping[int, int]) -> None:
        """Read an output off a link, or off an output of its own."""
        for index in range(len(self.links)):
            alike = all(self.codes[state][index] == value for state, value in values.items())
            if self.last[index] is None and alike:
                self.last[index] = name
                return
        self.besides[f"e{len(self.besides)}"] = name

    def iteration(self, first: tuple[str | bool, ...]) -> Iteration:
        """The row."""
        automaton = self.automaton
        group = len(self.arrangement.groups[0])
        inputs = tuple(f"i{i}" for i in range(group))
        slots = sorted({slot for values in automaton.shown.values() for slot in values})
        names = (*slots, *self.besides, *(link.output for link in self.links))
        columns = dict.fromkeys(names, "")
        for bits in product((0, 1), repeat=group + len(self.links)):
            row = self._row(bits[:group], bits[group:])
            for name in columns:
                columns[name] += str(row.get(name, "-"))
        *others, last = automaton.outputs
        return Iteration(
            BooleanFunction((*inputs, *(link.input for link in self.links)), columns),
            self.links,
            tuple(dict(zip(inputs, own, strict=True)) for own in self.arrangement.groups),
            (*others, {**last, **self.besides}),
            first,
            tuple(self.last),
        )

    def _row(self, letter: Bits, code: Bits) -> dict[str, int]:
        """The outputs of a slice in one assignment, as far as they are asked."""
        if code not in self.codes:
            return {}
        automaton, key = self.automaton, (letter, self.codes.index(code))
        row = dict(automaton.shown.get(key, {}))
        ahead = automaton.ahead.get(key)
        if ahead is not None:
            pairs = zip(self.links, self.codes[ahead], strict=True)
            row |= {link.output: value for link, value in pairs}
            for slot, name in self.besides.items():
                if ahead in automaton.ends[name]:
                    row[slot] = automaton.ends[name][ahead]
        return row
