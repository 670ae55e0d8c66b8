"""Glitches: what the outputs do on the way from one settled assignment to another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from synth.layout import Pin
from synth.reviewing.finding import Finding, Kind, Place, Severity
from synth.reviewing.subject import Subject
from synth.reviewing.together import after, nothing_pending, shown
from synth.simulator.settling import Settling, input_masks
from synth.simulator.wanted import Wanted, rows_of
from synth.words import counted, ticks

MAX_WORK = 2_000_000_000
"""Most parts times changes of inputs times ticks that are played: some 1 second (measured)."""

MAX_LISTED = 64
"""Most changes of inputs that the details of a finding list, for each output."""


@dataclass(frozen=True)
class Pulse:
    """An output that has its new value, and leaves it for a while.

    Attributes:
        tick: when it begins; the inputs change at tick 0.
        length: for how many ticks.
        value: what it reads meanwhile.
    """

    tick: int
    length: int
    value: int


@dataclass(frozen=True)
class Block:
    """The plays in which every settled row changes in one way, ``rows`` of them side by side.

    Attributes:
        target: the row that all go to, or None.
        flipped: the number of the input that changes, where ``target`` is None.
    """

    target: int | None
    flipped: int = 0

    def to(self, row: int, inputs: int) -> int:
        """The row that a row goes to."""
        return row ^ 1 << (inputs - 1 - self.flipped) if self.target is None else self.target


def glitch_findings(subject: Subject) -> tuple[list[Finding], list[str]]:
    """One finding for each output that glitches, and what was left out."""
    settled = subject.settled
    inputs = len(settled.layout.inputs)
    if not inputs or not settled.fabric.outputs:
        return [], []
    rows = 1 << inputs
    each = subject.parts * rows * len(settled.ticks)
    blocks = [Block(row) for row in range(rows)]
    left_out = []
    if each * len(blocks) > MAX_WORK:
        blocks = [Block(None, number) for number in range(inputs)]
        left_out = [
            f"glitches when more than one of the {inputs} inputs changes: too many pairs of "
            "assignments"
        ]
    if each * len(blocks) > MAX_WORK:
        return [], ["glitches: too many pairs of assignments for so many parts"]
    steady = steady_rows(settled)
    if not steady:
        return [], ["glitches: the layout settles at no assignment"]
    if steady != settled.full:
        left_out.append("glitches from and to assignments at which it does not settle")
    return list(_findings(subject, settled, blocks, steady)), left_out


def steady_rows(settled: Settling) -> int:
    """The assignments at which every inverter and buffer is known in the end."""
    last = settled.ticks[-1]
    unknown = 0
    # The last emitter is the fog, which powers nothing of a layout that stands alone.
    for sure, possible in zip(last.sure.on[:-1], last.possible.on[:-1], strict=True):
        unknown |= sure ^ possible
    return settled.full & ~unknown


def _findings(
    subject: Subject, settled: Settling, blocks: Sequence[Block], steady: int
) -> Iterator[Finding]:
    fabric, rows = settled.fabric, settled.full.bit_length()
    names = [port.pin.name for port in fabric.inputs]
    everywhere = _spread([settled.full] * len(blocks), rows)
    counts = _spread([_steady_changes(block, steady, len(names)) for block in blocks], rows)
    last = settled.ticks[-1]
    plays = nothing_pending(
        fabric, [_spread([mask] * len(blocks), rows) for mask in last.sure.on[: fabric.first_input]]
    )
    inputs = [
        _spread([_changed(block, number, mask, settled.full) for block in blocks], rows)
        for number, mask in enumerate(input_masks(len(names)))
    ]
    sights = [port.sight for port in fabric.outputs]
    seen = [[_spread([last.sure.seen(sight)] * len(blocks), rows)] for sight in sights]
    # A layout that settles from an unknown state by some tick settles from any state by that tick.
    for _ in range(len(settled.ticks) + 1):
        power = shown(fabric, plays, inputs, subject.rules)
        for history, sight in zip(seen, sights, strict=True):
            history.append(power.seen(sight))
        plays = after(fabric, plays, power, everywhere)
    # Of the blocks that go to one row, each has a play that stays where it is.
    staying = steady.bit_count() if blocks[0].target is not None else 0
    for port, history in zip(fabric.outputs, seen, strict=True):
        often = _changing_often(history) & counts
        if often:
            changes = [
                (number % rows, blocks[number // rows].to(number % rows, len(names)), number)
                for number in rows_of(often)
            ]
            found = [(row, to, _pulses(history, number)) for row, to, number in changes]
            yield _finding(port.pin, subject.wanted, found, counts.bit_count() - staying)


def _spread(masks: Sequence[int], rows: int) -> int:
    """Masks over the rows side by side, one for each block of plays."""
    return sum(mask << number * rows for number, mask in enumerate(masks))


def _steady_changes(block: Block, steady: int, inputs: int) -> int:
    """The rows that settle before and after the change of a block."""
    if block.target is not None:
        return steady if steady >> block.target & 1 else 0
    return sum(1 << row for row in rows_of(steady) if steady >> block.to(row, inputs) & 1)


def _changed(block: Block, number: int, mask: int, full: int) -> int:
    """Where an input is on after the change, over the rows from which a block starts."""
    if block.target is not None:
        return full if mask >> block.target & 1 else 0
    return full & ~mask if block.flipped == number else mask


def _changing_often(history: Sequence[int]) -> int:
    """The plays in which a value changes twice or more."""
    once = twice = 0
    for before, now in pairwise(history):
        changed = before ^ now
        twice |= once & changed
        once |= changed
    return twice


def _pulses(history: Sequence[int], number: int) -> tuple[Pulse, ...]:
    """The stretches of one play in which an output has left the value it ends with.

    Before it first has that value, it cannot leave it. Entry 0 of the history is before tick 0.
    """
    values = [mask >> number & 1 for mask in history]
    final = values[-1]
    found: list[Pulse] = []
    begun: int | None = None
    for tick in range(values.index(final), len(values)):
        if values[tick] != final and begun is None:
            begun = tick
        elif values[tick] == final and begun is not None:
            found.append(Pulse(begun - 1, tick - begun, values[begun]))
            begun = None
    return tuple(found)


def _finding(
    pin: Pin,
    wanted: Wanted,
    found: Sequence[tuple[int, int, tuple[Pulse, ...]]],
    changes: int,
) -> Finding:
    row, to, pulses = max(found, key=lambda item: max(pulse.length for pulse in item[2]))
    worst = max(pulses, key=lambda pulse: pulse.length)
    text = (
        f"output {pin.name!r} glitches at {len(found):,} of {counted(changes, 'change')} of the "
        f"inputs; the longest: from {wanted.assignment(row)} to {wanted.assignment(to)} it reads "
        f"{worst.value} for {ticks(worst.length)} from tick {worst.tick}"
    )
    return Finding(
        Kind.GLITCH,
        Severity.WARNING,
        (Place(pin.at),),
        text,
        details={
            "output": pin.name,
            "glitches": len(found),
            "changes": changes,
            "listed": [_entry(wanted.inputs, *item) for item in found[:MAX_LISTED]],
        },
    )


def _entry(names: Sequence[str], row: int, to: int, pulses: tuple[Pulse, ...]) -> dict[str, Any]:
    return {
        "from": format(row, f"0{len(names)}b"),
        "to": format(to, f"0{len(names)}b"),
        "pulses": [
            {"tick": pulse.tick, "ticks": pulse.length, "value": pulse.value} for pulse in pulses
        ],
    }
