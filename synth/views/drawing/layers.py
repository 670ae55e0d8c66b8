"""A layout's layers as flat plans: x to the right, y up the page, pins beyond the frame."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from copy import copy
from dataclasses import dataclass

from synth.layout import Layout, Pin
from synth.medium import LEVEL_DIRECTIONS, Block, Cell, Direction, Part, Role
from synth.simulator import touch
from synth.simulator.row import Row
from synth.views.drawing import palette
from synth.views.drawing.legend import badge, new_frame, new_ground, strength
from synth.views.drawing.shown import Shown, Window
from synth.views.drawing.svg import Picture, element, group, lines, path, shifted, text, text_width
from synth.views.drawing.symbols import CELL, symbol

_RULER = 20.0
_TITLE = 24.0
_ARROW = 22.0
_PIN_SIZE = 13.0


@dataclass(frozen=True, slots=True)
class Step:
    """A stage of the building: what is in place, and what is being added.

    Attributes:
        placed: cells whose part is already in place.
        numbers: cells whose part is being added, each with the number of the part.
    """

    placed: Set[Cell]
    numbers: Mapping[Cell, int]


class LayerDrawer:
    """Draws layers of one layout, all of one size, so that they line up."""

    def __init__(self, layout: Layout, shown: Shown | None = None) -> None:
        self.layout = layout
        self.shown = shown or Shown()
        row = Row(layout)
        wires = [cell for cell, block in layout.cells.items() if block.part is Part.WIRE]
        self.runs = {cell: touch.runs(row, cell) for cell in wires}
        links = {cell: list(touch.links(row, cell)) for cell in wires}
        self.up = {
            cell: {way for other, way, _, _ in links[cell] if other[2] > cell[2]} for cell in wires
        }
        self.down = {
            cell: {way for other, way, _, _ in links[cell] if other[2] < cell[2]} for cell in wires
        }
        self._show(Window.all_of(layout))

    def _show(self, window: Window) -> None:
        """Set the part of each layer to draw, with room beside it for the pins there."""
        self.window = window
        widest = dict.fromkeys(LEVEL_DIRECTIONS, 0.0)
        for pin in self.layout.pins:
            if not self._shows(pin.at):
                continue
            room = text_width(pin.name, _PIN_SIZE) if pin.face.axis == "x" else _PIN_SIZE
            widest[pin.face] = max(widest[pin.face], _ARROW + room + 6)
        self.left = _RULER + widest[Direction.NX]
        self.top = _TITLE + widest[Direction.PY]
        self.right = max(4.0, widest[Direction.PX])
        self.bottom = widest[Direction.NY] + _RULER

    def within(self, window: Window) -> LayerDrawer:
        """A drawer of the same layout, cut down to a window; the window's heights do not matter."""
        cut = copy(self)
        cut._show(window)
        return cut

    def _shows(self, cell: Cell) -> bool:
        (x0, y0, _), (x1, y1, _) = self.window.low, self.window.high
        return x0 <= cell[0] < x1 and y0 <= cell[1] < y1

    @property
    def _across(self) -> float:
        return self.window.size[0] * CELL

    @property
    def _down(self) -> float:
        return self.window.size[1] * CELL

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the picture of a layer."""
        return (self.left + self._across + self.right, self.top + self._down + self.bottom)

    def layer(self, z: int, step: Step | None = None) -> Picture:
        """The plan of the layer at height ``z``.

        Args:
            z: the height.
            step: draw this stage of the building instead of the whole. Where the layer is then
                empty, what lies one layer lower shows faintly.
        """
        layout = self.layout
        width, height = self.size
        plan = [self._grid()]
        (x0, y0, _), (x1, y1, _) = self.window.low, self.window.high
        near = Window((x0, y0, z - 1), (x1, y1, z + 1))
        for cell in near.cells_of(layout):
            (x, y, at), block = cell, layout.cells[cell]
            if at == z and (step is None or cell in step.placed or cell in step.numbers):
                sign = self.shown.signs.get(cell)
                if step is not None and cell in step.numbers:
                    sign = str(step.numbers[cell])
                plan.append(self._placed(cell, block, sign))
            elif step is not None and at == z - 1 and cell in step.placed:
                over = (x, y, z)
                hidden = over in layout.cells and (over in step.placed or over in step.numbers)
                if not hidden:
                    drawn = self._symbol(cell, block)
                    plan.append(self._at(group(drawn, opacity=0.28), cell))
        plan.append(self._frame())
        plan += [self._pin(pin) for pin in self._pins(z)]
        title = text(f"z = {z}", self.left, 15, size=14, weight="bold")
        return Picture(width, height, title + self._rulers(z) + "".join(plan))

    def _pins(self, z: int) -> list[Pin]:
        return [pin for pin in self.layout.pins if pin.at[2] == z and self._shows(pin.at)]

    def _corner(self, cell: Cell) -> tuple[float, float]:
        return (
            self.left + (cell[0] - self.window.low[0]) * CELL,
            self.top + (self.window.high[1] - 1 - cell[1]) * CELL,
        )

    def _at(self, body: str, cell: Cell) -> str:
        return shifted(body, *self._corner(cell))

    def _symbol(self, cell: Cell, block: Block) -> str:
        drawn = symbol(
            block,
            self.runs.get(cell, ()),
            self.up.get(cell, ()),
            self.down.get(cell, ()),
            power=self.shown.power.get(cell, 0),
        )
        value = self.shown.strengths.get(cell, 0)
        return drawn + strength(value) if value else drawn

    def _placed(self, cell: Cell, block: Block, sign: str | None) -> str:
        drawn = self._symbol(cell, block)
        if sign is not None:
            drawn = new_ground() + drawn + new_frame() + badge(sign)
        return self._at(drawn, cell)

    def _grid(self) -> str:
        right, low = self.left + self._across, self.top + self._down
        columns = [self.left + x * CELL for x in range(1, self.window.size[0])]
        rows = [self.top + y * CELL for y in range(1, self.window.size[1])]
        return lines(
            [((x, self.top), (x, low)) for x in columns]
            + [((self.left, y), (right, y)) for y in rows],
            stroke=palette.GRID,
            stroke_width=0.8,
        )

    def _frame(self) -> str:
        """The edge of the box; a dashed line where the layer goes on beyond the window."""
        left, top, right, low = (
            self.left,
            self.top,
            self.left + self._across,
            self.top + self._down,
        )
        (x0, y0, _), (x1, y1, _) = self.window.low, self.window.high
        sides = [
            (x0 > 0, ((left, top), (left, low))),
            (x1 < self.layout.length, ((right, top), (right, low))),
            (y0 > 0, ((left, low), (right, low))),
            (y1 < self.layout.width, ((left, top), (right, top))),
        ]
        if not any(goes_on for goes_on, _ in sides):
            return element(
                "rect", x=left, y=top, width=self._across, height=self._down, fill="none",
                stroke=palette.INK, stroke_width=1.6,
            )  # fmt: skip
        drawn = ""
        for beyond, style in ((False, {}), (True, {"stroke_dasharray": "3 4"})):
            pairs = [pair for goes_on, pair in sides if goes_on is beyond]
            if pairs:
                drawn += lines(pairs, stroke=palette.INK, stroke_width=1.6, **style)
        return drawn

    def _rulers(self, z: int) -> str:
        """The numbers of columns below, and of rows at the left."""
        frame = self.top + self._down
        (x0, y0, _), (x1, y1, _) = self.window.low, self.window.high
        below = {pin.at[0] for pin in self._pins(z) if pin.face is Direction.NY}
        # Beside the frame, or beyond the pin that stands there.
        drawn = [
            text(
                str(x),
                self.left + (x - x0 + 0.5) * CELL,
                frame + (self.bottom - 6 if x in below else 14),
                anchor="middle",
                fill=palette.FAINT,
            )
            for x in range(x0, x1)
        ]
        pinned = {pin.at[1] for pin in self._pins(z) if pin.face is Direction.NX}
        for y in range(y0, y1):
            x = 14.0 if y in pinned else self.left - 6
            middle = self._corner((x0, y, 0))[1] + CELL / 2 + 4
            drawn.append(text(str(y), x, middle, anchor="end", fill=palette.FAINT))
        return "".join(drawn)

    def _pin(self, pin: Pin) -> str:
        """An arrow in the direction of the signal, and the pin's name."""
        x, y = self._corner(pin.at)
        across, up, _ = pin.face.vector
        down = -up
        edge = (x + CELL / 2 + across * CELL / 2, y + CELL / 2 + down * CELL / 2)
        far = (edge[0] + across * _ARROW, edge[1] + down * _ARROW)
        outwards = pin.role is Role.OUTPUT
        tip, tail = (far, edge) if outwards else (edge, far)
        way = (across, down) if outwards else (-across, -down)
        base = (tip[0] - way[0] * 10, tip[1] - way[1] * 10)
        arrow = lines([(tail, base)], stroke=palette.PIN_FILL, stroke_width=2.4) + path(
            [tip, (base[0] - way[1] * 5, base[1] + way[0] * 5),
             (base[0] + way[1] * 5, base[1] - way[0] * 5)],
            closed=True,
            fill=palette.PIN_FILL,
        )  # fmt: skip
        if pin.face.axis == "x":
            anchor = "start" if across > 0 else "end"
            label = text(
                pin.name, far[0] + across * 4, far[1] + 4.5, size=_PIN_SIZE, anchor=anchor,
                weight="bold",
            )  # fmt: skip
        else:
            shift = 13 if down > 0 else -4
            label = text(
                pin.name, far[0], far[1] + shift, size=_PIN_SIZE, anchor="middle", weight="bold"
            )
        return arrow + label


def layers_picture(
    layout: Layout, *, width: float = 900, shown: Shown | None = None
) -> Picture:  # fmt: skip
    """All layers, lowest first, side by side as far as they fit into ``width``.

    Args:
        shown: what has power, if anything is played.
    """
    drawer = LayerDrawer(layout, shown)
    pictures = [drawer.layer(z) for z in range(layout.height)]
    return in_rows(pictures, width=width)


def in_rows(pictures: Sequence[Picture], *, width: float, gap: float = 26) -> Picture:
    """Pictures of one size side by side, as many in a row as fit into ``width``."""
    wide, high = pictures[0].width, pictures[0].height
    fit = max(1, int((width + gap) // (wide + gap)))
    drawn = []
    for index, picture in enumerate(pictures):
        row, column = divmod(index, fit)
        drawn.append(shifted(picture.body, column * (wide + gap), row * (high + gap)))
    rows = -(-len(pictures) // fit)
    across = min(fit, len(pictures))
    return Picture(across * (wide + gap) - gap, rows * (high + gap) - gap, "".join(drawn))
