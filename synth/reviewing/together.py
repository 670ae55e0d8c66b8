"""Many plays at once: the play of section 5 with a bit of a mask for each.

``synth.simulator.play`` plays once, and what it says counts; this plays the same for thousands of
starts together, so that a review can look at every change of the inputs. The tests hold the two to
each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from synth.medium import Rules
from synth.simulator.fabric import Fabric
from synth.simulator.power import Instant, instant


@dataclass(frozen=True, slots=True)
class Plays:
    """What carries over from one tick to the next.

    Attributes:
        on: for each inverter, then each buffer, the plays in which it is on.
        waits: for each buffer, for 1, 2, ... ticks, the plays in which a change is due then.
    """

    on: tuple[int, ...]
    waits: tuple[tuple[int, ...], ...]


def nothing_pending(fabric: Fabric, on: Sequence[int]) -> Plays:
    """Plays that start with these inverters and buffers on."""
    return Plays(tuple(on), tuple((0,) * delay for delay in fabric.delays))


def shown(fabric: Fabric, plays: Plays, inputs: Sequence[int], rules: Rules) -> Instant:
    """One tick's power (section 4).

    Args:
        inputs: for each entry of ``fabric.inputs``, the plays in which it is on.
    """
    return instant(fabric, (*plays.on, *inputs, 0), rules.reach)


def after(fabric: Fabric, plays: Plays, power: Instant, full: int) -> Plays:
    """The plays one tick later (section 5).

    Args:
        full: the mask of all plays.
    """
    on = [full & ~power.charged[host] for host in fabric.hosts]
    waits = []
    first = fabric.first_buffer
    for index, delay in enumerate(fabric.delays):
        output = plays.on[first + index]
        held = 0
        for holder in fabric.holders[index]:
            held |= power.on[holder]
        free = full & ~held
        sees = power.seen(fabric.backs[index])
        due = [wait & free for wait in plays.waits[index]]
        pending = 0
        for wait in due:
            pending |= wait
        due[delay - 1] |= (sees ^ output) & free & ~pending
        # A change that is due lands: an off buffer goes on whatever it sees by now, an on buffer
        # goes off only if it sees no power.
        landing = due[0]
        on.append((output & ~landing) | (landing & (~output | sees)))
        waits.append((*due[1:], 0))
    return Plays(tuple(on), tuple(waits))
