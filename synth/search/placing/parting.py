"""A network of a slice in three parts: what hands its links on, what that rests on, what is read.

- The *heart* holds all inverters between the inputs of links and their outputs, and the outputs.
- The *source* makes what the heart needs besides. It hears no link.
- The *readout* makes the outputs that are no link's, out of one signal of the source and the input
  of one link. An adder's sum is the exclusive-or of its carry and of such a signal. What can be
  divided in this way is an old question: R. L. Ashenhurst, The decomposition of switching functions
  (1957; from memory).

So the readout needs little, and may be as slow as it likes: only the heart is on the way.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import chain, combinations

from synth.encoding.placing.signals import Origin, Signal
from synth.search.placing.handing import handing
from synth.search.placing.networks import LinkPath, Network, inverter_name, networks
from synth.search.placing.stages import fresh_names
from synth.search.placing.steps import computed, on_the_way
from synth.spec import BooleanFunction, Spec

MOST_NETWORKS = 40
"""How many networks of the links' outputs are looked at for each number of inverters."""

LOOK_S = 10.0
"""Seconds after which no further networks are looked for."""

DEPTH = 5
"""The most inverters in a row of a part."""

Heard = tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Parting:
    """Three networks; the first and the last may make nothing of their own.

    Attributes:
        heart: from tracks and links to the outputs of links.
        source: from the other inputs to tracks; links pass through it.
        readout: from a track and the links to the other outputs, or None if there are none.
        tracks: what the heart hears of the source, by name.
        track: what the readout hears of the source, or None.
        tapped: the input of a link that the readout hears, or None.
        passed: for each input of a link, its name where it leaves the source or the readout.
    """

    heart: Network
    source: Network
    readout: Network | None
    tracks: tuple[str, ...]
    track: str | None
    tapped: str | None
    passed: Mapping[str, str] = field(hash=False)

    @property
    def hardness(self) -> tuple[int, int, int]:
        """Of several, the one with the least is soonest placed."""
        parts = [part for part in (self.heart, self.source, self.readout) if part is not None]
        inverters = sum(len(part.hears) for part in parts)
        return len(self.tracks), inverters, sum(part.connections for part in parts)


def partings(spec: Spec, row: int) -> list[Parting]:
    """Ways to part a slice, those first that are soonest placed.

    Args:
        spec: what is asked; it has links.
        row: the most inverters in a row from link to link.
    """
    function = spec.function
    ends = tuple(dict.fromkeys(link.output for link in spec.chain))
    part = BooleanFunction(function.inputs, {name: function.outputs[name] for name in ends})
    until = time.monotonic() + LOOK_S
    path = LinkPath(spec.chain, row)
    found = networks(part, DEPTH, most=MOST_NETWORKS, until=until, path=path)
    if len(spec.chain) == 1:
        (link,) = spec.chain
        found = chain(handing(function, link, row, DEPTH, MOST_NETWORKS, until), found)
    made = (_parted(spec, lean(network)) for network in found)
    return sorted(
        (parting for parting in made if parting is not None), key=lambda one: one.hardness
    )


def _parted(spec: Spec, network: Network) -> Parting | None:
    """A network of the links' outputs in parts; None if the others cannot be read so simply."""
    function, linked = network.function, [link.input for link in spec.chain]
    way = on_the_way(network, spec.chain)
    hears = {inverter_name(n): heard for n, heard in enumerate(network.hears, start=1)}
    local = [name for name in hears if name not in way]
    heard = {name for group in (*network.hears, *network.outputs) for name in group}
    if hears.keys() - heard or any(set(hears[name]) & {*linked, *way} for name in local):
        # Nothing hears some inverter any more, now that the network is lean.
        return None
    others = {
        name: column
        for name, column in spec.function.outputs.items()
        if name not in function.outputs
    }
    reading = _reading(spec, network, others, local) if others else None
    if others and reading is None:
        return None
    outputs = dict(zip(function.outputs, network.outputs, strict=True))
    inner = {name: hears[name] for name in hears if name in way}
    tracks = _tracks(inner, outputs, set(linked))
    names = iter(fresh_names(len(tracks) + 1 + len(linked), spec.function))
    called = {group: next(names) for group in tracks}
    track = None if reading is None else next(names)
    passed = {name: next(names) for name in linked}

    carried = {name: called[group] for group in tracks for name in group}
    carried |= {name: name for name in linked} | _renumbered(inner)
    heart = computed(
        (*called.values(), *linked), _heard(inner, carried), _gathered(outputs, carried)
    )

    free = tuple(name for name in function.inputs if name not in linked)
    made_there = {name: hears[name] for name in local}
    if reading is not None:
        made_there |= reading.extra
    there = {name: name for name in (*free, *linked)} | _renumbered(made_there)
    leaving = {name: tuple(sorted(group)) for group, name in called.items()}
    if reading is not None and track is not None:
        leaving[track] = reading.group
    leaving |= {name: (link,) for link, name in passed.items()}
    source = computed(
        (*free, *linked),
        _heard(made_there, there),
        _gathered(leaving, there),
    )
    readout = None
    if reading is not None and track is not None:
        known = {_TRACK: track, reading.link: reading.link}
        own = {inverter_name(n): inverter_name(n) for n in range(1, len(reading.network.hears) + 1)}
        made = dict(zip(others, reading.network.outputs, strict=True))
        made |= {name: (link,) for link, name in passed.items()}
        known |= own | {name: name for name in linked}
        readout = computed(
            (track, *linked),
            tuple(tuple(known[one] for one in heard) for heard in reading.network.hears),
            _gathered(made, known),
        )
    tapped = None if reading is None else reading.link
    return Parting(heart, source, readout, tuple(called.values()), track, tapped, passed)


def _renumbered(names: Iterable[str]) -> dict[str, str]:
    return {name: inverter_name(number) for number, name in enumerate(names, start=1)}


def _heard(hears: Mapping[str, tuple[str, ...]], called: Mapping[str, str]) -> Heard:
    return tuple(tuple(dict.fromkeys(called[one] for one in heard)) for heard in hears.values())


def _gathered(
    outputs: Mapping[str, tuple[str, ...]], called: Mapping[str, str]
) -> dict[str, tuple[str, ...]]:
    return {
        name: tuple(dict.fromkeys(called[one] for one in heard)) for name, heard in outputs.items()
    }


def _tracks(
    inner: Mapping[str, tuple[str, ...]], outputs: Mapping[str, tuple[str, ...]], linked: set[str]
) -> list[frozenset[str]]:
    """What the heart hears of the source: what all the same of it hears shares a track."""
    readers: dict[str, set[str]] = {}
    for reader, heard in (*inner.items(), *((f"output {n}", h) for n, h in outputs.items())):
        for name in heard:
            if name not in inner and name not in linked:
                readers.setdefault(name, set()).add(reader)
    groups: dict[frozenset[str], set[str]] = {}
    for name, who in readers.items():
        groups.setdefault(frozenset(who), set()).add(name)
    return sorted(map(frozenset, groups.values()), key=sorted)


_TRACK = " track"
"""A name for the one track of a readout while its network is looked for; no pin is called so."""


@dataclass(frozen=True)
class _Reading:
    """How outputs are read: of the OR of a group of signals, and of the input of a link.

    ``extra`` are further inverters that the group needs, each with what it hears.
    """

    group: tuple[str, ...]
    link: str
    network: Network
    extra: Mapping[str, tuple[str, ...]] = field(default_factory=dict, hash=False)

    @property
    def hardness(self) -> tuple[int, int, int]:
        inverters = len(self.network.hears) + len(self.extra)
        return inverters, self.network.connections, len(self.group)


def _reading(
    spec: Spec, network: Network, others: Mapping[str, str], local: list[str]
) -> _Reading | None:
    """The simplest way to read outputs of one track and one link."""
    function = spec.function
    signals = {signal.name: signal for signal in network.signals()}
    linked = [link.input for link in spec.chain]
    there = [*(name for name in function.inputs if name not in linked), *local]
    found: list[_Reading] = []
    for link in linked:
        rows = signals[link].rows
        groups = (group for count in (1, 2) for group in combinations(there, count))
        for group in groups:
            found += _readings(others, link, rows, group, _either(group, signals), {})
    if found:
        return min(found, key=lambda one: one.hardness)
    for link in linked:
        rows = signals[link].rows
        for track in _told_apart(function, others, linked, rows):
            for group, extra in _made(function, linked, track, [signals[name] for name in local]):
                found += _readings(others, link, rows, group, track, extra)
    return min(found, key=lambda one: one.hardness, default=None)


def _either(group: Iterable[str], signals: Mapping[str, Signal]) -> int:
    """The rows in which any signal of a group is on."""
    track = 0
    for name in group:
        track |= signals[name].rows
    return track


def _readings(
    others: Mapping[str, str],
    link: str,
    rows: int,
    group: tuple[str, ...],
    track: int,
    extra: Mapping[str, tuple[str, ...]],
) -> Iterator[_Reading]:
    """How outputs are read of that track and that link, both given by their rows, if at all."""
    read = _read(track, rows, others)
    if read is not None:
        for one in _simplest(BooleanFunction((_TRACK, link), read)):
            yield _Reading(group, link, one, extra)


def _told_apart(
    function: BooleanFunction, others: Mapping[str, str], linked: list[str], link: int
) -> Iterator[int]:
    """The signal that tells apart how outputs follow a link, and its complement, by rows.

    There is none if they follow it in more than two ways.
    """
    ways: list[dict[tuple[str, bool], str]] = []
    told = 0
    for rows in _alike(function, linked):
        asked = {
            (name, bool(link >> row & 1)): column[row]
            for row in rows
            for name, column in others.items()
            if column[row] != "-"
        }
        fitting = (
            number
            for number, way in enumerate(ways)
            if all(way.get(key, value) == value for key, value in asked.items())
        )
        number = next(fitting, len(ways))
        if number == len(ways):
            ways.append({})
        ways[number] |= asked
        told |= sum(1 << row for row in rows) * (number & 1)
    if len(ways) == 2:
        yield told
        yield (1 << function.rows) - 1 - told


def _alike(function: BooleanFunction, linked: list[str]) -> list[list[int]]:
    """The rows that only inputs of links tell apart, together, in counting order of the others."""
    last = len(function.inputs) - 1
    bits = sum(1 << last - function.inputs.index(name) for name in linked)
    together: dict[int, list[int]] = {}
    for row in range(function.rows):
        together.setdefault(row & ~bits, []).append(row)
    return list(together.values())


def _made(
    function: BooleanFunction, linked: list[str], track: int, local: list[Signal]
) -> Iterator[tuple[tuple[str, ...], dict[str, tuple[str, ...]]]]:
    """A signal out of those that are there: what is ORed, and the inverters that it takes."""
    first = [rows[0] for rows in _alike(function, linked)]
    free = tuple(name for name in function.inputs if name not in linked)
    column = "".join(str(track >> row & 1) for row in first)
    given = tuple(
        Signal(
            f"given {number}",
            sum((signal.rows >> row & 1) << place for place, row in enumerate(first)),
            signal.tick,
            Origin.INVERTER,
        )
        for number, signal in enumerate(local)
    )
    called = {name: name for name in free}
    called |= {one.name: signal.name for one, signal in zip(given, local, strict=True)}
    for network in networks(BooleanFunction(free, {_TRACK: column}), DEPTH, most=1, given=given):
        own = {
            inverter_name(number): f"further {number}"
            for number in range(1, len(network.hears) + 1)
        }
        names = called | own
        extra = {
            own[inverter_name(number)]: tuple(names[one] for one in heard)
            for number, heard in enumerate(network.hears, start=1)
        }
        yield tuple(names[one] for one in network.outputs[0]), extra


def _read(track: int, link: int, others: Mapping[str, str]) -> dict[str, str] | None:
    """The truth tables of outputs over a track and a link; None if these do not say them."""
    tables: dict[str, str] = {}
    for name, column in others.items():
        values = ["-"] * 4
        for row, value in enumerate(column):
            place = 2 * (track >> row & 1) + (link >> row & 1)
            if value == "-" or values[place] == value:
                continue
            if values[place] != "-":
                return None
            values[place] = value
        tables[name] = "".join(values)
    return tables


def _simplest(function: BooleanFunction) -> Iterator[Network]:
    found = [lean(network) for network in networks(function, DEPTH, more=0, most=MOST_NETWORKS)]
    if found:
        yield min(found, key=lambda network: network.connections)


def lean(network: Network) -> Network:
    """The network without what its inverters hear in vain: they compute the same without it."""
    rows = {signal.name: signal.rows for signal in network.signals()}
    hears = tuple(_needed(heard, rows) for heard in network.hears)
    outputs = tuple(_needed(heard, rows) for heard in network.outputs)
    return replace(network, hears=hears, outputs=outputs)


def _needed(heard: tuple[str, ...], rows: Mapping[str, int]) -> tuple[str, ...]:
    """Those that are not on only where others of them are."""
    kept = list(heard)
    for name in sorted(heard, key=lambda one: rows[one].bit_count()):
        others = 0
        for other in kept:
            others |= 0 if other == name else rows[other]
        if not rows[name] & ~others:
            kept.remove(name)
    return tuple(kept)
