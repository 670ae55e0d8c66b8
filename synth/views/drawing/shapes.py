"""The body of each part in space: prisms within its cell, for every drawing in three dimensions.

Bodies are the flat symbols of IEEE Std 91a with a thickness: a triangle passes a signal on, with
its delay cut into its back as notches; a triangle with a disc at its tip negates; a wire is a line.
Coordinates run from 0 to 1 within the cell, along x, y and z of the medium. A ledge is the upper
half of its cell, since what rests on it lies in the cell above.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from math import cos, pi, sin

from synth.medium import LEVEL_DIRECTIONS, Block, Direction, Part
from synth.views.drawing import palette

Corner = tuple[float, float, float]
Flat = tuple[float, float]

BUFFER_OUTLINE: tuple[Flat, ...] = ((0.1, -0.4), (0.93, 0.0), (0.1, 0.4))
"""A triangle that points along u, from back to front; v runs across it, 0 in its middle."""

INVERTER_OUTLINE: tuple[Flat, ...] = ((0.06, -0.34), (0.67, 0.0), (0.06, 0.34))
"""A triangle with its base on the host; the disc of negation lies beyond its tip."""

_DISC_AT, _DISC_RADIUS, _DISC_CORNERS = 0.79, 0.12, 16
_NOTCH_DEPTH = 0.11
MOST_NOTCHES = 8
"""Most notches. A longer delay, which only a replaced rule table allows, is written as a number."""

_BUFFER_HEIGHT = 0.34
_PLATE = (0.4, 0.6)
_LINE, _NODE = 0.055, 0.12
_LOW = 0.06
_BOLD, _HIGH = 1.8, 0.24
"""How much wider lines are with power, and how high at full strength."""


class Material(Enum):
    """The material of a prism: name, fill, edge, opacity (0 to 1), then fill and edge with power.

    ``edge`` is the colour of its lines; with power only that of wires changes.
    """

    SOLID = ("solid", palette.SOLID_FILL, palette.INK, 1.0, palette.ON_PALE, palette.INK)
    CLEAR = ("clear", palette.CLEAR_FILL, palette.CLEAR_LINE, 0.3, "", "")
    LEDGE = ("ledge", palette.LEDGE_FILL, palette.LEDGE_LINE, 0.75, "", "")
    WIRE = ("wire", palette.WIRE_LINE, palette.WIRE_LINE, 1.0, palette.ON, palette.ON_LINE)
    INVERTER = (
        "inverter",
        palette.INVERTER_FILL,
        palette.INVERTER_LINE,
        1.0,
        palette.ON,
        palette.INVERTER_LINE,
    )
    DISC = (
        "disc",
        palette.PAPER,
        palette.INVERTER_LINE,
        1.0,
        palette.ON_LINE,
        palette.INVERTER_LINE,
    )
    BUFFER = (
        "buffer",
        palette.BUFFER_FILL,
        palette.BUFFER_LINE,
        1.0,
        palette.ON,
        palette.BUFFER_LINE,
    )
    PIN = ("pin", palette.PIN_FILL, palette.PIN_FILL, 1.0, "", "")

    def __init__(
        self, word: str, fill: str, line: str, opacity: float, on_fill: str, on_line: str
    ) -> None:
        self.word = word
        self.fill = fill
        self.line = line
        self.opacity = opacity
        self.on_fill = on_fill or fill
        self.on_line = on_line or line


@dataclass(frozen=True, slots=True)
class Prism:
    """An outline drawn out along an axis.

    Attributes:
        outline: corners in the plane across the axis, counterclockwise: (x, y) for the axis
            ``z``, (x, z) for ``y``, (y, z) for ``x``.
        axis: ``x``, ``y`` or ``z``.
        low, high: where it begins and ends along the axis.
        material: what it is made of.
        smooth: whether its outline stands for a curve.
    """

    outline: tuple[Flat, ...]
    axis: str
    low: float
    high: float
    material: Material
    smooth: bool = False

    def corner(self, flat: Flat, along: float) -> Corner:
        """The point in the cell of a corner of the outline, at ``along`` on the axis."""
        u, v = flat
        return {"x": (along, u, v), "y": (u, along, v), "z": (u, v, along)}[self.axis]

    @property
    def turns(self) -> bool:
        """Whether the outline, seen from beyond ``high``, runs clockwise."""
        return self.axis == "y"


def body_of(
    block: Block,
    runs: Iterable[Direction] = (),
    rises: Iterable[Direction] = (),
    climbs: Iterable[Direction] = (),
    *,
    power: float = 0,
    outside: bool = False,
) -> tuple[Prism, ...]:
    """The prisms that make up a block, lower ones first.

    Args:
        block: the block.
        runs: of a wire, the level directions it runs towards (section 3).
        rises: of a wire, the level directions in which it is linked to a wire one step up.
        climbs: those of them in which strength only climbs (section 3).
        power: of a wire, its strength as a share of the reach; only the shape of wires changes.
        outside: whether it stands outside a pin: such a buffer has no delay (section 6).
    """
    if block.part is Part.SOLID:
        return (_box((0, 0, 0), (1, 1, 1), Material.SOLID),)
    if block.part is Part.CLEAR:
        return (_box((0, 0, 0), (1, 1, 1), Material.CLEAR),)
    if block.part is Part.LEDGE:
        return (_box((0, 0, 0.5), (1, 1, 1), Material.LEDGE),)
    if block.part is Part.WIRE:
        one_way = set(climbs)
        lying = _wire(runs, power)
        return lying + tuple(
            prism
            for way in sorted(rises)
            for prism in riser(way, both=way not in one_way, power=power)
        )
    assert block.facing is not None
    if block.part is Part.BUFFER:
        return _buffer(block.facing, 0 if outside else block.delay)
    return _inverter(block.facing)


def _wire(runs: Iterable[Direction], power: float) -> tuple[Prism, ...]:
    half = _LINE * (_BOLD if power else 1)
    high = _LOW + (_HIGH - _LOW) * power
    bars = [
        Prism(_level([(0.5, -half), (1, -half), (1, half), (0.5, half)], way), "z", 0, high,
              Material.WIRE)
        for way in sorted(runs)
    ]  # fmt: skip
    node = _ring(0.5, 0.5, _NODE * (1.25 if power else 1), 8)
    return (*bars, Prism(node, "z", 0, high + 0.03, Material.WIRE))


def riser(way: Direction, *, both: bool = True, power: float = 0) -> tuple[Prism, ...]:
    """The upright of a link from a wire to one a step up, at the edge of the lower wire's cell.

    It ends at the upper wire, one cell higher. Where strength only climbs, it has an arrowhead.
    """
    half = _LINE * (_BOLD if power else 1)
    thick = 2 * _LINE
    bar = _level([(1 - thick, -half), (1, -half), (1, half), (1 - thick, half)], way)
    prisms = [Prism(bar, "z", 0, 1 + _LOW, Material.WIRE)]
    if not both:
        head = ((0.3, 0.42), (0.7, 0.42), (0.5, 0.78))
        inner = 1 - thick - 0.02
        low, high = (inner, 1.0) if way in (Direction.PX, Direction.PY) else (0.0, 1 - inner)
        prisms.append(Prism(head, way.axis, low, high, Material.WIRE))
    return tuple(prisms)


def notched(outline: Sequence[Flat], delay: int) -> tuple[Flat, ...]:
    """An outline that starts and ends at its back, with a notch in its back for each tick."""
    if not 0 < delay <= MOST_NOTCHES:
        return tuple(outline)
    (back, low), (_, high) = outline[0], outline[-1]
    pitch = (high - low) / max(5, delay + 1)
    cut = []
    # The back runs from the last corner to the first.
    for index in range(delay):
        middle = (low + high) / 2 + (delay - 1) / 2 * pitch - index * pitch
        for depth, side in ((0, 1), (_NOTCH_DEPTH, 1), (_NOTCH_DEPTH, -1), (0, -1)):
            cut.append((back + depth, middle + side * pitch / 4))
    return (*outline, *cut)


def _buffer(to: Direction, delay: int) -> tuple[Prism, ...]:
    """A triangular prism that points to its front, its delay cut into its back."""
    outline = _level(notched(BUFFER_OUTLINE, delay), to)
    return (Prism(outline, "z", 0, _BUFFER_HEIGHT, Material.BUFFER),)


def _inverter(on: Direction) -> tuple[Prism, ...]:
    """The symbol of negation as a plate: its foot is on the host, its disc beyond the tip."""
    foot = ((0.0, -0.38), (0.06, -0.38), (0.06, 0.38), (0.0, 0.38))
    disc = _ring(_DISC_AT, 0, _DISC_RADIUS, _DISC_CORNERS)
    prisms = []
    for outline, material in (
        (foot, Material.INVERTER),
        (INVERTER_OUTLINE, Material.INVERTER),
        (disc, Material.DISC),
    ):
        smooth = material is Material.DISC
        if on is Direction.NZ:
            # Upright, its face towards -y, as the symbol would be drawn on a wall.
            upright = tuple((0.5 - v, u) for u, v in outline)
            prisms.append(Prism(upright, "y", *_PLATE, material, smooth))
        else:
            # Distances count from the host, so it points along the opposite direction.
            flat = _level(outline, on.opposite)
            prisms.append(Prism(flat, "z", *_PLATE, material, smooth))
    return tuple(prisms)


def pin_arrow(way: Direction) -> tuple[Prism, ...]:
    """An arrow along a level direction, in the middle of a cell: the direction of a signal."""
    shaft = ((0.05, -0.05), (0.6, -0.05), (0.6, 0.05), (0.05, 0.05))
    head = ((0.6, -0.2), (0.96, 0), (0.6, 0.2))
    return tuple(
        Prism(_level(outline, way), "z", 0.44, 0.56, Material.PIN) for outline in (shaft, head)
    )


def _ring(u: float, v: float, radius: float, corners: int) -> tuple[Flat, ...]:
    """A regular polygon."""
    angles = (2 * pi * (index + 0.5) / corners for index in range(corners))
    return tuple((u + radius * cos(angle), v + radius * sin(angle)) for angle in angles)


def _level(outline: Iterable[Flat], way: Direction) -> tuple[Flat, ...]:
    """An outline along u, from 0 to 1 and about v = 0, laid into a cell along ``way``."""
    assert way in LEVEL_DIRECTIONS
    dx, dy, _ = way.vector
    return tuple((0.5 + (u - 0.5) * dx - v * dy, 0.5 + (u - 0.5) * dy + v * dx) for u, v in outline)


def _box(low: Corner, high: Corner, material: Material) -> Prism:
    (x0, y0, z0), (x1, y1, z1) = low, high
    return Prism(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), "z", z0, z1, material)
