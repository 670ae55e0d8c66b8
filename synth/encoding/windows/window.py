"""A window: a question about one box in which most cells are settled beforehand."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from synth.encoding.choices import slots_of
from synth.encoding.geometry import Slot
from synth.encoding.question import Question
from synth.encoding.windows.labels import Label, Labels
from synth.encoding.windows.promises import Promises
from synth.medium import DEFAULT_RULES, LEDGE, Block, Cell, Part, Rules, Size
from synth.spec import Spec


@dataclass(frozen=True)
class _Rows(Question):
    """A question in which only some rows are played."""

    rows: tuple[int, ...] | None = None

    @cached_property
    def asked_rows(self) -> tuple[int, ...]:
        """The rows that are played."""
        return tuple(range(self.spec.function.rows)) if self.rows is None else self.rows


@dataclass(frozen=True)
class Window:
    """Is there a layout in ``size`` that differs from what is given in the ``free`` cells only?

    Attributes:
        spec: the function, joints, stacking, ground and cells that are asked; its limits are not
        read.
        size: the box.
        delay: T of section 5.
        cells: what is fixed and not empty, by cell; cells neither here nor free stay empty.
        free: the cells that may hold anything.
        pins: where each pin may sit; one place: it stays there.
        parts: most parts in the free cells, or None.
        unlike: what the free cells must not hold again, all of it; None: anything goes.
        promises: signals of the fixed parts, to be kept as they are (``promises``); None: whatever
            happens outside, only the goal counts.
        labels: the signals of the layout it is cut into; then only these are placed (``placing``),
            and fixed parts keep theirs. Promises are left aside.
        longest_run: most wires of free runs that give strength to one another in a row, or
            None for no bound but the box. A bound loses layouts, and is quicker.
        buffers: whether free cells may hold buffers where ``before`` they held none. Without new
            ones a window is decided several times sooner.
        before: what the free cells held, where that matters to ``buffers``.
        rows: the rows that are played, or None for all: then a model may fail another row.
        compared: also say what plays say of each other (``Implied`` of the whole question).
        rules: the rule table.
    """

    spec: Spec
    size: Size
    delay: int
    cells: Mapping[Cell, Block]
    free: frozenset[Cell]
    pins: Mapping[str, tuple[Slot, ...]]
    parts: int | None = None
    unlike: Mapping[Cell, Block] | None = None
    promises: Promises | None = field(default=None, compare=False)
    labels: Labels | None = field(default=None, compare=False)
    longest_run: int | None = None
    buffers: bool = True
    before: Mapping[Cell, Block] = field(default_factory=dict)
    rows: tuple[int, ...] | None = None
    compared: bool = True
    rules: Rules = DEFAULT_RULES

    @cached_property
    def question(self) -> Question:
        """The whole question about the box, without accelerations."""
        return _Rows(
            self.spec,
            self.size,
            self.delay,
            rules=self.rules,
            break_symmetry=False,
            rows=self.rows,
        )

    @cached_property
    def whole(self) -> Question | None:
        """The same as a whole question with all its accelerations, or None if it is not one.

        It is one where every cell is free, every pin may sit wherever the specification lets it,
        and nothing else is asked.
        """
        asked = (self.parts, self.unlike, self.promises, self.labels, self.rows)
        if any(one is not None for one in asked) or not self.buffers:
            return None
        if len(self.free) < math.prod(self.size):
            return None
        question = Question(self.spec, self.size, self.delay, rules=self.rules)
        slots = slots_of(question).items()
        anywhere = all(set(self.pins[name]) == set(own) for name, own in slots)
        return question if anywhere else None

    @property
    def _signals(self) -> bool | list[Label]:
        """What the answer depends on of the labels: where nothing is fixed, which there are.

        Where something is, windows alike in that mostly have the same ones.
        """
        if self.labels is None or self.cells:
            return self.labels is not None
        return sorted(self.labels.signals)

    @property
    def buffered(self) -> list[Cell]:
        """The free cells that held a buffer."""
        return [cell for cell, block in self.before.items() if block.part is Part.BUFFER]

    @cached_property
    def key(self) -> str:
        """A digest of all that the answer depends on, clear and ledge taken as one."""
        return self._digest(self.cells, self.pins)

    def near_key(self, distance: int) -> str:
        """A digest of the window and of what lies up to so many cells around it.

        Windows alike in this mostly have the same answer.
        """
        near = surrounded(self.free, distance)
        cells = {cell: block for cell, block in self.cells.items() if cell in near}
        pins = {name: slots for name, slots in self.pins.items() if slots[0].cell in near}
        return self._digest(cells, pins)

    def _digest(self, cells: Mapping[Cell, Block], pins: Mapping[str, tuple[Slot, ...]]) -> str:
        named = {
            "size": self.size,
            "delay": self.delay,
            "cells": sorted(
                (cell, LEDGE.order if block.part is Part.CLEAR else block.order)
                for cell, block in cells.items()
            ),
            "free": sorted(self.free),
            "pins": [
                (name, [(slot.cell, str(slot.face)) for slot in slots])
                for name, slots in pins.items()
            ],
            "parts": self.parts,
            "unlike": self.unlike
            and sorted((cell, block.order) for cell, block in self.unlike.items()),
            "promised": self.promises is not None,
            "labelled": self._signals,
            "run": self.longest_run,
            "rows": self.rows,
            "buffers": self.buffers or sorted(self.buffered),
        }
        return hashlib.blake2b(repr(named).encode(), digest_size=16).hexdigest()


def surrounded(cells: Iterable[Cell], distance: int) -> set[Cell]:
    """All cells up to a distance (the largest difference of a coordinate), those given included."""
    reach = range(-distance, distance + 1)
    found = {(x + d, y, z) for x, y, z in cells for d in reach}
    found = {(x, y + d, z) for x, y, z in found for d in reach}
    return {(x, y, z + d) for x, y, z in found for d in reach}
