"""What every legal layout of tiny boxes does, tick by tick, by the simulator."""

from __future__ import annotations

from collections.abc import Iterator

from synth.layout import Layout, Pin
from synth.medium import Direction, Joint, Role, Size
from synth.simulator import legality, settle
from tests.encoding.every_layout import every_legal_layout, pin_places

BUFFERS = dict.fromkeys("abq", Joint.BUFFER)
MIXED = {"a": Joint.BUFFER, "b": Joint.WIRE, "q": Joint.WIRE}

Done = tuple[int, tuple[str, ...], int]
"""Inputs, columns of the outputs (``-``: not known), and the tick at which they are that."""


def roles(inputs: int) -> dict[str, Role]:
    return dict.fromkeys("ab"[:inputs], Role.INPUT) | {"q": Role.OUTPUT}


def at(name: str, x: int, y: int, z: int, face: str, joint: Joint) -> Pin:
    role = Role.OUTPUT if name in "pq" else Role.INPUT
    return Pin(name, role, (x, y, z), Direction(face), joint)


def boxes() -> Iterator[tuple[Size, bool, list[tuple[Pin, ...]]]]:
    """Boxes, ground, and the ways to put pins: everywhere on some faces, or as given."""
    sides = {"-x", "+x", "+y"}
    yield (1, 1, 2), True, list(pin_places((1, 1, 2), roles(2), MIXED, sides))
    yield (2, 1, 1), True, list(pin_places((2, 1, 1), roles(2), BUFFERS, sides))
    yield (2, 1, 2), False, list(pin_places((2, 1, 2), roles(1), BUFFERS, {"-x", "+x"}))
    wire = Joint.WIRE
    ends = (at("a", 0, 0, 1, "-x", wire), at("b", 2, 0, 1, "+x", wire))
    yield (3, 1, 2), False, [(*ends, at("q", 1, 0, 0, "+y", wire), at("p", 1, 0, 1, "-y", wire))]


def every_play() -> set[Done]:
    """All that any of these layouts does at any tick, held buffers and fed back inputs included."""
    done: set[Done] = set()
    for size, ground, places in boxes():
        for bare in every_legal_layout(size, ground):
            for pins in places:
                layout = bare.replace(pins=pins)
                if not legality(layout):
                    done.update(plays(layout))
    return done


def plays(layout: Layout) -> Iterator[Done]:
    """What a layout does at every tick; inputs in the order of the layout's pins."""
    settling = settle(layout)
    rows = 1 << len(layout.inputs)
    for tick in range(len(settling.ticks)):
        columns = []
        for pin in layout.outputs:
            sure = settling.surely_reads(pin.name, tick)
            possible = settling.possibly_reads(pin.name, tick)
            columns.append(
                "".join(
                    "1" if sure >> row & 1 else "-" if possible >> row & 1 else "0"
                    for row in range(rows)
                )
            )
        yield len(layout.inputs), tuple(columns), tick
