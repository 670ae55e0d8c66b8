"""The play of section 5: tick by tick, every emitter on or off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from synth.medium import Rules
from synth.simulator.fabric import Fabric
from synth.simulator.power import Instant, charged_solids, driven_solids, strengths


@dataclass(frozen=True, slots=True)
class State:
    """What carries over from one tick to the next.

    Attributes:
        on: 0 or 1 for each inverter, then each buffer.
        waits: for each buffer, in how many ticks its pending change is due, or 0 for none.
    """

    on: tuple[int, ...]
    waits: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Frame:
    """One tick: the power of the instant (masks of one bit) and each wire's strength."""

    power: Instant
    strength: Sequence[int]


def dark(fabric: Fabric) -> State:
    """Section 5: every inverter and buffer off and nothing pending: how a trace starts.

    Medium: 5 traces start.
    """
    return State((0,) * fabric.first_input, (0,) * len(fabric.buffers))


def frame(fabric: Fabric, state: State, inputs: Sequence[int], rules: Rules) -> Frame:
    """One tick's strengths and charges (section 4).

    Args:
        inputs: 0 or 1 for each entry of ``fabric.inputs``.
    """
    on = (*state.on, *inputs, 0)
    strength = strengths(fabric, on, rules.reach)
    powered = [1 if value else 0 for value in strength]
    driven = driven_solids(fabric, on)
    charged = charged_solids(fabric, driven, powered)
    return Frame(Instant(on, powered, driven, charged), strength)


def after(fabric: Fabric, state: State, shown: Frame) -> State:
    """The state one tick later (section 5)."""
    power = shown.power
    on = inverters_after(fabric, power)
    held = held_buffers(fabric, power)
    waits = []
    first = fabric.first_buffer
    for index, delay in enumerate(fabric.delays):
        output, wait = after_buffer(
            state.on[first + index],
            state.waits[index],
            delay=delay,
            held=held[index],
            sees=power.seen(fabric.backs[index]),
        )
        on.append(output)
        waits.append(wait)
    return State(tuple(on), tuple(waits))


def inverters_after(fabric: Fabric, power: Instant) -> list[int]:
    """Section 5: the output of each inverter one tick later: 1 unless its host is charged.

    Medium: 5 inverter in time.
    """
    charged = power.charged
    return [1 - charged[host] for host in fabric.hosts]


def held_buffers(fabric: Fabric, power: Instant) -> list[bool]:
    """Section 5: for each buffer, whether one that is on points into one of its sides.

    Medium: 5 held in time.
    """
    on = power.on
    # Nearly all have no holders, and then nothing is asked.
    return [bool(holders) and any(on[one] for one in holders) for holders in fabric.holders]


def after_buffer(output: int, wait: int, *, delay: int, held: bool, sees: int) -> tuple[int, int]:
    """Section 5: output and wait of a buffer one tick later, in the order that it gives.

    Args:
        output: 0 or 1 during this tick.
        wait: ticks from now until a pending change is due, or 0 when nothing is pending.
        delay: in ticks.
        held: whether a buffer that is on points into one of its sides.
        sees: 1 if its back has power now.

    Medium: 5 buffer in time; 5 held in time.
    """
    if held:
        return output, 0
    if wait == 0 and sees != output:
        wait = delay
    if wait == 1:
        # A change that is due lands: an off buffer goes on whatever it sees by now, an on
        # buffer goes off only if it sees no power.
        return (1 if output == 0 else sees), 0
    return output, max(wait - 1, 0)
