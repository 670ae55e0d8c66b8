"""The slim slice: a slim layout (``slim.py``) whose links lead from its right end to its left.

A chain along x (section 11). Pins that are not of links move from the sides -x and +x to the
face -y of the same cells. Behind the right end the row of a link's output passes a buffer, then
winds down or up, in a shaft of 2 x 2 cells, to the height of the input, where the link's own buffer
stands at the +x end. A shaft that is longer than a wire carries goes on in the next one, behind a
buffer. The shafts keep two cells from the ends of other rows, and nothing of them but the links'
buffers stands at the end, so that copies do not touch.

Several links wind down one after another, the lowest first, while the rows of the others run
straight on above or below: so the lower of two outputs has to belong to the lower of their inputs
(``slim_plan.py`` sees to that).

Down, each wire of a shaft stands on a solid, which lets strength descend to the next; the solid
that would be in the way of a wire three steps on is four above it. Up, ledges do.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from synth.composing.canvas import Canvas, Unbuildable
from synth.composing.order import Order, Side
from synth.composing.slim import ROWS, Slim
from synth.layout import Layout, Pin
from synth.medium import LEDGE, SOLID, WIRE, Cell, ChainLink, Direction

SHAFT = 2
"""Cells along x of a shaft."""

_CORNERS = 3
"""The most wires of a shaft that lie level."""

_SHORTEST = 3
"""Cells along x from which on pins of both ends may stand on one face."""


class SlimSlice:
    """Paints one slim slice of a chain.

    Args:
        order: with the links in ``chain``; their inputs on the left side, their outputs on the
            right.
    """

    def __init__(self, order: Order) -> None:
        self.order = order

    def layout(self) -> Layout:
        """The slice, 2 wide and not yet stacked.

        Raises:
            Unbuildable: if a wire carries too short a way for any shaft.
        """
        base = Slim(replace(self.order, stack=None)).layout()
        if base.length < _SHORTEST:
            # Pins of both ends move to one face, where they have to keep their distance.
            order = replace(self.order, stack=None, end=_SHORTEST - 1)
            base = Slim(order).layout()
        if any(self._would_turn(pin, base) for pin in base.pins):
            base = _longer_at_the_left(base)
        pins = {pin.name: pin for pin in base.pins}
        canvas = Canvas(self.order.rules)
        canvas.cells = dict(base.cells)
        links = sorted(self.order.chain, key=lambda link: pins[link.output].at[2])
        ends = {}
        at = base.length
        for link in links:
            level, to = pins[link.output].at[2], pins[link.input].at[2]
            _run(canvas, base.length, at, level)
            ends[link] = _wound(canvas, (at + 1, ROWS, level), to)
            at = ends[link]
        for link in links:
            _run(canvas, ends[link], at, pins[link.input].at[2])
        canvas.pins = [self._moved(pin, at, pins) for pin in base.pins]
        return canvas.layout(ground=self.order.ground)

    def _would_turn(self, pin: Pin, base: Layout) -> bool:
        """Whether a wire would no longer run along x once the lead of its pin is at the side."""
        moves = pin.face is Direction.NX and linked_side(self.order.chain, pin.name) is None
        if not moves or base.cells.get(pin.at) != WIRE:
            return False
        return base.cells.get(Direction.PX.step(pin.at)) != WIRE

    def _moved(self, pin: Pin, end: int, pins: Mapping[str, Pin]) -> Pin:
        for link in self.order.chain:
            if pin.name == link.output:
                return replace(pin, at=(end, ROWS, pins[link.input].at[2]))
            if pin.name == link.input:
                return pin
        return replace(pin, face=Direction.NY)


def _longer_at_the_left(base: Layout) -> Layout:
    """The layout one cell longer: each pin at the left end gets a wire ahead of what it had."""
    moved = {Direction.PX.step(cell): block for cell, block in base.cells.items()}
    pins = []
    for pin in base.pins:
        if pin.face is Direction.NX and base.cells.get(pin.at) == WIRE:
            moved[pin.at] = WIRE
            moved[Direction.NZ.step(pin.at)] = LEDGE
            pins.append(pin)
        elif pin.face is Direction.NX and pin.at not in base.cells:
            pins.append(pin)  # Nobody reads it.
        elif pin.face is Direction.NX:
            raise Unbuildable("a pin at the left end that no wire stands at")
        else:
            pins.append(replace(pin, at=Direction.PX.step(pin.at)))
    length, width, height = base.size
    return base.replace(size=(length + 1, width, height), cells=moved, pins=tuple(pins))


def _run(canvas: Canvas, start: int, end: int, level: int) -> None:
    """A row along x from one buffer to another: from the one alone if both are the same."""
    for x in dict.fromkeys((start, end)):
        canvas.restorer((x, ROWS, level), Direction.PX)
    between = [(x, ROWS, level) for x in range(start + 1, end)]
    canvas.line(between, breaks=between)


def _wound(canvas: Canvas, top: Cell, to: int) -> int:
    """Wind from a wire to another height, with a buffer behind each shaft; the x of the last."""
    x, lane, level = top
    if level == to:
        canvas.wire(top)
        canvas.restorer((x + 1, ROWS, to), Direction.PX)
        return x + 1
    most = canvas.rules.reach - _CORNERS
    if most < 1:
        raise Unbuildable("a wire carries too short a way for a shaft")
    while True:
        step = max(-most, min(most, to - level))
        _shaft(canvas, (x, lane, level), level + step)
        x, level = x + SHAFT, level + step
        canvas.restorer((x, ROWS, level), Direction.PX)
        if level == to:
            return x
        x += 1


def _shaft(canvas: Canvas, top: Cell, to: int) -> None:
    """Wind from a wire to another height; behind the shaft, in lane 0, a buffer has to stand."""
    x, _, level = top
    around = [(x, 0), (x, 1), (x + 1, 1), (x + 1, 0)]
    steps = abs(to - level)
    down = to < level
    at = 0
    if not down and steps % 4 == 0:
        canvas.wire(top)
        at = 1
    sign = -1 if down else 1
    last = steps - 1 if down and steps % 4 == 0 else steps
    for step in range(last + 1):
        cell = (*around[(at + step) % 4], level + sign * step)
        canvas.wire(cell)
        # The wire at the fourth corner serves by the solid that it charges.
        if down and (step < last or last < steps):
            canvas.put(Direction.NZ.step(cell), SOLID)
    corner = (at + last) % 4
    for level_corner in range(corner + 1, 4) if last == steps else ():
        canvas.wire((*around[level_corner], to))


def linked_side(chain: tuple[ChainLink, ...], name: str) -> Side | None:
    """The side of a pin of a link, None for any other."""
    for link in chain:
        if name == link.output:
            return Side.RIGHT
        if name == link.input:
            return Side.LEFT
    return None
