"""What a layout without feedback settles at, for any number of inputs, without playing it.

``settle`` plays every input assignment, so it ends at some sixteen inputs. Where no output of an
inverter or buffer comes back to itself, less will do. Power only ever adds up (section 4): what an
inverter, a buffer or an output looks at has power surely when one of a set of emitters (inputs,
inverters, buffers) is surely on, namely those whose strength gets there; and possibly when one of a
set is possibly on, namely those from which any way of links leads there (section 5: without loss).
Where both sets are the same, the three-valued play is that of a netlist of NORs and ORs:

- an inverter whose set is known from tick t on is known from t + 1 on;
- a buffer of delay k whose set is known from t on is known from t + 2k - 1 on: at t + k it surely
  is, if it is on, and at t + 2k - 1 no longer possibly on, if it is off;
- an output is known when its set is.

By induction over an order in which each comes after its set, every value is known from its tick
on, and it is the NOR or the OR. The ticks are upper bounds: a value may be known earlier where one
emitter decides it. Where the sets differ, a buffer can be held, or something feeds back, nothing
is said at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator.fabric import Fabric, Sight, Table, fabric_of
from synth.simulator.settling import refuse_illegal


@dataclass(frozen=True, slots=True)
class Element:
    """An inverter or a buffer.

    Attributes:
        inverts: whether it is on unless one of what it sees is.
        sees: numbers of the emitters that it sees, ascending.
        delay: of a buffer, in ticks; 1 of an inverter.
        known_at: the tick from which it is known, at the latest.
    """

    inverts: bool
    sees: tuple[int, ...]
    delay: int
    known_at: int


@dataclass(frozen=True, slots=True)
class Network:
    """A layout without feedback as NORs and ORs.

    Emitters are numbered as in a ``Fabric``: elements first, then inputs.

    Attributes:
        inputs: the emitter of each input, by name.
        elements: by emitter number.
        order: emitter numbers of elements, each after what it sees.
        outputs: for each output the emitters of which it shows the OR.
        delay: ticks within which every output is right, at the latest.
    """

    inputs: dict[str, int]
    elements: tuple[Element, ...]
    order: tuple[int, ...]
    outputs: dict[str, tuple[int, ...]]
    delay: int

    def evaluate(self, masks: dict[str, int], full: int) -> dict[str, int]:
        """What the outputs settle at in many assignments at once, a bit each."""
        values = self.values(masks, full)
        return {name: _union(values, seen) for name, seen in self.outputs.items()}

    def values(self, masks: dict[str, int], full: int) -> list[int]:
        """The same for every emitter, by its number."""
        values = [0] * (len(self.elements) + len(self.inputs))
        for name, emitter in self.inputs.items():
            values[emitter] = masks[name]
        for number in self.order:
            element = self.elements[number]
            power = _union(values, element.sees)
            values[number] = full & ~power if element.inverts else power
        return values


@dataclass(frozen=True, slots=True)
class NoNetwork:
    """Why a layout is none without feedback; ``reason`` is a sentence."""

    reason: str


def network_of(layout: Layout, rules: Rules = DEFAULT_RULES) -> Network | NoNetwork:
    """A legal layout that stands alone, as a network without feedback.

    Raises:
        InputError: if the layout is not legal, naming rule and cell.
    """
    refuse_illegal(layout, rules)
    fabric = fabric_of(layout)
    if any(fabric.holders):
        return NoNetwork("a buffer can hold another")
    sure = Reached(fabric, links=rules.reach - 1)
    possible = Reached(fabric, links=None)
    for port in fabric.inputs:
        if port.lead is not None and possible.wires[port.lead] != 1 << port.emitter:
            return NoNetwork(f"power comes back to the lead of the input {port.pin.name!r}")
    looks = [*fabric.hosts, *fabric.backs, *(port.sight for port in fabric.outputs)]
    if any(sure.seen(look) != possible.seen(look) for look in looks):
        return NoNetwork("something depends on a signal that dies out along a wire")
    seen = [_members(possible.seen(look)) for look in looks]
    count = fabric.first_input
    order = _order(seen[:count])
    if order is None:
        return NoNetwork("an inverter or buffer depends on itself")
    known = [0] * (fabric.fog + 1)
    elements: list[Element | None] = [None] * count
    for number in order:
        inverts = number < fabric.first_buffer
        delay = 1 if inverts else fabric.delays[number - fabric.first_buffer]
        latest = max((known[other] for other in seen[number]), default=0)
        known[number] = latest + 2 * delay - 1
        elements[number] = Element(inverts, seen[number], delay, known[number])
    outputs = {port.pin.name: seen[count + index] for index, port in enumerate(fabric.outputs)}
    return Network(
        inputs={port.pin.name: port.emitter for port in fabric.inputs},
        elements=tuple(element for element in elements if element is not None),
        order=tuple(order),
        outputs=outputs,
        delay=max((known[other] for shown in outputs.values() for other in shown), default=0),
    )


class Reached:
    """For each wire and solid the emitters whose power gets there, as masks.

    Args:
        fabric: who touches whom.
        links: over at most so many links; None: any number.
    """

    def __init__(self, fabric: Fabric, *, links: int | None) -> None:
        self.wires = [_mask(sources) for sources in fabric.sources]
        step = 0
        grown = True
        while grown and (links is None or step < links):
            step += 1
            before = list(self.wires)
            for wire, receivers in enumerate(fabric.receivers):
                for other in receivers:
                    self.wires[other] |= before[wire]
            grown = self.wires != before
        self.solids = [
            _mask(drivers) | _union(self.wires, chargers)
            for drivers, chargers in zip(fabric.drivers, fabric.chargers, strict=True)
        ]

    def seen(self, look: int | Sight | None) -> int:
        """What a host (its number), or what a buffer or an output looks at, gets power from."""
        if look is None:
            return 0
        if isinstance(look, int):
            return self.solids[look]
        if look.table is Table.ON:
            return 1 << look.index
        return (self.wires if look.table is Table.POWERED else self.solids)[look.index]


def _mask(numbers: Sequence[int]) -> int:
    return sum(1 << number for number in numbers)


def _union(masks: Sequence[int], numbers: Sequence[int]) -> int:
    found = 0
    for number in numbers:
        found |= masks[number]
    return found


def _members(mask: int) -> tuple[int, ...]:
    return tuple(number for number in range(mask.bit_length()) if mask >> number & 1)


def _order(sees: Sequence[tuple[int, ...]]) -> list[int] | None:
    """The elements, each after those that it sees; None if there is no such order."""
    count = len(sees)
    left = [sum(other < count for other in seen) for seen in sees]
    seen_by: list[list[int]] = [[] for _ in sees]
    for number, seen in enumerate(sees):
        for other in seen:
            if other < count:
                seen_by[other].append(number)
    ready = [number for number in range(count) if not left[number]]
    order = []
    while ready:
        number = ready.pop()
        order.append(number)
        for other in seen_by[number]:
            left[other] -= 1
            if not left[other]:
                ready.append(other)
    return order if len(order) == count else None
