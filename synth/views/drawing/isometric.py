"""A layout in isometric projection (ISO 5456-3), its layers lifted apart so that all can be seen.

Seen from above over the corner of large x and small y: x runs down to the right, y up to the right,
z up. Boxes are painted from the far to the near; with layers apart and cells on a grid that order
is exact between cells.
"""

from __future__ import annotations

from math import cos, pi, sin

from synth.layout import Layout
from synth.medium import Cell, Direction, Part, Role
from synth.simulator import touch
from synth.simulator.row import Row
from synth.views.drawing import palette
from synth.views.drawing.shapes import Box, Corner, boxes_of
from synth.views.drawing.svg import Picture, Point, group, lines, path, shifted, text, text_width

_UNIT = 46.0
_ACROSS, _DOWN = _UNIT * cos(pi / 6), _UNIT * sin(pi / 6)
_LEAST_LIFT, _MOST_LIFT = 1.15, 4.0


def lift_of(layout: Layout) -> float:
    """Free height between two layers, in cells.

    With as much as the shorter side no layer would hide any of the one below; a little less
    keeps the picture together.
    """
    if layout.height == 1:
        return 0.0
    return min(max(_LEAST_LIFT, 0.8 * min(layout.length, layout.width)), _MOST_LIFT)


def isometric_picture(layout: Layout) -> Picture:
    """The layout from one corner above, layer over layer."""
    lift = lift_of(layout)
    drawn = _floors(layout, lift)
    body = []
    row = Row(layout)
    for z in range(layout.height):
        body.append(drawn[z])
        cells = [cell for cell in layout.cells if cell[2] == z]
        # From the far corner (small x, large y) to the near one.
        for cell in sorted(cells, key=lambda cell: (cell[0] - cell[1], cell[0])):
            body.append(_cell(layout, row, cell, lift))
        body.append(_pins(layout, z, lift))
    left, top, right, low = _bounds(layout, lift)
    margin = 14.0
    return Picture(
        right - left + 2 * margin,
        low - top + 2 * margin,
        shifted("".join(body), margin - left, margin - top),
    )


def _project(x: float, y: float, z: float, layer: int, lift: float) -> Point:
    return ((x + y) * _ACROSS, (x - y) * _DOWN - (z + layer * lift) * _UNIT)


def _bounds(layout: Layout, lift: float) -> tuple[float, float, float, float]:
    length, width, height = layout.size
    names = max((text_width(pin.name, 13) for pin in layout.pins), default=0.0) + 0.7 * _UNIT
    up = height + (height - 1) * lift
    rise = 0.7 * _UNIT if layout.pins else 0.0
    return (
        -max(names, 60.0),
        -width * _DOWN - up * _UNIT - rise,
        (length + width) * _ACROSS + names,
        length * _DOWN + rise,
    )


def _floors(layout: Layout, lift: float) -> list[str]:
    """For each layer its grid, and the edges that lead up to it from the one below."""
    length, width, height = layout.size
    floors = []
    for z in range(height):

        def at(x: float, y: float, z: int = z) -> Point:
            return _project(x, y, z, z, lift)

        outline = path(
            [at(0, 0), at(length, 0), at(length, width), at(0, width)],
            closed=True,
            fill=palette.PAPER,
            fill_opacity=0.55,
            stroke=palette.FAINT,
            stroke_width=1,
        )
        grid = [(at(x, 0), at(x, width)) for x in range(1, length)]
        grid += [(at(0, y), at(length, y)) for y in range(1, width)]
        body = outline + (lines(grid, stroke=palette.GRID, stroke_width=0.7) if grid else "")
        if z:
            uprights = [
                (_project(x, y, z - 1, z - 1, lift), at(x, y))
                for x, y in ((0, 0), (length, 0), (length, width))
            ]
            body = (
                lines(uprights, stroke=palette.FAINT, stroke_width=0.8, stroke_dasharray="2 4")
                + body
            )
        corner = at(0, 0)
        body += text(f"z = {z}", corner[0] - 8, corner[1] + 4, anchor="end", fill=palette.FAINT)
        floors.append(body)
    return floors


def _cell(layout: Layout, row: Row, cell: Cell, lift: float) -> str:
    block = layout.cells[cell]
    runs: set[Direction] = set()
    rises: set[Direction] = set()
    if block.part is Part.WIRE:
        runs = touch.runs(row, cell)
        rises = {way for other, way, _, _ in touch.links(row, cell) if other[2] > cell[2]}
    boxes = sorted(
        boxes_of(block, runs, rises),
        key=lambda box: (box.low[2], box.low[0] + box.high[0] - box.low[1] - box.high[1]),
    )
    return "".join(_box(box, cell, lift) for box in boxes)


def _box(box: Box, cell: Cell, lift: float) -> str:
    """The three faces that are seen: the top, and the sides towards +x and towards -y."""
    material = box.material
    (x0, y0, z0), (x1, y1, z1) = box.low, box.high

    def at(corner: Corner) -> Point:
        x, y, z = (origin + offset for origin, offset in zip(cell, corner, strict=True))
        return _project(x, y, z, cell[2], lift)

    faces = [
        ([(x1, y0, z0), (x1, y1, z0), (x1, y1, z1), (x1, y0, z1)], 0.72),
        ([(x0, y0, z0), (x1, y0, z0), (x1, y0, z1), (x0, y0, z1)], 0.86),
        ([(x0, y0, z1), (x1, y0, z1), (x1, y1, z1), (x0, y1, z1)], 1.0),
    ]
    body = "".join(
        path(
            [at(corner) for corner in corners],
            closed=True,
            fill=shaded(material.fill, light),
            fill_opacity=material.opacity,
        )
        for corners, light in faces
    )
    return group(body, stroke=material.line, stroke_width=0.9, stroke_linejoin="round")


def shaded(colour: str, light: float) -> str:
    """``#rrggbb`` with that share of its brightness."""
    parts = [round(int(colour[at : at + 2], 16) * light) for at in (1, 3, 5)]
    return "#" + "".join(f"{part:02x}" for part in parts)


def _pins(layout: Layout, z: int, lift: float) -> str:
    """Arrows at half the height of their cells, the way the signal goes, with names."""
    drawn = []
    for pin in layout.pins:
        if pin.at[2] != z:
            continue
        x, y = pin.at[0] + 0.5, pin.at[1] + 0.5
        across, along, _ = pin.face.vector

        def at(out: float, pin_x: float = x, pin_y: float = y, dx: int = across, dy: int = along,
               ) -> Point:  # fmt: skip
            return _project(pin_x + dx * out, pin_y + dy * out, z + 0.3, z, lift)

        far, edge = at(1.1), at(0.55)
        tip, tail = (far, edge) if pin.role is Role.OUTPUT else (edge, far)
        dx, dy = (tip[0] - tail[0]) / _UNIT * 14, (tip[1] - tail[1]) / _UNIT * 14
        base = (tip[0] - dx, tip[1] - dy)
        drawn.append(
            lines([(tail, base)], stroke=palette.PIN_FILL, stroke_width=2.4)
            + path(
                [tip, (base[0] - dy * 0.5, base[1] + dx * 0.5),
                 (base[0] + dy * 0.5, base[1] - dx * 0.5)],
                closed=True,
                fill=palette.PIN_FILL,
            )
        )  # fmt: skip
        rightwards = far[0] > edge[0]
        drawn.append(
            text(
                pin.name,
                far[0] + (5 if rightwards else -5),
                far[1] + 4.5,
                size=13,
                anchor="start" if rightwards else "end",
                weight="bold",
            )
        )
    return "".join(drawn)
