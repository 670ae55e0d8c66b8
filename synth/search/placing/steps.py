"""A network of inverters in steps: a few of them at a time, one step behind the other.

What a step makes and a later one needs crosses the seam between them on a *track*. Signals that all
that is left hears together share one. Tracks have to keep their distance from one another
(section 6), so in a low and narrow box there are few. Of the ways to divide a network those come
first whose hardest step connects least, since it is placed soonest; then those of few steps.

For slices of chains (section 11): the inputs of links enter the first step, their outputs leave the
last one. Any other pin is at the step that first needs it.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import combinations

from synth.medium import ChainLink
from synth.search.placing.networks import Network, inverter_name
from synth.search.placing.stages import fresh_names
from synth.spec import BooleanFunction

MOST_KEPT = 2
"""How many ways to divide one network are kept."""


@dataclass(frozen=True)
class Manner:
    """How networks are divided, and steps placed.

    Attributes:
        tracks: the most tracks of a seam.
        seams: the most seams that an input of a link crosses.
        at_once: the most inverters of a step.
        easy: a step with so many connections is placed soon enough: then fewer steps are better.
        height: of a step's box, in cells: as much as so many tracks need.
        lengths: lengths of it that are tried: in shorter ones little can be placed.
        one_way: whether all that is on the way from link to link is in the last step. Only the
            inputs of links then cross seams by wires, and every other track by a buffer.
        restored: how many seams, from the first on, the inputs of links cross by buffers as well:
            each makes the link delay a tick longer, and their wires reach further.
        close: whether every track crosses by a buffer, and the last step is placed first, with its
            tracks and the links where the solver likes: then the shortest boxes are enough.
        seeds: how often each box of the step that is placed first is tried in a round.
    """

    tracks: int
    seams: int
    at_once: int
    easy: int
    height: int
    lengths: tuple[int, ...]
    one_way: bool
    restored: int = 0
    close: bool = False
    seeds: int = 2

    @property
    def from_end(self) -> bool:
        """Whether the last step is placed first, because it is the hardest."""
        return self.one_way or self.close


CLOSE = Manner(3, 12, 4, 11, 6, (3,), False, close=True, seeds=4)
"""Few steps in boxes as short as can be: an adder slice has two, and 8 x 2 x 6 cells in all.

A try is soon over, and one in five or so finds a last step.
"""

LOW = Manner(3, 12, 3, 9, 5, (4, 5, 6), False)
"""Low boxes are soonest placed."""

TALL = Manner(5, 3, 4, 10, 8, (3, 4, 5), True)
"""What keeps a short link delay: as many short steps as a wire reaches through."""


@dataclass(frozen=True)
class Step:
    """Some of a network, between two seams.

    Attributes:
        network: from what enters to what leaves.
        entering: the tracks that enter, by name; those of the first step are inputs of links.
        number: of the step, from 0 on.
        leaving: the tracks that leave, by name; those of the last step are outputs of links.
        linked: of those of both that carry the input of a link, and nothing else, which one.
    """

    network: Network
    entering: tuple[str, ...]
    leaving: tuple[str, ...]
    linked: Mapping[str, str] = field(hash=False)
    number: int

    @property
    def connections(self) -> int:
        """How many signals its inverters, tracks and outputs see in all."""
        return self.network.connections

    @property
    def ticks(self) -> int:
        """The longest chain of its inverters."""
        return max(signal.tick for signal in self.network.signals())


Steps = tuple[Step, ...]


def divided(
    found: Iterable[Network],
    chain: tuple[ChainLink, ...],
    manner: Manner = LOW,
    until: float | None = None,
) -> list[Steps]:
    """Ways to divide networks of a slice, those first that are soonest placed.

    Args:
        found: networks of the slice's function.
        chain: its links.
        manner: what the steps have to keep to.
        until: when to stop looking for more, as ``time.monotonic`` gives it, or None.
    """
    ways: list[Steps] = []
    for network in found:
        if until is not None and time.monotonic() >= until:
            break
        ways += _Division(network, chain, manner).best(until)
    return sorted(
        ways, key=lambda steps: _hardness([step.connections for step in steps], manner.easy)
    )


def on_the_way(network: Network, chain: tuple[ChainLink, ...]) -> frozenset[str]:
    """The inputs of links and the inverters that lie between one of them and an output of one."""
    after = {link.input for link in chain}
    for number, heard in enumerate(network.hears, start=1):
        if after & set(heard):
            after.add(inverter_name(number))
    ends = {link.output for link in chain}
    outputs = zip(network.function.outputs, network.outputs, strict=True)
    before = {name for output, gathered in outputs if output in ends for name in gathered}
    for number, heard in reversed(list(enumerate(network.hears, start=1))):
        if inverter_name(number) in before:
            before |= set(heard)
    return frozenset(after & before)


_Hardness = tuple[int, int, int]


def _hardness(connections: Iterable[int], easy: int) -> _Hardness:
    """Of steps with so many connections: the least is soonest placed, or makes the shortest box."""
    each = list(connections)
    return max(0, max(each, default=0) - easy), len(each), sum(each)


_Track = frozenset[str]
"""The signals of the whole network that a track carries together."""


class _Division:
    """Divides one network: what is to be done is its inverters and its outputs."""

    def __init__(self, network: Network, chain: tuple[ChainLink, ...], manner: Manner) -> None:
        self.network = network
        self.manner = manner
        self.linked = {link.input for link in chain}
        self.last = {link.output for link in chain}
        self.needs: dict[str, frozenset[str]] = {
            inverter_name(number): frozenset(heard)
            for number, heard in enumerate(network.hears, start=1)
        }
        self.inverters = frozenset(self.needs)
        outputs = zip(network.function.outputs, network.outputs, strict=True)
        self.outputs = {f"output {name}": name for name in network.function.outputs}
        self.needs |= {f"output {name}": frozenset(gathered) for name, gathered in outputs}
        self.inputs = frozenset(network.function.inputs)
        self.idle = self.inputs - frozenset().union(*self.needs.values())
        self.on_the_way = on_the_way(network, chain)

    def best(self, until: float | None = None) -> list[Steps]:
        """The ways with the easiest steps, as far as they fit into few tracks.

        ``until``: as of ``divided``; large networks can be divided in very many ways.
        """
        kept: list[tuple[_Hardness, list[frozenset[str]]]] = []

        def go(done: frozenset[str], parts: list[frozenset[str]], costs: list[int]) -> None:
            if until is not None and time.monotonic() >= until:
                return
            hardness = _hardness(costs, self.manner.easy)
            if len(kept) == MOST_KEPT and hardness >= kept[-1][0]:
                return
            if len(done) == len(self.needs):
                kept.append((hardness, parts))
                kept.sort(key=lambda one: one[0])
                del kept[MOST_KEPT:]
                return
            for part in self._parts(done):
                after = self._tracks(done | part)
                if self._have_room(after, len(parts) + 1):
                    cost = self._cost(done, part)
                    go(done | part, [*parts, part], [*costs, cost])

        go(frozenset(), [], [])
        return [self._steps(parts) for _, parts in kept]

    def _parts(self, done: frozenset[str]) -> Iterator[frozenset[str]]:
        """What may be the next step: nothing in it needs anything that is still to be made."""
        left = [task for task in self.needs if task not in done]
        ends = {f"output {name}" for name in self.last}
        for count in range(min(self.manner.at_once, len(self.inverters - done)), -1, -1):
            for made in combinations([task for task in left if task in self.inverters], count):
                there = self.inputs | done | set(made)
                if any(not self.needs[task] <= there for task in made):
                    continue
                ready = [
                    task
                    for task in left
                    if task in self.outputs and task not in ends and self.needs[task] <= there
                ]
                for some in range(len(ready) + 1):
                    for read in combinations(ready, some):
                        part = frozenset((*made, *read))
                        if set(left) - part == ends and all(
                            self.needs[task] <= there for task in ends
                        ):
                            yield part | ends
                        elif part:
                            yield part

    def _tracks(self, done: frozenset[str]) -> list[_Track]:
        """What has to cross the seam behind what is done, in order of names."""
        there = (done & self.inverters) | self._entered(done)
        left = [task for task in self.needs if task not in done]
        heard_by: dict[tuple[frozenset[str], str], set[str]] = {}
        for name in there:
            readers = frozenset(task for task in left if name in self.needs[task])
            alone = name if self.manner.one_way and name in self.linked else ""
            if readers:
                heard_by.setdefault((readers, alone), set()).add(name)
        return sorted(map(frozenset, heard_by.values()), key=sorted)

    def _have_room(self, tracks: list[_Track], seams: int) -> bool:
        """Whether tracks may cross a seam, the one with that number from the left."""
        manner = self.manner
        carried = frozenset().union(*tracks)
        if manner.one_way and carried & self.on_the_way - self.linked:
            return False
        return len(tracks) <= manner.tracks and (seams <= manner.seams or not carried & self.linked)

    def _entered(self, done: frozenset[str]) -> frozenset[str]:
        """The inputs that are there: those of links, and those that something done needed.

        Those that nothing needs have their pins at the first step.
        """
        needed = frozenset(name for task in done for name in self.needs[task])
        return (needed | self.linked | (self.idle if done else frozenset())) & self.inputs

    def _sources(self, done: frozenset[str], names: Iterable[str]) -> list[_Track]:
        """What carries signals behind the seam: a track each, or what is made there."""
        tracks = self._tracks(done)
        found: dict[_Track, None] = {}
        for name in sorted(names):
            track = next((track for track in tracks if name in track), frozenset((name,)))
            found[track] = None
        return list(found)

    def _cost(self, done: frozenset[str], part: frozenset[str]) -> int:
        """As ``Step.connections``."""
        groups = [*(self.needs[task] for task in part), *self._tracks(done | part)]
        return sum(len(self._sources(done, group)) for group in groups)

    def _steps(self, parts: list[frozenset[str]]) -> Steps:
        """The steps, each with a network of its own."""
        names = iter(
            fresh_names((self.manner.tracks + 1) * (len(parts) + 1), self.network.function)
        )
        entering = {frozenset((name,)): name for name in sorted(self.linked)}
        steps: list[Step] = []
        done: frozenset[str] = frozenset()
        for part in parts:
            after = {track: next(names) for track in self._tracks(done | part)}
            steps.append(self._step(len(steps), done, part, entering, after))
            done, entering = done | part, after
        return tuple(steps)

    def _step(
        self,
        number: int,
        done: frozenset[str],
        part: frozenset[str],
        entering: dict[_Track, str],
        leaving: dict[_Track, str],
    ) -> Step:
        made = [task for task in self.needs if task in part & self.inverters]
        called = dict(entering)
        called |= {
            frozenset((task,)): inverter_name(place) for place, task in enumerate(made, start=1)
        }
        entered = self._entered(done)
        new = sorted(self._entered(done | part) - entered - self.linked)
        called |= {frozenset((name,)): name for name in new}

        def heard(names: Iterable[str]) -> tuple[str, ...]:
            return tuple(called[source] for source in self._sources(done, names))

        gathered = {name: heard(track) for track, name in leaving.items()}
        for task, name in self.outputs.items():
            if task in part:
                gathered[name] = heard(self.needs[task])
        hears = tuple(heard(self.needs[task]) for task in made)
        network = computed((*entering.values(), *new), hears, gathered)
        ends = tuple(name for name in gathered if name in self.last)
        tracks = (*entering.items(), *leaving.items())
        return Step(
            network,
            tuple(entering.values()),
            (*leaving.values(), *ends),
            {name: min(track) for track, name in tracks if track <= self.linked},
            number,
        )


def computed(
    inputs: tuple[str, ...],
    hears: tuple[tuple[str, ...], ...],
    outputs: Mapping[str, tuple[str, ...]],
) -> Network:
    """The network of inverters and of the gathering of their outputs, with what it computes.

    Args:
        inputs: their names.
        hears: for each inverter the names of what it hears, as in ``Network``.
        outputs: for each output, by name, the names of what is ORed.
    """
    free = BooleanFunction(inputs, dict.fromkeys(outputs, "-" * (1 << len(inputs))))
    network = Network(free, hears, tuple(outputs.values()))
    rows = {signal.name: signal.rows for signal in network.signals()}
    columns = {
        name: "".join(
            "01"[any(rows[one] >> row & 1 for one in gathered)] for row in range(free.rows)
        )
        for name, gathered in outputs.items()
    }
    return Network(BooleanFunction(inputs, columns), hears, tuple(outputs.values()))
