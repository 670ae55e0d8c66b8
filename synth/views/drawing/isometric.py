"""A layout in isometric projection (ISO 5456-3, from memory), whole or its layers lifted apart.

Seen from above, over the corner of large x and small y: x runs down to the right, y up to the
right, z up. Bodies are those of the model. What is far is painted first: cells in the order of
x - y + z, layer by layer where layers stand apart. On a grid, this order is exact between cells.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import cos, pi, sin

from synth.layout import Layout, Pin
from synth.medium import Block, Cell, Direction, Part, Role
from synth.simulator import touch
from synth.simulator.row import Row
from synth.views.drawing import palette
from synth.views.drawing.shapes import Corner, Material, Prism, body_of
from synth.views.drawing.shown import Shown, Window
from synth.views.drawing.svg import Picture, Point, group, lines, path, shifted, text, text_width

_UNIT = 46.0
_ACROSS, _DOWN = _UNIT * cos(pi / 6), _UNIT * sin(pi / 6)
_LEAST_LIFT, _MOST_LIFT = 1.15, 4.0
_NAME = 13.0
_TRIAD = 30.0
"""Length of the arrows that show the axes."""


def lift_of(layout: Layout) -> float:
    """The free height between two layers that stand apart, in cells.

    At the length of the shorter side, no layer would hide any part of the one below; a little
    less keeps the picture together.
    """
    if layout.height == 1:
        return 0.0
    return min(max(_LEAST_LIFT, 0.8 * min(layout.length, layout.width)), _MOST_LIFT)


def isometric_picture(
    layout: Layout,
    *,
    apart: bool = True,
    shown: Shown | None = None,
    window: Window | None = None,
    words: bool = True,
) -> Picture:
    """The layout from one corner above.

    Args:
        apart: lift the layers apart, so that none hides what lies below it; otherwise the layout
            is drawn as it is built.
        shown: a stage of the building, or what has power; None for all parts without power.
        window: the part of the box to draw; None for all of it.
        words: write numbers, axes and pins; small pictures do without.
    """
    lift = lift_of(layout) if apart else 0.0
    drawing = _Drawing(layout, lift, shown or Shown(), window or Window.all_of(layout))
    drawing.words = words
    return drawing.picture()


class _Drawing:
    def __init__(self, layout: Layout, lift: float, shown: Shown, window: Window) -> None:
        self.words = True
        self.window = window
        self.low, self.high = window.low, window.high
        self.layout = layout
        self.lift = lift
        self.shown = shown
        self.row = Row(layout)

    def at(self, x: float, y: float, z: float, layer: int) -> Point:
        """Where a point of a layer stands on the page."""
        return ((x + y) * _ACROSS, (x - y) * _DOWN - (z + layer * self.lift) * _UNIT)

    def picture(self) -> Picture:
        layout = self.layout
        cells = [
            cell
            for cell in self.window.cells_of(layout)
            if self.shown.cells is None or cell in self.shown.cells
        ]
        body = []
        if self.lift:
            for z in range(self.low[2], self.high[2]):
                body.append(self._floor(z))
                layer = [cell for cell in cells if cell[2] == z]
                # From the far corner (small x, large y) to the near one.
                body += [self._cell(c) for c in sorted(layer, key=lambda c: (c[0] - c[1], c[0]))]
                body += [self._strength(c) for c in layer]
                body += [self._pin(pin) for pin in self._pins() if pin.at[2] == z]
                body += [self._level(z)]
        else:
            ground = self.low[2]
            body.append(self._floor(ground) + self._level(ground) + self._tops())
            for cell in sorted(cells, key=lambda c: (c[0] - c[1] + c[2], c)):
                body.append(self._cell(cell) + self._strength(cell))
            body += [self._pin(pin) for pin in self._pins()]
        left, top, right, low = self._bounds()
        margin = 14.0 if self.words else 4.0
        axes = self._axes(left, low) if self.words else ""
        return Picture(
            right - left + 2 * margin,
            low - top + 2 * margin,
            shifted("".join(body) + axes, margin - left, margin - top),
        )

    def _pins(self) -> list[Pin]:
        if not self.words:
            return []
        return [pin for pin in self.layout.pins if self.window.holds(pin.at)]

    def _bounds(self) -> tuple[float, float, float, float]:
        (x0, y0, z0), (x1, y1, z1) = self.low, self.high
        pins = self._pins()
        names = max((text_width(pin.name, _NAME) for pin in pins), default=0.0) + 0.8 * _UNIT
        up = z1 + (z1 - 1) * self.lift
        rise = 0.7 * _UNIT if pins else 0.0
        left = (x0 + y0) * _ACROSS
        floor = (x0 - y0) * _DOWN - z0 * (1 + self.lift) * _UNIT
        if not self.words:
            top = (x0 - y1) * _DOWN - up * _UNIT
            return left, top, (x1 + y1) * _ACROSS, floor + (x1 - x0) * _DOWN
        return (
            left - max(names, 62.0 if self.lift else 40.0, 2.2 * _TRIAD),
            (x0 - y1) * _DOWN - up * _UNIT - rise,
            (x1 + y1) * _ACROSS + max(names if pins else 0.0, 26.0),
            floor + max((x1 - x0) * _DOWN + (rise or 20), 3.2 * _TRIAD),
        )

    def _floor(self, z: int) -> str:
        """The grid of a layer, and the edges that lead up to it from the one below."""
        (x0, y0, z0), (x1, y1, _) = self.low, self.high

        def on(x: float, y: float) -> Point:
            return self.at(x, y, z, z)

        outline = path(
            [on(x0, y0), on(x1, y0), on(x1, y1), on(x0, y1)],
            closed=True,
            fill=palette.PAPER,
            fill_opacity=0.55,
            stroke=palette.FAINT,
            stroke_width=1,
        )
        grid = [(on(x, y0), on(x, y1)) for x in range(x0 + 1, x1)]
        grid += [(on(x0, y), on(x1, y)) for y in range(y0 + 1, y1)]
        body = outline + (lines(grid, stroke=palette.GRID, stroke_width=0.7) if grid else "")
        if z > z0:
            uprights = [
                (self.at(x, y, z - 1, z - 1), on(x, y)) for x, y in ((x0, y0), (x1, y0), (x1, y1))
            ]
            body = (
                lines(uprights, stroke=palette.FAINT, stroke_width=0.8, stroke_dasharray="2 4")
                + body
            )
        return body

    def _tops(self) -> str:
        """The rear edges of the box, behind all parts; drawn only where layers are not lifted."""
        (x0, y0, z0), (x1, y1, z1) = self.low, self.high
        corners = [(x0, y0), (x0, y1), (x1, y1)]
        edges = [(self.at(x, y, z0, 0), self.at(x, y, z1, 0)) for x, y in corners]
        top = [self.at(x, y, z1, 0) for x, y in corners]
        edges += [(top[0], top[1]), (top[1], top[2])]
        return lines(edges, stroke=palette.GRID, stroke_width=0.8)

    def _level(self, z: int) -> str:
        """The height of a layer; on the lowest layer also the numbers along x and y."""
        if not self.words:
            return ""
        (x0, y0, z0), (x1, y1, z1) = self.low, self.high
        corner = self.at(x0, y0, z, z)
        words = f"z = {z}" if self.lift or z1 - z0 == 1 or z0 else ""
        body = text(words, corner[0] - 8, corner[1] - 1, anchor="end", fill=palette.FAINT)
        if z == z0:
            for x in range(x0, x1):
                at = self.at(x + 0.5, y0 - 0.34, z, z)
                body += text(str(x), at[0], at[1] + 5, size=11, anchor="middle", fill=palette.FAINT)
            for y in range(y0, y1):
                at = self.at(x1 + 0.34, y + 0.5, z, z)
                body += text(str(y), at[0], at[1] + 5, size=11, anchor="middle", fill=palette.FAINT)
        return body

    def _axes(self, left: float, low: float) -> str:
        """Named arrows along x, y and z, in the lower left corner, where nothing else is drawn."""
        origin = (left + 8, low - 16)
        ways = {"x": (cos(pi / 6), sin(pi / 6)), "y": (cos(pi / 6), -sin(pi / 6)), "z": (0, -1)}
        body = ""
        for name, (dx, dy) in ways.items():
            tip = (origin[0] + dx * _TRIAD, origin[1] + dy * _TRIAD)
            base = (tip[0] - dx * 7, tip[1] - dy * 7)
            body += lines([(origin, base)], stroke=palette.FAINT, stroke_width=1.4)
            body += path(
                [tip, (base[0] - dy * 3, base[1] + dx * 3), (base[0] + dy * 3, base[1] - dx * 3)],
                closed=True,
                fill=palette.FAINT,
            )
            body += text(
                name, tip[0] + dx * 8, tip[1] + dy * 8 + 4, anchor="middle", fill=palette.INK,
                weight="bold",
            )  # fmt: skip
        return body

    def _cell(self, cell: Cell) -> str:
        block = self.layout.cells[cell]
        power = self.shown.power.get(cell, 0)
        runs: set[Direction] = set()
        rises: dict[Direction, bool] = {}
        if block.part is Part.WIRE:
            runs = touch.runs(self.row, cell)
            rises = {
                way: receives
                for other, way, _, receives in touch.links(self.row, cell)
                if other[2] > cell[2]
            }
        prisms = body_of(
            block,
            runs,
            rises,
            [way for way, receives in rises.items() if not receives],
            power=power if block.part is Part.WIRE else 0,
        )
        body = "".join(
            self._prism(prism, cell, power > 0) for prism in sorted(prisms, key=_nearness)
        )
        if self.lift:
            body += self._onwards(cell, rises)
        line = {"stroke": palette.NEW_LINE} if cell in self.shown.new else {}
        if block.part is Part.BUFFER:
            body += self._delay(cell, block)
        if block.part is Part.SOLID and self.lift and self._hides(cell):
            line["fill_opacity"] = "0.5"
        return group(body, stroke_linejoin="round", **line)

    def _hides(self, cell: Cell) -> bool:
        """Whether a block of a lifted layer has a part that is not a block right behind it."""
        x, y, z = cell
        blocks = (Part.SOLID, Part.CLEAR, Part.LEDGE)
        behind = (self.layout.cells.get((x - dx, y + dy, z)) for dx, dy in ((1, 1), (1, 0), (0, 1)))
        return any(block is not None and block.part not in blocks for block in behind)

    def _onwards(self, cell: Cell, rises: Mapping[Direction, bool]) -> str:
        """A line from a wire's upright to the layer above, where that layer is lifted off."""
        x, y, z = cell
        pairs = []
        for way in sorted(rises):
            dx, dy, _ = way.vector
            at = (x + 0.5 + 0.47 * dx, y + 0.5 + 0.47 * dy)
            pairs.append((self.at(*at, z + 1, z), self.at(*at, z + 1, z + 1)))
        return lines(
            pairs, stroke=palette.WIRE_LINE, stroke_width=1.6, stroke_dasharray="5 3"
        ) if pairs else ""  # fmt: skip

    def _delay(self, cell: Cell, block: Block) -> str:
        """The delay of a buffer, written on its body."""
        x, y, z = cell
        dx, dy, _ = (block.facing or Direction.PX).vector
        at = self.at(x + 0.5 - 0.08 * dx, y + 0.5 - 0.08 * dy, z + 0.34, z)
        on = self.shown.power.get(cell, 0) > 0
        fill = palette.ON_INK if on else palette.BUFFER_LINE
        return text(
            str(block.delay), at[0], at[1] + 4, size=12, anchor="middle", fill=fill,
            weight="bold", stroke="none",
        )  # fmt: skip

    def _strength(self, cell: Cell) -> str:
        """The strength of a wire, above it."""
        if cell not in self.shown.strengths:
            return ""
        x, y, z = cell
        at = self.at(x + 0.5, y + 0.5, z + 0.4, z)
        return text(
            str(self.shown.strengths[cell]), at[0], at[1], size=11, anchor="middle", weight="bold"
        )

    def _prism(self, prism: Prism, cell: Cell, on: bool) -> str:
        """The visible faces: those turned towards +x, -y or up."""

        def point(corner: Corner) -> Point:
            x, y, z = (origin + offset for origin, offset in zip(cell, corner, strict=True))
            return self.at(x, y, z, cell[2])

        material = prism.material
        new = cell in self.shown.new
        faces = sorted(_faces(prism), key=lambda face: face[2])
        body = "".join(
            path(
                [point(corner) for corner in corners],
                closed=True,
                fill=palette.shaded(material.on_fill if on else material.fill, light),
                **({} if material.opacity == 1 else {"fill_opacity": material.opacity}),
                **({"stroke": "none"} if prism.smooth and light != _lightest(prism) else {}),
            )
            for corners, light, _ in faces
        )
        if material is Material.SOLID and on:
            both = self.shown.power[cell] == 2
            body += "".join(
                _hatch([point(corner) for corner in corners], both) for corners, _, _ in faces
            )
        edge = palette.NEW_LINE if new else material.on_line if on else material.line
        thick = 1.8 if new else 0.6 if material is Material.WIRE else 1
        return group(body, stroke=edge, stroke_width=thick)

    def _pin(self, pin: Pin) -> str:
        """An arrow low in the pin's cell, in the direction of the signal, with the pin's name."""
        x, y, z = pin.at
        across, along, _ = pin.face.vector

        def out(far: float) -> Point:
            return self.at(x + 0.5 + across * far, y + 0.5 + along * far, z + 0.3, z)

        far, edge = out(1.1), out(0.55)
        tip, tail = (far, edge) if pin.role is Role.OUTPUT else (edge, far)
        dx, dy = (tip[0] - tail[0]) / _UNIT * 14, (tip[1] - tail[1]) / _UNIT * 14
        base = (tip[0] - dx, tip[1] - dy)
        arrow = lines([(tail, base)], stroke=palette.PIN_FILL, stroke_width=2.4) + path(
            [tip, (base[0] - dy * 0.5, base[1] + dx * 0.5),
             (base[0] + dy * 0.5, base[1] - dx * 0.5)],
            closed=True,
            fill=palette.PIN_FILL,
        )  # fmt: skip
        rightwards = far[0] > edge[0]
        return arrow + text(
            pin.name,
            far[0] + (5 if rightwards else -5),
            far[1] + 4.5,
            size=_NAME,
            anchor="start" if rightwards else "end",
            weight="bold",
        )


_CAP: dict[str, Corner] = {"x": (1.0, 0.0, 0.0), "y": (0.0, -1.0, 0.0), "z": (0.0, 0.0, 1.0)}
"""The direction of the face that shows the outline of a prism, by the axis of the prism."""


def _nearness(prism: Prism) -> float:
    """How near to the reader a prism of a cell is; lines of a wire count as below its node."""
    corners = [prism.corner(flat, at) for flat in prism.outline for at in (prism.low, prism.high)]
    if prism.material is Material.WIRE and prism.high < 0.5:
        return len(prism.outline) / 1000 - 0.1
    return _near(corners) - 0.5


def _faces(prism: Prism) -> list[tuple[list[Corner], float, float]]:
    """The visible faces: their corners, their light, and how near they are."""
    found: list[tuple[list[Corner], float, float]] = []
    count = len(prism.outline)
    for index, here in enumerate(prism.outline):
        after = prism.outline[(index + 1) % count]
        # The outward normal of a side is to the right of its edge, walking counterclockwise.
        nu, nv = after[1] - here[1], here[0] - after[0]
        normal = {"x": (0.0, nu, nv), "y": (nu, 0.0, nv), "z": (nu, nv, 0.0)}[prism.axis]
        corners = [
            prism.corner(here, prism.low),
            prism.corner(after, prism.low),
            prism.corner(after, prism.high),
            prism.corner(here, prism.high),
        ]
        if normal[0] - normal[1] + normal[2] > 1e-9:
            found.append((corners, _light(normal), _near(corners)))
    at = prism.low if prism.axis == "y" else prism.high
    cap = [prism.corner(flat, at) for flat in prism.outline]
    # The outline is visible as a whole; no part of the prism lies before it.
    found.append((cap, _light(_CAP[prism.axis]), 10.0))
    return found


def _lightest(prism: Prism) -> float:
    """The brightness of the face that shows the outline."""
    return _light(_CAP[prism.axis])


def _near(corners: list[Corner]) -> float:
    return sum((x - y + z for x, y, z in corners), 0.0) / len(corners)


def _hatch(face: list[Point], both: bool) -> str:
    """Lines across a face with four corners: one way on a charged solid, both on a driven one."""
    a, b, _, d = face

    def on(u: float, v: float) -> Point:
        return (
            a[0] + u * (b[0] - a[0]) + v * (d[0] - a[0]),
            a[1] + u * (b[1] - a[1]) + v * (d[1] - a[1]),
        )

    strokes = []
    for offset in (-0.66, -0.33, 0.0, 0.33, 0.66):
        start, end = max(0.0, -offset), min(1.0, 1 - offset)
        strokes.append((on(start, start + offset), on(end, end + offset)))
        if both:
            strokes.append((on(1 - start, start + offset), on(1 - end, end + offset)))
    return lines(strokes, stroke=palette.ON_LINE, stroke_width=1.4)


def _light(normal: Corner) -> float:
    """Full light from above, less from the front (-y), least from the side (+x)."""
    x, y, z = normal
    if z > max(x, -y):
        return 1.0
    return palette.SHADES["side"] if x > -y else palette.SHADES["front"]
