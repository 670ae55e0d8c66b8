"""The layout: a box of cells, its pins and how it stacks. An immutable value.

A ``Layout`` can always be interpreted: every part and pin cell lies inside the box, no cell
holds two parts, every pin's face leads out of the box (or into an end of it that holds nothing),
names are unique. Whether it is *legal* in the medium (supports, hosts, spacing of pins, stacking)
is for the simulator to say.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.files import read_text, write_text
from synth.layout.documents import layout_document, layout_text, parse_json, read_contents
from synth.layout.drawing import DRAWING_ENDING, drawing_text, is_drawing, read_drawing
from synth.layout.made_for import MadeFor
from synth.layout.pieces import Piece, check_pieces, without_cells
from synth.layout.pins import Pin, Stack, show_size
from synth.medium import AXES, LEVEL_DIRECTIONS, Block, Cell, ChainLink, Part, Role, Size
from synth.showing import Shows


@dataclass(frozen=True, slots=True)
class Layout(Shows):
    """Parts in a box of ``size`` cells, with pins.

    Attributes:
        size: ``(length, width, height)`` in cells, each at least 1.
        cells: what each cell that is not empty holds; read-only, sorted by x, y, z.
        pins: in order; the first input is the most significant bit of an assignment.
        stack: how it is meant to stack, or None.
        ground: whether the cells just under height 0 carry wires and buffers (section 8).
        name: a name, or None; not part of equality.
        made_for: the function and delay it was made for, or None; like the name it says nothing
            of what the layout is and does, and is not part of equality.
        pieces: which parts belong together, in an order in which they can be built; like the name
            they are for the reader, and not part of equality.

    Raises:
        InputError: if a part or pin lies outside the box, a pin's face does not lead out
            of it, a name is taken twice or is no identifier, a size is below 1, a link of a
            chain is not of an output and an input, or a piece is not of parts that are there.
    """

    size: Size
    cells: Mapping[Cell, Block]
    pins: tuple[Pin, ...] = ()
    stack: Stack | None = None
    ground: bool = False
    name: str | None = None
    made_for: MadeFor | None = None
    pieces: tuple[Piece, ...] = ()

    def __post_init__(self) -> None:
        for axis, cells in zip(AXES, self.size, strict=True):
            if cells < 1:
                raise InputError(
                    f"a size of {cells} cells along {axis}", place="size", way_out="use 1 or more"
                )
        for cell in self.cells:
            if not self.inside(cell):
                raise InputError(
                    f"the part at {list(cell)} lies outside the box of {show_size(self.size)}",
                    place="parts",
                    way_out=_inside_hint(self.size),
                )
        seen: set[str] = set()
        for index, pin in enumerate(self.pins):
            self._check_pin(pin, f"pins[{index}]", seen)
            seen.add(pin.name)
        self._check_chain()
        check_pieces(self.pieces, self.cells)
        ordered = MappingProxyType(dict(sorted(self.cells.items())))
        object.__setattr__(self, "cells", ordered)
        object.__setattr__(self, "pins", tuple(self.pins))
        object.__setattr__(self, "pieces", tuple(self.pieces))

    def _check_pin(self, pin: Pin, place: str, seen: set[str]) -> None:
        fields.name(pin.name, f"{place}.name")
        if pin.name in seen:
            raise InputError(
                f"the name {pin.name!r} is taken by an earlier pin",
                place=f"{place}.name",
                way_out="give every pin a name of its own",
            )
        if not self.inside(pin.at):
            raise InputError(
                f"pin {pin.name!r} at {list(pin.at)} lies outside the box of "
                f"{show_size(self.size)}",
                place=f"{place}.at",
                way_out=_inside_hint(self.size),
            )
        if not pin.face.level:
            raise InputError(
                f"pin {pin.name!r} on face {pin.face}",
                place=f"{place}.face",
                way_out="use one of the level faces +x -x +y -y",
            )
        if self.inside(pin.outside) and not self._faces_empty_end(pin):
            raise InputError(
                f"pin {pin.name!r} at {list(pin.at)}: its face {pin.face} leads to a cell "
                "inside the box",
                place=f"{place}.face",
                way_out="put the pin on a cell and face at the edge of the box",
            )

    def _check_chain(self) -> None:
        ends = [
            (name, role)
            for link in self.chain
            for name, role in ((link.output, Role.OUTPUT), (link.input, Role.INPUT))
        ]
        for index, (name, role) in enumerate(ends):
            known = [pin.name for pin in self.pins if pin.role is role]
            if name not in known:
                raise InputError(
                    f"no {role} {fields.shown(name)}",
                    place="chain",
                    way_out=fields.suggestion(name, known, f"the {role}s are"),
                )
            if (name, role) in ends[:index]:
                raise InputError(
                    f"{name!r} is in two links of the chain",
                    place="chain",
                    way_out="give each pin one link",
                )

    def _faces_empty_end(self, pin: Pin) -> bool:
        """Whether a pin at the edge of the box faces an end of it that holds nothing at all.

        A box may be longer than what it holds. If no part and no pin lies beyond the face, the
        box could end there and all would be the same, so the face counts as leading out.
        """
        axis = AXES.index(pin.face.axis)
        sign = pin.face.vector[axis]

        def beyond(cell: Cell) -> bool:
            return (cell[axis] - pin.at[axis]) * sign > 0

        at_edge = any(not self.inside(face.step(pin.at)) for face in LEVEL_DIRECTIONS)
        held = (*self.cells, *(other.at for other in self.pins))
        return at_edge and not any(beyond(cell) for cell in held)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Layout):
            return NotImplemented
        return self._key() == other._key()

    def __hash__(self) -> int:
        return hash(self._key())

    def _key(self) -> tuple[Any, ...]:
        return (self.size, tuple(self.cells.items()), self.pins, self.stack, self.ground)

    def __reduce__(self) -> tuple[Any, ...]:
        # A read-only mapping does not pickle; workers send layouts to their parent.
        return (
            Layout,
            (
                self.size,
                dict(self.cells),
                self.pins,
                self.stack,
                self.ground,
                self.name,
                self.made_for,
                self.pieces,
            ),
        )

    @property
    def length(self) -> int:
        """Cells along x."""
        return self.size[0]

    @property
    def width(self) -> int:
        """Cells along y."""
        return self.size[1]

    @property
    def height(self) -> int:
        """Cells along z."""
        return self.size[2]

    @property
    def chain(self) -> tuple[ChainLink, ...]:
        """The links by which each copy of its stack hands signals to the next (section 11)."""
        return self.stack.chain if self.stack else ()

    @property
    def volume(self) -> int:
        """Length times width times height, in cells (section 9)."""
        return self.size[0] * self.size[1] * self.size[2]

    @property
    def floor(self) -> int:
        """Length times width, in cells (section 9)."""
        return self.size[0] * self.size[1]

    @property
    def part_count(self) -> int:
        """Cells that are not empty (section 9)."""
        return len(self.cells)

    @property
    def inputs(self) -> tuple[Pin, ...]:
        """The input pins, in order."""
        return tuple(pin for pin in self.pins if pin.role is Role.INPUT)

    @property
    def outputs(self) -> tuple[Pin, ...]:
        """The output pins, in order."""
        return tuple(pin for pin in self.pins if pin.role is Role.OUTPUT)

    def inside(self, cell: Cell) -> bool:
        """Whether ``cell`` lies in the box."""
        # Written out: this is asked more often than anything else of a layout.
        x, y, z = cell
        length, width, height = self.size
        return 0 <= x < length and 0 <= y < width and 0 <= z < height

    def bill_of_materials(self) -> dict[str, int]:
        """How many of each part, by part name in the order of ``Part``; absent parts left out."""
        counts = Counter(block.part for block in self.cells.values())
        return {str(part): counts[part] for part in Part if counts[part]}

    def with_cells(self, changes: Mapping[Cell, Block | None]) -> Layout:
        """A copy in which each cell of ``changes`` holds that block, or nothing for None.

        Pieces stay, without the cells that are empty now.
        """
        cells: dict[Cell, Block] = dict(self.cells)
        for cell, block in changes.items():
            if block is None:
                cells.pop(cell, None)
            else:
                cells[cell] = block
        gone = self.cells.keys() - cells.keys()
        return self.replace(cells=cells, pieces=without_cells(self.pieces, gone))

    def replace(self, **changes: Any) -> Layout:
        """A copy with the named attributes changed.

        With other cells it has no pieces unless they are given: what they name may have moved.
        """
        values: dict[str, Any] = {
            "size": self.size,
            "cells": self.cells,
            "pins": self.pins,
            "stack": self.stack,
            "ground": self.ground,
            "name": self.name,
            "made_for": self.made_for,
            "pieces": () if "cells" in changes else self.pieces,
        }
        return Layout(**(values | changes))

    # Documents live in a module of their own; these are the doors to it.

    @staticmethod
    def from_document(document: Mapping[str, Any]) -> Layout:
        """Read a layout document; see ``synth.layout.documents.read_contents``."""
        return Layout(*read_contents(document))

    @staticmethod
    def load(path: str | Path) -> Layout:
        """Read a layout file: a document (JSON) or a drawing.

        Raises:
            InputError: naming the file, the place in it (line and column in a drawing, and where
                it is no JSON) and what to write instead.
        """
        text = read_text(path)
        try:
            return Layout.from_text(text)
        except InputError as error:
            raise error.in_file(str(path)) from None

    @staticmethod
    def from_text(text: str) -> Layout:
        """Read what a layout file holds: a document (JSON) or a drawing.

        Raises:
            InputError: naming the place and what to write instead.
        """
        if is_drawing(text):
            return Layout.from_drawing(text)
        return Layout.from_document(parse_json(text))

    @staticmethod
    def from_drawing(text: str) -> Layout:
        """Read a drawing; see ``synth.layout.drawing``.

        Raises:
            InputError: with line and column, the line itself and a caret below it.
        """
        drawing = read_drawing(text)
        try:
            return Layout(*drawing.contents)
        except InputError as error:
            raise drawing.located(error) from None

    def document(self) -> dict[str, Any]:
        """The layout document; see ``synth.layout.documents.layout_document``."""
        return layout_document(self)

    def drawing(self) -> str:
        """The layout as a drawing, as a person types it; see ``synth.layout.drawing``."""
        return drawing_text(self)

    def save(self, path: str | Path) -> None:
        """Write the layout to a file, whole or not at all.

        It is written as a drawing where the file's name ends in ``.drawing``, else as a document.

        Raises:
            InputError: if the layout has no document or the file cannot be written.
        """
        drawn = Path(path).suffix.lower() == DRAWING_ENDING
        write_text(path, drawing_text(self) if drawn else layout_text(self))


def _inside_hint(size: Size) -> str:
    bounds = ", ".join(f"0 <= {axis} < {cells}" for axis, cells in zip(AXES, size, strict=True))
    return f"use cells with {bounds}"
