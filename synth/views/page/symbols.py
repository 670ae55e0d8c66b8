"""The symbols of the flat plans, as SVG 1.1 elements.

A cell is a square of ``UNIT`` units, x to the right and y up the page. Inverters and buffers are
the distinctive-shape symbols of IEEE Std 91a (a triangle, with a bubble at its output where it
inverts), pointing away from the host or along ``to``. What has power is filled or hatched, what has
none is outlined: the sign needs no colour. Classes are styled, and switched on, by the page.
"""

from __future__ import annotations

from collections.abc import Iterable

from synth.medium import Block, Direction, Part

UNIT = 60
"""Units of one cell."""

_HALF = UNIT / 2

_TURN = {Direction.PX: 0, Direction.PY: -90, Direction.NX: 180, Direction.NY: 90}
"""Degrees, clockwise on the page, from +x to a level direction (y goes up, SVG goes down)."""

PATTERNS = (
    '<pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="2.6" height="7" class="ink-power"/></pattern>'
    '<pattern id="cross" width="8" height="8" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="3" height="8" class="ink-power"/>'
    '<rect width="8" height="3" class="ink-power"/></pattern>'
)
"""Hatching of a charged solid, cross-hatching of a driven one."""


def symbol(
    block: Block,
    runs: Iterable[Direction] = (),
    up: Iterable[Direction] = (),
    down: Iterable[Direction] = (),
    *,
    outside: bool = False,
) -> str:
    """The symbol of a block, drawn from (0, 0) to (UNIT, UNIT).

    Args:
        block: what the cell holds.
        runs: where a wire runs towards.
        up, down: where a wire is linked to one a step up, or a step down.
        outside: whether it stands outside a pin: such a buffer has no delay (section 6).
    """
    if block.part is Part.SOLID:
        return (
            '<rect class="body solid" x="4" y="4" width="52" height="52"/>'
            '<rect class="mark charged" x="4" y="4" width="52" height="52" fill="url(#hatch)"/>'
            '<rect class="mark driven" x="4" y="4" width="52" height="52" fill="url(#cross)"/>'
        )
    if block.part is Part.CLEAR:
        return (
            '<rect class="body clear" x="4" y="4" width="52" height="52"/>'
            '<path class="fine" d="M40 10 L50 20 M32 10 L50 28"/>'
        )
    if block.part is Part.LEDGE:
        return (
            '<rect class="body ledge" x="4" y="4" width="52" height="52"/>'
            '<path class="fine" d="M11 44 H49 M11 49 H49"/>'
        )
    if block.part is Part.WIRE:
        return _wire(runs, up, down)
    # Drawn smaller, so that the facing can be written below.
    art = _inverter(block) if block.part is Part.INVERTER else _buffer(block, outside)
    return f'<g transform="translate(8 0) scale(.74)">{art}</g>'


def caption(block: Block) -> str:
    """The facing of a part in the words of documents, short enough to stand in its cell."""
    if block.part is Part.INVERTER:
        return f"on {block.facing}".replace("-", "\N{MINUS SIGN}")
    if block.part is Part.BUFFER:
        return f"to {block.facing}".replace("-", "\N{MINUS SIGN}")
    return ""


def _wire(runs: Iterable[Direction], up: Iterable[Direction], down: Iterable[Direction]) -> str:
    arms = "".join(
        f'<path class="arm" d="M30 30 H60" {_turned(direction)}/>' for direction in sorted(runs)
    )
    risers = "".join(
        f'<path class="riser" d="M45 22 l8 8 l-8 8 z" {_turned(direction)}/>'
        for direction in sorted(up)
    )
    fallers = "".join(
        f'<path class="riser" d="M46 23 V37 M51 23 V37" {_turned(direction)}/>'
        for direction in sorted(down)
    )
    return f'{arms}{risers}{fallers}<circle class="bead" cx="30" cy="30" r="7"/>'


def _inverter(block: Block) -> str:
    assert block.facing is not None
    if block.facing is Direction.NZ:
        return (
            '<circle class="body device" cx="30" cy="30" r="20"/>'
            '<circle class="bead" cx="30" cy="30" r="7"/>'
        )
    return (
        f'<g {_turned(block.facing.opposite)}><path class="body device" d="M4 11 V49 L40 30 z"/>'
        '<path class="fine heavy" d="M4 8 V52"/>'
        '<circle class="bead" cx="46" cy="30" r="6"/></g>'
    )


def _buffer(block: Block, outside: bool) -> str:
    assert block.facing is not None
    dx, dy, _ = block.facing.vector
    delay = f'<text class="delay" x="{30 - 4 * dx}" y="{35 + 4 * dy}">{block.delay}</text>'
    return (
        f'<g {_turned(block.facing)}><path class="fine" d="M2 30 H12 M52 30 H58"/>'
        '<path class="body device fills" d="M12 9 V51 L52 30 z"/></g>'
        f"{'' if outside else delay}"
    )


def _turned(direction: Direction) -> str:
    angle = _TURN[direction]
    return f'transform="rotate({angle} {_HALF:g} {_HALF:g})"' if angle else ""
