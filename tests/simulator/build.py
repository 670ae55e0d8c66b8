"""Short ways to write a layout down, and to look at one played tick."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from synth.layout import Layout, Pin, Stack
from synth.medium import Block, Cell, Direction, Joint, Role, Size, buffer, inverter
from synth.simulator import trace

PX, NX, PY, NY = Direction.PX, Direction.NX, Direction.PY, Direction.NY
PZ, NZ = Direction.PZ, Direction.NZ

STANDING = inverter(NZ)


def hung(on: str) -> Block:
    """An inverter by the direction of its host."""
    return inverter(Direction(on))


def to(facing: str, delay: int = 1) -> Block:
    """A buffer by where it points."""
    return buffer(Direction(facing), delay)


def enters(name: str, at: Cell, face: str, joint: str = "wire") -> Pin:
    """An input pin."""
    return Pin(name, Role.INPUT, at, Direction(face), Joint(joint))


def leaves(name: str, at: Cell, face: str, joint: str = "wire") -> Pin:
    """An output pin."""
    return Pin(name, Role.OUTPUT, at, Direction(face), Joint(joint))


def box(
    size: Size,
    cells: Mapping[Cell, Block],
    *pins: Pin,
    ground: bool = False,
    stack: Stack | None = None,
) -> Layout:
    """A layout."""
    return Layout(size, cells, pins, stack, ground)


def ticks_of(layout: Layout, ticks: int = 6, **words: str) -> list[dict[str, Any]]:
    """The ticks of a trace, with strengths as ``powered``: a dictionary from cell to strength."""
    document = trace(layout, words, ticks)
    for index, tick in enumerate(document["ticks"]):
        tick["powered"] = {(x, y, z): strength for x, y, z, strength in tick["wires"]}
        tick["charged"] = cells_of(tick["charged"])
        tick["driven"] = cells_of(tick["driven"])
        tick["on"] = cells_of(tick["on"])
        tick["out"] = {name: word[index] for name, word in document["outputs"].items()}
    return list(document["ticks"])


def cells_of(entries: Iterable[Iterable[int]]) -> set[tuple[int, ...]]:
    """Lists of three numbers as cells."""
    return {tuple(entry) for entry in entries}


def read_out(layout: Layout, name: str = "q", ticks: int = 8, **words: str) -> str:
    """What an output reads, one character a tick."""
    return str(trace(layout, words, ticks)["outputs"][name])
