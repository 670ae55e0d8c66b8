"""Layers as frames of cells with pins around them: what every drawing is made of."""

from __future__ import annotations

from collections.abc import Callable

from synth.layout.documents import Described
from synth.layout.drawing.glyphs import CELL_WIDTH, glyph, pin_arrow
from synth.layout.pins import Pin
from synth.medium import Cell, Direction


def pin_marks(layout: Described) -> dict[str, str]:
    """For each pin one or two letters of its name, unlike each other as far as names allow.

    A name of up to two letters stands for itself, a bit of a bus without its brackets. Marks begin
    as names do, never with a digit, so that none can be taken for a buffer.
    """
    taken = {pin.name for pin in layout.pins if len(pin.name) <= 2}
    marks = {}
    for pin in layout.pins:
        name = pin.name.replace("[", "").replace("]", "")
        mark = name[:2]
        if len(name) > 2:
            # The last letter often tells names apart: in1, in2.
            tries = [name[0] + letter for letter in (name[1], name[-1], *name[2:-1])]
            mark = next((found for found in tries if found not in taken), mark)
        taken.add(mark)
        marks[pin.name] = mark
    return marks


def drawn_mark(pin: Pin, mark: str) -> str:
    """A mark with the way of the pin's signal: the arrow stands between name and frame."""
    arrow = pin_arrow(pin.face, pin.role)
    return arrow + mark if pin.face is Direction.PX else mark + arrow


class Frames:
    """Draws layers of one layout, all with the same margins so that they line up.

    Args:
        layout: what is drawn.
        cell: the ``CELL_WIDTH`` characters of a cell; None: the pair for what it holds.
    """

    def __init__(self, layout: Described, cell: Callable[[Cell], str] | None = None) -> None:
        self.layout = layout
        self.cell = cell or (lambda at: f"{glyph(layout.cells.get(at))} ")
        marks = pin_marks(layout)
        self.marks: dict[tuple[Cell, Direction], str] = {
            (pin.at, pin.face): drawn_mark(pin, marks[pin.name]) for pin in layout.pins
        }
        self.left = self._widest(Direction.NX)
        self.right = self._widest(Direction.PX)
        self.label = max(4, len(str(layout.size[1] - 1)) + 1)

    def _widest(self, face: Direction) -> int:
        return max((len(mark) for (_, at), mark in self.marks.items() if at is face), default=0)

    @property
    def margins(self) -> int:
        """Columns of a layer beside its cells: labels, pin marks and frame."""
        return self.label + self.left + self.right + 4

    def layer(self, z: int, xs: range) -> list[str]:
        """The lines of layer ``z`` for the cells with x in ``xs``."""
        length, width, _ = self.layout.size
        title = f"z = {z}"
        if len(xs) < length:
            title += f", x = {xs[0]} to {xs[-1]}"
        blank = " " * (self.label + self.left)
        numbers = " ".join(f"{x % 100:>2}" for x in xs)
        edge = "+" + "-" * (len(xs) * CELL_WIDTH + 1) + "+"
        lines = [title, "x =".ljust(len(blank)) + "  " + numbers]
        lines += self._marks_rows(z, xs, Direction.PY, width - 1)
        lines.append("y =".ljust(len(blank)) + edge)
        for y in reversed(range(width)):
            cells = "".join(self.cell((x, y, z)) for x in xs)
            left = self.marks.get(((xs[0], y, z), Direction.NX), "").rjust(self.left)
            right = self.marks.get(((xs[-1], y, z), Direction.PX), "").ljust(self.right)
            label = str(y).rjust(self.label - 1) + " "
            lines.append(f"{label}{left}| {cells}|{right}")
        lines.append(blank + edge)
        lines += self._marks_rows(z, xs, Direction.NY, 0)
        # Layers of one width stand one under another in every row of the page.
        wide = len(blank) + len(edge) + self.right
        return [line.ljust(wide) for line in lines]

    def _marks_rows(self, z: int, xs: range, face: Direction, y: int) -> list[str]:
        """The pins beyond one long side, arrows next to the frame; nothing if no layer has any."""
        if not any(at_face is face for _, at_face in self.marks):
            return []
        blank = " " * (self.label + self.left + 2)
        marks = [self.marks.get(((x, y, z), face), "") for x in xs]
        names = blank + " ".join(mark[:-1].rjust(2) for mark in marks)
        arrows = blank + " ".join(mark[-1:].rjust(2) for mark in marks)
        return [names, arrows] if face is Direction.PY else [arrows, names]
