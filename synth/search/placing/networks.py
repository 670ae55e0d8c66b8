"""Networks of inverters for a function, by exact synthesis: structure before place.

In the medium an inverter is off exactly when anything that charges its host is on: it is a NOR of
any number of signals, one tick later. Signals that meet on a wire, or at an output, are ORed for
free. So a function is a network of NORs whose outputs are ORs, and its delay is the longest chain
of NORs. ``networks`` finds networks with fewest inverters within a delay by a SAT solver: variables
say which signals each inverter sees. Source of the method: A. Kojevnikov, A. Kulikov,
G. Yaroslavtsev, Finding Efficient Circuits Using SAT-solvers, SAT 2009 (from memory).
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from synth.encoding.placing.signals import Origin, Signal
from synth.medium import ChainLink
from synth.search.workers.solvers import PLACING_SOLVER
from synth.spec import BooleanFunction, Spec

MOST_INPUTS = 5
"""The most inputs of a function that is tried: formulas grow with the rows."""

MOST_INVERTERS = 14
"""The most inverters of a network that is looked for."""

CONFLICTS = 20_000
"""After this many conflicts, a number of inverters counts as too hard to decide."""


@dataclass(frozen=True)
class LinkPath:
    """What is asked of the inverters between the inputs of links and their outputs.

    Attributes:
        chain: the links.
        most: the most of them that may stand in a row.
        apart: whether nothing else hears them: then all other inverters can be placed before them.
    """

    chain: tuple[ChainLink, ...]
    most: int
    apart: bool = False


@dataclass(frozen=True)
class Network:
    """Inverters in order, each with the signals that it sees, and the signals of each output.

    Attributes:
        function: what it computes.
        hears: for each inverter, the names of the inputs and earlier inverters that it is the NOR
            of. Inverters are called as ``inverter_name`` says.
        outputs: for each output, the names that are ORed.
        given: further signals that are there, which inverters and outputs may see like inputs.
    """

    function: BooleanFunction
    hears: tuple[tuple[str, ...], ...]
    outputs: tuple[tuple[str, ...], ...]
    given: tuple[Signal, ...] = ()

    def signals(self) -> list[Signal]:
        """What is there and the outputs of inverters as signals, known as early as possible."""
        function = self.function
        every = (1 << function.rows) - 1
        known = {signal.name: signal for signal in (*input_signals(function), *self.given)}
        for number, heard in enumerate(self.hears, start=1):
            rows = 0
            for name in heard:
                rows |= known[name].rows
            tick = 1 + max((known[name].tick for name in heard), default=0)
            name = inverter_name(number)
            known[name] = Signal(name, every & ~rows, tick, Origin.INVERTER)
        return list(known.values())

    @property
    def connections(self) -> int:
        """How many signals its inverters and outputs see in all."""
        return sum(map(len, (*self.hears, *self.outputs)))

    @property
    def met(self) -> frozenset[tuple[str, str]]:
        """The pairs of signals that an inverter or an output sees together, for ``Signals``."""
        groups = (*self.hears, *self.outputs)
        return frozenset((one, other) for group in groups for one in group for other in group)

    def made(self) -> list[Signal]:
        """The signals of the inverters."""
        return self.signals()[len(self.function.inputs) + len(self.given) :]


def inverter_name(number: int) -> str:
    """The name of an inverter by its number, from 1; it has a space, so no pin is called so."""
    return f"n {number}"


def input_signals(function: BooleanFunction) -> list[Signal]:
    """The inputs as signals: known from tick 0 on."""
    count = len(function.inputs)
    found = []
    for index, name in enumerate(function.inputs):
        bit = count - 1 - index
        rows = sum(1 << row for row in range(function.rows) if row >> bit & 1)
        found.append(Signal(name, rows, 0, Origin.INPUT))
    return found


def as_given(signals: Iterable[Signal], delay: int) -> tuple[Signal, ...]:
    """Signals as given ones: each function once, by the first tick, under names of their own."""
    earliest: dict[int, int] = {}
    for signal in signals:
        earliest[signal.rows] = min(signal.tick, earliest.get(signal.rows, signal.tick))
    return tuple(
        Signal(f"given {number}", rows, tick, Origin.INVERTER)
        for number, (rows, tick) in enumerate(earliest.items(), start=1)
        if 0 < tick <= delay
    )


def networks(
    function: BooleanFunction,
    delay: int,
    *,
    more: int = 1,
    most: int = 12,
    solver: str = PLACING_SOLVER,
    until: float | None = None,
    given: tuple[Signal, ...] = (),
    path: LinkPath | None = None,
) -> Iterator[Network]:
    """Networks with fewest inverters within a delay, then those with up to ``more`` inverters more.

    Args:
        function: what to compute; don't-cares are free.
        delay: the most NORs in a chain.
        more: how many inverters above the fewest are tried as well.
        most: the most networks for each number of inverters.
        solver: a solver of ``synth.search.workers.solvers`` that has a budget.
        until: when to stop looking for more, as ``time.monotonic`` gives it, or None.
        given: further signals that are there beside the inputs, by names of their own.
        path: what is asked of the way from links to links.
    """
    least: int | None = None
    if len(function.inputs) > MOST_INPUTS:
        return
    for inverters in range(MOST_INVERTERS + 1):
        late = until is not None and time.monotonic() >= until
        if late or (least is not None and inverters > least + more):
            return
        for network in _networks_of(function, delay, inverters, most, solver, given, path):
            least = inverters if least is None else least
            yield network


def _networks_of(
    function: BooleanFunction,
    delay: int,
    inverters: int,
    most: int,
    solver: str,
    given: tuple[Signal, ...],
    path: LinkPath | None,
) -> Iterator[Network]:
    from pysat.solvers import Solver

    synthesis = _Synthesis(function, delay, inverters, given, path)
    with Solver(name=solver, bootstrap_with=synthesis.clauses) as sat:
        for _ in range(most):
            sat.conf_budget(CONFLICTS)
            if not sat.solve_limited():
                return
            true = {literal for literal in sat.get_model() if literal > 0}
            yield synthesis.network(true)
            # The next network must make another set of functions.
            sat.add_clause(synthesis.other_functions(true))


class _Synthesis:
    """The formula: is there a network with this many inverters and ticks?"""

    def __init__(
        self,
        function: BooleanFunction,
        delay: int,
        inverters: int,
        given: tuple[Signal, ...] = (),
        path: LinkPath | None = None,
    ) -> None:
        self.function = function
        self.given = given
        self.sources = (*input_signals(function), *given)
        self.inverters = inverters
        self.clauses: list[list[int]] = []
        self._last = 0
        rows = range(function.rows)
        before = len(self.sources)
        self.hears = [self._new(before + number) for number in range(inverters)]
        self.value = [self._new(function.rows) for _ in range(inverters)]
        self.gathers = [self._new(before + inverters) for _ in function.outputs]
        # level[i][t]: inverter i is known by tick t + 1.
        level = [self._new(delay) for _ in range(inverters)]
        for number in range(inverters):
            self._nor(number, rows)
            self._in_time(number, level, delay)
        for gathered, column in zip(self.gathers, function.outputs.values(), strict=True):
            self._output(gathered, column)
        if path is not None:
            self._links_are_near(path)
            if path.apart:
                self._links_are_apart(path)
        self._every_inverter_is_heard()
        self._in_order(rows)

    def _new(self, count: int) -> list[int]:
        found = list(range(self._last + 1, self._last + 1 + count))
        self._last += count
        return found

    def _source(self, index: int, row: int) -> int | None:
        """The literal of a value in a row; of an input or what is given None (off) or 0 (on)."""
        count = len(self.sources)
        if index < count:
            return 0 if self.sources[index].rows >> row & 1 else None
        return self.value[index - count][row]

    def _nor(self, number: int, rows: range) -> None:
        """An inverter is on exactly in the rows in which nothing that it sees is on."""
        for row in rows:
            value, heard_on = self.value[number][row], []
            for index, hears in enumerate(self.hears[number]):
                source = self._source(index, row)
                if source is None:
                    continue
                if source == 0:
                    self.clauses.append([-hears, -value])
                    heard_on.append(hears)
                    continue
                self.clauses.append([-hears, -source, -value])
                both = self._new(1)[0]
                self.clauses += [[-both, hears], [-both, source]]
                heard_on.append(both)
            self.clauses.append([value, *heard_on])

    def _in_time(self, number: int, level: list[list[int]], delay: int) -> None:
        if delay == 0:
            self.clauses.append([])
            return
        own = level[number]
        self.clauses.append([own[-1]])
        for earlier, later in pairwise(own):
            self.clauses.append([-earlier, later])
        for index, source in enumerate(self.sources):
            for literal in own[: source.tick]:
                self.clauses.append([-self.hears[number][index], -literal])
        for index in range(number):
            hears = self.hears[number][len(self.sources) + index]
            its = level[index]
            self.clauses.append([-hears, -own[0]])
            for tick in range(1, delay):
                self.clauses.append([-hears, -own[tick], its[tick - 1]])

    def _links_are_near(self, path: LinkPath) -> None:
        """Few inverters stand in a row between links.

        For each inverter and count a literal says that at most so many stand in a row from an input
        of a link to it, itself included.
        """
        within = [self._new(path.most + 1) for _ in range(self.inverters)]
        linked = {link.input for link in path.chain}
        first = len(self.sources)
        for number, own in enumerate(within):
            for fewer, more in pairwise(own):
                self.clauses.append([-fewer, more])
            for index, source in enumerate(self.sources):
                if source.name in linked:
                    self.clauses.append([-self.hears[number][index], -own[0]])
            for earlier in range(number):
                hears, its = self.hears[number][first + earlier], within[earlier]
                self.clauses.append([-hears, -own[0], its[0]])
                for count in range(1, path.most + 1):
                    self.clauses.append([-hears, -own[count], its[count - 1]])
        ends = {link.output for link in path.chain}
        for name, gathered in zip(self.function.outputs, self.gathers, strict=True):
            for number in range(self.inverters if name in ends else 0):
                self.clauses.append([-gathered[first + number], within[number][-1]])

    def _links_are_apart(self, path: LinkPath) -> None:
        """What hears an input of a link and leads to an output of one leads to nothing else."""
        linked = {link.input for link in path.chain}
        ends = {link.output for link in path.chain}
        first = len(self.sources)
        after, before = self._new(self.inverters), self._new(self.inverters)
        for number, hears in enumerate(self.hears):
            for index, source in enumerate(self.sources):
                if source.name in linked:
                    self.clauses.append([-hears[index], after[number]])
            for earlier in range(number):
                heard = hears[first + earlier]
                self.clauses.append([-heard, -after[earlier], after[number]])
                self.clauses.append([-heard, -before[number], before[earlier]])
                self.clauses.append([-heard, -after[earlier], -before[earlier], before[number]])
        for name, gathered in zip(self.function.outputs, self.gathers, strict=True):
            for number in range(self.inverters):
                gathers = gathered[first + number]
                if name in ends:
                    self.clauses.append([-gathers, before[number]])
                else:
                    self.clauses.append([-gathers, -after[number], -before[number]])

    def _output(self, gathered: list[int], column: str) -> None:
        for row, wanted in enumerate(column):
            on = []
            for index, gathers in enumerate(gathered):
                source = self._source(index, row)
                if source is None:
                    continue
                if wanted == "0":
                    self.clauses.append([-gathers] if source == 0 else [-gathers, -source])
                elif wanted == "1":
                    if source == 0:
                        on.append(gathers)
                        continue
                    both = self._new(1)[0]
                    self.clauses += [[-both, gathers], [-both, source]]
                    on.append(both)
            if wanted == "1":
                self.clauses.append(on)

    def _every_inverter_is_heard(self) -> None:
        for number in range(self.inverters):
            index = len(self.sources) + number
            later = [self.hears[other][index] for other in range(number + 1, self.inverters)]
            self.clauses.append([*later, *(gathered[index] for gathered in self.gathers)])

    def _in_order(self, rows: range) -> None:
        """No two inverters make the same function."""
        for one in range(self.inverters):
            for other in range(one):
                differ = []
                for row in rows:
                    first, second = self.value[one][row], self.value[other][row]
                    unlike = self._new(1)[0]
                    self.clauses += [[-unlike, first, second], [-unlike, -first, -second]]
                    differ.append(unlike)
                self.clauses.append(differ)

    def network(self, true: set[int]) -> Network:
        """The network of a model."""
        names = [source.name for source in self.sources]
        names += [inverter_name(number + 1) for number in range(self.inverters)]

        def chosen(literals: Sequence[int]) -> tuple[str, ...]:
            return tuple(
                name for name, literal in zip(names, literals, strict=False) if literal in true
            )

        return Network(
            self.function,
            tuple(map(chosen, self.hears)),
            tuple(map(chosen, self.gathers)),
            self.given,
        )

    def other_functions(self, true: set[int]) -> list[int]:
        """A clause for later models: their inverters do not make exactly these functions."""
        literals = [literal for value in self.value for literal in value]
        return [-literal if literal in true else literal for literal in literals]


def ticks_of_network(spec: Spec, delay: int) -> int:
    """The ticks that the network of a layout may take: the buffer of a chain's link takes one."""
    return max(0, delay - 1) if spec.chain else delay
