"""Power at one instant (section 4), for one assignment or for many at once.

"Many at once" means bit masks: bit ``r`` of an entry says what holds in input assignment
``r``. On, powered, driven and charged are masks alike; a single play uses masks of one bit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import or_

from synth.simulator.fabric import Fabric, Sight, Targets


@dataclass(frozen=True, slots=True)
class Instant:
    """What section 4 makes of one set of emitters, as masks by number.

    Attributes:
        on: of each emitter.
        powered: of each wire: strength above 0.
        driven, charged: of each solid; charged includes driven.
    """

    on: Sequence[int]
    powered: Sequence[int]
    driven: Sequence[int]
    charged: Sequence[int]

    def seen(self, sight: Sight | None) -> int:
        """Where a buffer or output that looks at ``sight`` sees power; nothing gives 0."""
        if sight is None:
            return 0
        return (self.on, self.powered, self.charged)[sight.table][sight.index]


def instant(fabric: Fabric, on: Sequence[int], reach: int | None) -> Instant:
    """Settle section 4 for the emitters that are ``on``.

    Args:
        on: a mask for each emitter.
        reach: strength beside a source, or None for strength that never fades.
    """
    powered = powered_wires(fabric, on, reach)
    driven = driven_solids(fabric, on)
    return Instant(on, powered, driven, charged_solids(fabric, driven, powered))


def driven_solids(fabric: Fabric, on: Sequence[int]) -> list[int]:
    """Section 4: where each solid is driven: wherever any of its drivers is on.

    Medium: 4 driven.
    """
    return gathered(fabric.drivers, on)


def charged_solids(fabric: Fabric, driven: Sequence[int], powered: Sequence[int]) -> list[int]:
    """Section 4: where each solid is charged: driven, or beside or under a wire that charges it.

    Medium: 4 charged.
    """
    return list(map(or_, driven, gathered(fabric.chargers, powered)))


def sources_of_wires(fabric: Fabric, on: Sequence[int]) -> list[int]:
    """Section 4: where each wire has strength ``reach``: wherever any of its sources is on.

    Medium: 4 sources.
    """
    return gathered(fabric.sources, on)


def gathered(table: Targets, values: Sequence[int]) -> list[int]:
    """For every entry of ``table``, the union of the values it names."""
    result = []
    for numbers in table:
        union = 0
        for number in numbers:
            union |= values[number]
        result.append(union)
    return result


def powered_wires(fabric: Fabric, on: Sequence[int], reach: int | None) -> list[int]:
    """Section 4: where each wire has strength above 0.

    Strength fades by one a link, so a wire is powered within ``reach - 1`` links of a source; the
    power goes outwards one link a round, and every round carries on only what is new.

    Medium: 4 along links.
    """
    powered = sources_of_wires(fabric, on)
    receivers = fabric.receivers
    fresh = {wire: bits for wire, bits in enumerate(powered) if bits}
    steps = 1
    while fresh and (reach is None or steps < reach):
        arriving: dict[int, int] = {}
        for wire, bits in fresh.items():
            for other in receivers[wire]:
                new = bits & ~powered[other]
                if new:
                    powered[other] |= new
                    arriving[other] = arriving.get(other, 0) | new
        fresh = arriving
        steps += 1
    return powered


def strengths(fabric: Fabric, on: Sequence[int], reach: int) -> list[int]:
    """Section 4: the strength of each wire, 0 to ``reach``, for a single play (masks of one bit).

    Medium: 4 along links.
    """
    sources = sources_of_wires(fabric, on)
    result = [reach if powered else 0 for powered in sources]
    receivers = fabric.receivers
    front = [wire for wire, powered in enumerate(sources) if powered]
    for strength in range(reach - 1, 0, -1):
        arriving = []
        for wire in front:
            for other in receivers[wire]:
                if not result[other]:
                    result[other] = strength
                    arriving.append(other)
        if not arriving:
            break
        front = arriving
    return result
