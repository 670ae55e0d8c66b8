"""What the outputs of a copy should settle at, and whether one tick of a play meets it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from synth.simulator.fabric import Fabric, OutputPort
from synth.simulator.settling import Both


@dataclass(frozen=True, slots=True)
class Wanted:
    """Values wanted of the outputs, as masks over the assignments of the layout's inputs.

    Attributes:
        full: the mask of all assignments.
        inputs: names of the inputs, the first the most significant bit of an assignment.
        ones: for each output, where it should read 1.
        zeros: for each output, where it should read 0; where neither is set nothing is asked.
    """

    full: int
    inputs: tuple[str, ...]
    ones: Mapping[str, int]
    zeros: Mapping[str, int]

    def wrong(self, port: OutputPort, tick: Both) -> int:
        """Section 5: where an output does not read its right value at a tick of the play.

        Medium: 5 outputs right.
        """
        name = port.pin.name
        not_one = self.ones[name] & ~tick.sure.seen(port.sight)
        not_zero = self.zeros[name] & tick.possible.seen(port.sight)
        return not_one | not_zero

    def met(self, fabric: Fabric, tick: Both, copy: int = 0) -> bool:
        """Section 5: one copy meets the specification at a tick.

        Medium: 5 outputs right; 5 fed back.
        """
        ports = (port for port in fabric.outputs if port.copy == copy)
        return not any(self.wrong(port, tick) for port in ports) and not any(
            fed_back(fabric, tick, copy).values()
        )

    def assignment(self, row: int) -> str:
        """An assignment as messages write it: ``a=0 b=1``."""
        count = len(self.inputs)
        return " ".join(
            f"{name}={row >> (count - 1 - index) & 1}" for index, name in enumerate(self.inputs)
        )


def fed_back(fabric: Fabric, tick: Both, copy: int = 0) -> dict[str, int]:
    """Section 5: for each input of a copy, where it is off and its lead possibly on.

    Medium: 5 fed back.
    """
    return {
        port.pin.name: 0
        if port.lead is None
        else tick.possible.powered[port.lead] & ~tick.possible.on[port.emitter]
        for port in fabric.inputs
        if port.copy == copy
    }


def rows_of(mask: int) -> list[int]:
    """The assignments of a mask, in counting order."""
    return [row for row in range(mask.bit_length()) if mask >> row & 1]


def read_value(sight_sure: int, sight_possible: int, row: int) -> str:
    """``0``, ``1`` or ``x`` for one assignment."""
    if sight_sure >> row & 1:
        return "1"
    return "x" if sight_possible >> row & 1 else "0"


def first_met(fabric: Fabric, ticks: Sequence[Both], wanted: Wanted) -> int | None:
    """Section 9: the smallest T that a layout alone meets, or None; ``ticks`` reach the fixpoint.

    Medium: 9 delay.
    """
    for number, tick in enumerate(ticks):
        if wanted.met(fabric, tick):
            return number
    return None
