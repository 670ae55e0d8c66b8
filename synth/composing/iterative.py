"""Finds out whether a circuit is a row of equal slices that hand one or two signals on.

Adders, comparators, parities and priority chains are such circuits: what switching theory calls
iterative networks. Inputs are arranged in groups, one for each slice (``arrangements``), and the
states between slices are learnt (``synth.composing.slice_states``). If equal slices can be told by
naming the states alike at every place, the row is an automaton (``_Naming``), and each way to write
its states as bits gives the function of a slice (``_written``). Two signals can tell four states
apart.

What is found is a guess: that the row computes the circuit is for the miter to prove.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice, permutations, product

from synth.circuits.circuit import Circuit
from synth.composing.slice_states import Arrangement, Bits, Learner, Steps
from synth.medium import ChainLink
from synth.spec import BooleanFunction

MOST_LOCAL = 4
"""Most inputs of a slice besides its links."""

MOST_EXTRA = 2
"""Most inputs that belong to no slice: they come in at the links of the first one."""

MOST_AUTOMATA = 4
"""Most ways to number the states of one arrangement that are tried."""

MOST_ROUNDS = 8
"""How often a row that is wrong is learnt from."""


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
    learner = Learner(circuit, arrangement)
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
        wrong = learner.wrong(found[0].shown) if found else None
        if wrong is None:
            return found
        learner.learn(wrong)
    return []


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

    def __init__(self, steps: Steps) -> None:
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
