"""Two layouts side by side: whether they compute the same, what they measure, where they differ."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from synth.layout import Layout, Pin
from synth.layout.transform import same_up_to_symmetry
from synth.medium import DEFAULT_RULES, Block, Cell, Rules, shifted
from synth.medium_document import block_entry
from synth.showing import Shows
from synth.simulator import check
from synth.simulator.verdict import Verdict

FORMAT = "gatefit-comparison"
VERSION = 1

MEASURES = ("delay", "volume", "floor", "length", "width", "height", "parts")

MOST_PAIRS = 4_000_000
"""Most pairs of like parts that are tried to lay one layout upon the other."""

ADDED, TAKEN, CHANGED = "added", "taken", "changed"


@dataclass(frozen=True, slots=True)
class CellChange:
    """A cell in which the two differ, as the second layout counts cells."""

    at: Cell
    before: Block | None
    after: Block | None

    @property
    def kind(self) -> str:
        """Whether a part was added, taken out or replaced."""
        if self.before is None:
            return ADDED
        return TAKEN if self.after is None else CHANGED


@dataclass(frozen=True, slots=True)
class PinChange:
    """A pin in which the two differ; cells as the second layout counts them."""

    name: str
    before: Pin | None
    after: Pin | None


@dataclass(frozen=True, slots=True)
class Comparison(Shows):
    """What two layouts have in common, and what not.

    Attributes:
        first, second: the layouts.
        verdicts: the simulator's verdicts on both, with no function asked.
        same_function: whether both settle to the same outputs for every assignment of the same
            inputs, by name; None where one is not legal, does not settle, or has other pins.
        offset: by how many cells the first is moved so that it lies upon the second.
        cells: where parts differ once it is moved, by x, y, z.
        pins: the pins that differ once it is moved, those of the first layout before new ones.
        image: whether the second is the first but for turning, mirroring and moving.
    """

    first: Layout
    second: Layout
    verdicts: tuple[Verdict, Verdict]
    same_function: bool | None
    offset: Cell
    cells: tuple[CellChange, ...]
    pins: tuple[PinChange, ...]
    image: bool

    @property
    def measures(self) -> dict[str, tuple[int | None, int | None]]:
        """Each measure of section 9 of both layouts; a delay is None where there is none."""
        found = {}
        for name in MEASURES:
            if name == "delay":
                found[name] = (self.verdicts[0].delay, self.verdicts[1].delay)
            else:
                attribute = "part_count" if name == "parts" else name
                found[name] = (getattr(self.first, attribute), getattr(self.second, attribute))
        return found

    def lit(self, *, second: bool) -> dict[Cell, str]:
        """The cells of a layout that differ, each with how, as that layout counts cells."""
        x, y, z = (0, 0, 0) if second else self.offset
        missing = ADDED if not second else TAKEN
        return {
            (change.at[0] - x, change.at[1] - y, change.at[2] - z): change.kind
            for change in self.cells
            if change.kind != missing
        }

    def document(self) -> dict[str, Any]:
        """The comparison as a document."""
        stacks = [layout.document()["stack"] for layout in (self.first, self.second)]
        return {
            "format": FORMAT,
            "version": VERSION,
            "same_function": self.same_function,
            "outputs": [_outputs(verdict) for verdict in self.verdicts],
            "measures": {name: list(values) for name, values in self.measures.items()},
            "legal": [verdict.legal for verdict in self.verdicts],
            "stacks": [verdict.stacks for verdict in self.verdicts],
            "stack": stacks,
            "ground": [self.first.ground, self.second.ground],
            "image": self.image,
            "offset": list(self.offset),
            "cells": [
                {
                    "at": list(change.at),
                    "kind": change.kind,
                    "before": _part(change.at, change.before),
                    "after": _part(change.at, change.after),
                }
                for change in self.cells
            ],
            "pins": [
                {
                    "name": change.name,
                    "before": _pin(change.before),
                    "after": _pin(change.after),
                }
                for change in self.pins
            ],
        }


def compare(first: Layout, second: Layout, *, rules: Rules = DEFAULT_RULES) -> Comparison:
    """Compare two layouts. Cells are compared where most of the parts agree; nothing is turned."""
    verdicts = (check(first, rules=rules), check(second, rules=rules))
    offset = _offset(first, second)
    return Comparison(
        first=first,
        second=second,
        verdicts=verdicts,
        same_function=_same_function(first, second, verdicts),
        offset=offset,
        cells=tuple(_cells(first, second, offset)),
        pins=tuple(_pins(first, second, offset)),
        image=same_up_to_symmetry(first, second),
    )


def _same_function(
    first: Layout, second: Layout, verdicts: tuple[Verdict, Verdict]
) -> bool | None:  # fmt: skip
    """Whether the outputs agree by name, in whatever order the inputs are; None: unknown."""
    before, after = (verdict.outputs for verdict in verdicts)
    inputs = [[pin.name for pin in layout.inputs] for layout in (first, second)]
    if not before or not after or before.keys() != after.keys():
        return None
    if sorted(inputs[0]) != sorted(inputs[1]):
        return None
    if any("x" in column for column in (*before.values(), *after.values())):
        return None
    order = [inputs[1].index(name) for name in inputs[0]]
    count = len(order)
    for name, column in before.items():
        for row, value in enumerate(column):
            bits = ["0"] * count
            for index, bit in zip(order, format(row, f"0{count}b") if count else "", strict=True):
                bits[index] = bit
            if after[name][int("".join(bits) or "0", 2)] != value:
                return False
    return True


def _offset(first: Layout, second: Layout) -> Cell:
    """The smallest move that lays most parts of the first upon equal parts of the second.

    No move at all where there are too many to try.
    """
    groups: dict[Block, tuple[list[Cell], list[Cell]]] = {}
    for number, layout in enumerate((first, second)):
        for cell, block in layout.cells.items():
            groups.setdefault(block, ([], []))[number].append(cell)
    if sum(len(before) * len(after) for before, after in groups.values()) > MOST_PAIRS:
        return (0, 0, 0)
    agreeing: Counter[Cell] = Counter()
    for before, after in groups.values():
        for x, y, z in before:
            agreeing.update((u - x, v - y, w - z) for u, v, w in after)
    if not agreeing:
        return (0, 0, 0)
    return min(agreeing, key=lambda way: (-agreeing[way], sum(map(abs, way)), way))


def _cells(first: Layout, second: Layout, offset: Cell) -> Iterator[CellChange]:
    before = {shifted(cell, offset): block for cell, block in first.cells.items()}
    for cell in sorted(before.keys() | second.cells.keys()):
        if before.get(cell) != second.cells.get(cell):
            yield CellChange(cell, before.get(cell), second.cells.get(cell))


def _pins(first: Layout, second: Layout, offset: Cell) -> Iterator[PinChange]:
    before = {
        pin.name: Pin(pin.name, pin.role, shifted(pin.at, offset), pin.face, pin.joint)
        for pin in first.pins
    }
    after = {pin.name: pin for pin in second.pins}
    for name in dict.fromkeys([*before, *after]):
        if before.get(name) != after.get(name):
            yield PinChange(name, before.get(name), after.get(name))


def _outputs(verdict: Verdict) -> Mapping[str, str] | None:
    return None if verdict.outputs is None else dict(verdict.outputs)


def _part(cell: Cell, block: Block | None) -> dict[str, Any] | None:
    """A part as documents write it, without its cell."""
    if block is None:
        return None
    return {key: value for key, value in block_entry(cell, block).items() if key != "at"}


def _pin(pin: Pin | None) -> dict[str, Any] | None:
    if pin is None:
        return None
    return {
        "role": str(pin.role),
        "at": list(pin.at),
        "face": str(pin.face),
        "joint": str(pin.joint),
    }
