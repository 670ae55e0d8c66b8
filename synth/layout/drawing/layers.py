"""The layers of a drawing: titles, frames, their rows, and the marks of pins around them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from synth import fields
from synth.layout.documents import MAX_SIDE
from synth.layout.drawing.glyphs import role_of
from synth.layout.drawing.rows import Row, begins_row, read_rows
from synth.layout.drawing.source import Source, Spot, first_column
from synth.medium import Block, Cell, Direction, Role, Size
from synth.words import counted

TITLE = re.compile(r"z\s*=\s*(\d{1,6})(?:\s*,\s*x\s*=\s*(\d{1,6})\s*to\s*(\d{1,6}))?(?!\d)")
_TITLES = re.compile(rf"\s*(?:{TITLE.pattern}\s*)+")
_EDGES = re.compile(r"\s*(?:(?:y\s*=\s*)?\+-+\+\s*)+")
_RULER = re.compile(r"\s*(?:x\s*=[\d\s]*)+|[\d\s]+")
_ARROWS = re.compile(r"[\s^v]+")


@dataclass(frozen=True, slots=True)
class Mark:
    """A pin as drawn: letters of its name, where it sits, and which way its signal goes."""

    letters: str
    role: Role
    at: Cell
    face: Direction
    spot: Spot


@dataclass(slots=True)
class Piece:
    """A layer, or the part of it that fits on a page: its title and what is below that."""

    z: int
    start: int
    stop: int | None
    spot: Spot
    rows: list[Row] = field(default_factory=list)
    ruler: list[tuple[int, Spot]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Layers:
    """What is drawn.

    Attributes:
        size: of the box.
        cells: what each cell holds; of a buffer with a listed delay where it points.
        spots: where each part is drawn.
        marks: the pins drawn, in the order of the text.
    """

    size: Size
    cells: dict[Cell, Block | Direction]
    spots: dict[Cell, Spot]
    marks: list[Mark]


class LayersReader:
    """Takes the lines of layers as they come.

    Args:
        source: the text.
        powered: whether the drawing shows power: strengths of wires, and ``*`` behind cells.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.powered = False
        self._pieces: dict[tuple[int, int], Piece] = {}
        self._group: list[Piece] = []
        self._above: list[int] = []
        self._below: list[int] = []
        self._open = False
        self._marks: list[Mark] = []

    @property
    def begun(self) -> bool:
        """Whether any layer has begun."""
        return bool(self._pieces)

    def takes(self, line: int, text: str, *, like_heading: bool) -> bool:
        """Take a line if it belongs to a layer; whether it does.

        Args:
            line: its number, from 0.
            text: the line without comment; not empty.
            like_heading: whether it begins with a word of the heading. Equations have bars, too.
        """
        if _TITLES.fullmatch(text):
            self._begin(line, text)
        elif title := TITLE.match(text.lstrip()):
            behind = first_column(text) + title.end()
            raise self.source.error(
                Spot(line, behind), "more than the title of a layer", "write rows into lines below"
            )
        elif "|" in text and (not like_heading or begins_row(text)):
            self._row(line, text)
        elif not self._open:
            return False
        elif _EDGES.fullmatch(text):
            pass
        elif not self._group[0].rows:
            if _RULER.fullmatch(text):
                self._ruler(line, text)
            else:
                self._above.append(line)
        elif len(self._below) == 1 or (not self._below and _ARROWS.fullmatch(text)):
            self._below.append(line)
        else:
            return False
        return True

    def close(self) -> None:
        """No more of the layers side by side: what else comes is none of them."""
        if not self._open:
            return
        self._open = False
        for piece in self._group:
            if not piece.rows:
                raise self.source.error(
                    piece.spot,
                    f"layer z = {piece.z} has no row",
                    "draw its rows below, between bars: | ## ++ |",
                )
        if self._above:
            self._marks_along(self._above, Direction.PY)
        if self._below:
            self._marks_along(self._below, Direction.NY)

    def layers(self) -> Layers:
        """All that was drawn, once the text is at its end.

        Raises:
            InputError: where layers do not fit together.
        """
        self.close()
        by_layer: dict[int, list[Piece]] = {}
        for piece in self._pieces.values():
            by_layer.setdefault(piece.z, []).append(piece)
        for z, earlier in zip(range(len(by_layer)), sorted(by_layer), strict=True):
            if z != earlier:
                raise self.source.error(
                    by_layer[earlier][0].spot,
                    f"layer z = {earlier} is drawn, but not z = {z}",
                    f"draw z = {z} as well, with a dot for each empty cell",
                )
        length, width = self._length(by_layer[0]), len(next(iter(self._pieces.values())).rows)
        for pieces in by_layer.values():
            if self._length(pieces) != length:
                raise self.source.error(
                    pieces[0].spot,
                    f"layer z = {pieces[0].z} is {self._length(pieces)} cells long, "
                    f"layer z = 0 is {length}",
                    "draw all layers equally long, with a dot for each empty cell",
                )
        cells: dict[Cell, Block | Direction] = {}
        spots: dict[Cell, Spot] = {}
        marks: list[Mark] = []
        for piece in self._pieces.values():
            self._check(piece, width)
            for y, row in zip(reversed(range(width)), piece.rows, strict=True):
                for x, (column, block) in enumerate(row.cells, start=piece.start):
                    if block is not None:
                        cells[x, y, piece.z] = block
                        spots[x, y, piece.z] = Spot(row.line, column)
                for letters, face, arrow, spot in row.marks:
                    x = piece.start if face is Direction.NX else piece.start + len(row.cells) - 1
                    marks.append(Mark(letters, role_of(face, arrow), (x, y, piece.z), face, spot))
        return Layers((length, width, len(by_layer)), cells, spots, marks + self._marks)

    def _begin(self, line: int, text: str) -> None:
        self.close()
        self._open, self._above, self._below, self._group = True, [], [], []
        for found in TITLE.finditer(text):
            z, start, stop = (None if word is None else int(word) for word in found.groups())
            assert z is not None
            if z >= MAX_SIDE:
                raise self.source.error(
                    Spot(line, found.start()), f"a layer z = {z}", f"use at most {MAX_SIDE} layers"
                )
            piece = Piece(z, start or 0, stop, Spot(line, found.start()))
            other = self._pieces.setdefault((z, piece.start), piece)
            if other is not piece:
                raise self.source.error(
                    piece.spot,
                    f"layer z = {z} is drawn already in line {other.spot.line + 1}",
                    "number the layers from the lowest up: z = 0, z = 1, ...",
                )
            self._group.append(piece)

    def _ruler(self, line: int, text: str) -> None:
        """The numbers over the columns, of each frame its own."""
        numbers = list(re.finditer(r"\d+", text))
        starts = [found.start() for found in re.finditer("x", text)] or [0]
        if len(starts) != len(self._group):
            return
        for piece, start, stop in zip(
            self._group, starts, [*starts[1:], len(text)], strict=True
        ):  # fmt: skip
            piece.ruler = [
                (int(found[0][:6]), Spot(line, found.start()))
                for found in numbers
                if start <= found.start() < stop
            ]

    def _row(self, line: int, text: str) -> None:
        """A row of every layer that stands here side by side."""
        first = Spot(line, first_column(text))
        if not self._open:
            raise self.source.error(
                first, "a row that belongs to no layer", "write the layer's title above: z = 0"
            )
        rows = read_rows(self.source, line, text, powered=self.powered)
        if len(rows) != len(self._group):
            raise self.source.error(
                first,
                f"this line has {counted(len(rows), 'row')} for "
                f"{counted(len(self._group), 'layer')}",
                "give every layer its row, or draw one layer below the other",
            )
        if self._below:
            raise self.source.error(
                Spot(self._below[0], first_column(self.source.lines[self._below[0]])),
                "pins between two rows of a layer",
                "write pins above the first or below the last row, or beside a row",
            )
        for piece, row in zip(self._group, rows, strict=True):
            if max(len(row.cells), len(piece.rows) + 1) > MAX_SIDE:
                raise self.source.error(
                    first,
                    f"a layer of more than {MAX_SIDE} cells along one side",
                    f"use at most {MAX_SIDE}",
                )
            expected = len(piece.rows[0].cells) if piece.rows else len(row.cells)
            if len(row.cells) != expected:
                raise self.source.error(
                    Spot(line, row.end),
                    f"this row has {counted(len(row.cells), 'cell')}, the first row of its layer "
                    f"{expected}",
                    "write a dot for each empty cell",
                )
            piece.rows.append(row)

    def _marks_along(self, lines: Sequence[int], face: Direction) -> None:
        """The pins above (+y) or below (-y) the frames: names in one line, arrows in the other."""
        above = face is Direction.PY
        first = Spot(lines[0], first_column(self.source.lines[lines[0]]))
        if len(lines) != 2:
            raise self.source.error(
                first,
                "a line that belongs to no frame",
                "write the pins of the side in two lines, the arrows next to the frame; "
                "comments behind //",
            )
        named, pointing = lines if above else reversed(lines)
        names = list(re.finditer(r"\S+", self.source.code(named)))
        arrows = list(re.finditer(r"\S+", self.source.code(pointing)))
        for arrow in arrows:
            if arrow[0] not in ("^", "v"):
                raise self.source.error(
                    Spot(pointing, arrow.start()),
                    f"{fields.shown(arrow[0])} is no arrow of a pin",
                    "write ^ or v, between the pin's name and the frame",
                )
        if len(names) != len(arrows):
            raise self.source.error(
                first,
                f"{counted(len(names), 'name')} of pins, but {counted(len(arrows), 'arrow')}",
                "give every pin its arrow, ^ or v, between its name and the frame",
            )
        cells = self._columns(above)
        for name, arrow in zip(names, arrows, strict=True):
            spot = Spot(named, name.start())
            if not fields.NAME_PATTERN.fullmatch(name[0]):
                raise self.source.error(
                    spot,
                    f"{fields.shown(name[0])} is no name for a pin",
                    "use letters, digits, _ and $, not beginning with a digit or $",
                )
            at = cells.get(arrow.start())
            if at is None:
                raise self.source.error(
                    Spot(pointing, arrow.start()),
                    "this arrow stands at no cell",
                    "put it above or below the characters of a cell",
                )
            self._marks.append(Mark(name[0], role_of(face, arrow[0]), at, face, spot))

    def _columns(self, above: bool) -> dict[int, Cell]:
        """The cells of the first or last row here, by the columns of their characters."""
        cells: dict[int, Cell] = {}
        for piece in self._group:
            y = len(piece.rows) - 1 if above else 0
            row = piece.rows[0 if above else -1]
            for x, (start, _) in enumerate(row.cells, start=piece.start):
                # A lone dot may be the first or the second of a pair.
                for column in (start, start + 1, start - 1):
                    cells.setdefault(column, (x, y, piece.z))
        return cells

    def _length(self, pieces: list[Piece]) -> int:
        """The cells of a layer along x: of its pieces, one after the other."""
        reached = 0
        for piece in sorted(pieces, key=lambda piece: piece.start):
            if piece.start != reached:
                raise self.source.error(
                    piece.spot,
                    f"this piece of layer z = {piece.z} begins at x = {piece.start}, the one "
                    f"before it ends before x = {reached}",
                    "let every piece begin where the one before it ends",
                )
            reached += len(piece.rows[0].cells)
            if piece.stop is not None and piece.stop != reached - 1:
                raise self.source.error(
                    piece.spot,
                    f"the title says x = {piece.start} to {piece.stop}, but the rows end at "
                    f"x = {reached - 1}",
                    "correct the title",
                )
        return reached

    def _check(self, piece: Piece, width: int) -> None:
        """What is written beside a piece has to agree with what it is."""
        if len(piece.rows) != width:
            raise self.source.error(
                piece.spot,
                f"layer z = {piece.z} has {counted(len(piece.rows), 'row')}, the first one "
                f"drawn has {width}",
                "draw all layers equally wide, with a dot for each empty cell",
            )
        for y, row in zip(reversed(range(width)), piece.rows, strict=True):
            if row.number is not None and row.number[0] != y:
                raise self.source.error(
                    row.number[1],
                    f"this row is numbered {row.number[0]}, but is y = {y}",
                    "y goes up the page, to 0 in the last row; correct the number or leave it out",
                )
        length = len(piece.rows[0].cells)
        if piece.ruler and len(piece.ruler) != length:
            raise self.source.error(
                piece.ruler[-1][1],
                f"the ruler counts {counted(len(piece.ruler), 'column')}, the rows have "
                f"{counted(length, 'cell')}",
                "correct the ruler or leave it out",
            )
        for x, (number, spot) in enumerate(piece.ruler, start=piece.start):
            if number not in (x, x % 100):
                raise self.source.error(
                    spot,
                    f"this column is numbered {number}, but is x = {x}",
                    "x goes to the right, from 0; correct the ruler or leave it out",
                )
