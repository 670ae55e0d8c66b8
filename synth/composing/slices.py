"""The slim slice: a slim layout (``slim.py``) whose link leads from its right end to its left.

A chain along x (section 11). Pins that are not of the link move from the sides -x and +x to the
face -y of the same cells. Behind the right end the output's row passes a buffer, then winds down or
up, in a shaft of 2 x 2 cells, to the height of the input, where the link's own buffer stands at the
+x end. The shaft keeps two cells from the ends of other rows, and nothing of it but that buffer
stands at the end, so that copies do not touch.

Down, each wire of the shaft stands on a solid, which lets strength descend to the next; the solid
that would be in the way of a wire three steps on is four above it. Up, ledges do.
"""

from __future__ import annotations

from dataclasses import replace

from synth.composing.canvas import Canvas, Unbuildable
from synth.composing.order import Order, Side
from synth.composing.slim import ROWS, Slim
from synth.layout import Layout, Pin
from synth.medium import LEDGE, SOLID, WIRE, Cell, ChainLink, Direction, Rules, buffer

_SHORTEST = 3
"""Cells along x from which on pins of both ends may stand on one face."""


class SlimSlice:
    """Paints one slim slice of a chain with a single link.

    Args:
        order: with the link in ``chain``; its input on the left side, its output on the right.
    """

    def __init__(self, order: Order) -> None:
        if len(order.chain) != 1:
            raise Unbuildable("a slice with several links")
        (self.link,) = order.chain
        self.order = order

    def layout(self) -> Layout:
        """The slice, 2 wide and not yet stacked.

        Raises:
            Unbuildable: if its shaft is longer than a wire carries.
        """
        base = Slim(replace(self.order, stack=None)).layout()
        if base.length < _SHORTEST:
            # Pins of both ends move to one face, where they have to keep their distance.
            order = replace(self.order, stack=None, end=_SHORTEST - 1)
            base = Slim(order).layout()
        if any(self._would_turn(pin, base) for pin in base.pins):
            base = _longer_at_the_left(base)
        pins = {pin.name: pin for pin in base.pins}
        sends, receives = pins[self.link.output], pins[self.link.input]
        canvas = Canvas(self.order.rules)
        canvas.cells = dict(base.cells)
        start = (base.length, ROWS, sends.at[2])
        canvas.put(start, buffer(Direction.PX, canvas.delay))
        _support(canvas, start)
        end = _shaft(canvas, (start[0] + 1, ROWS, start[2]), receives.at[2], self.order.rules)
        canvas.put(end, buffer(Direction.PX, canvas.delay))
        _support(canvas, end)
        canvas.pins = [self._moved(pin, end) for pin in base.pins]
        return canvas.layout(ground=self.order.ground)

    def _would_turn(self, pin: Pin, base: Layout) -> bool:
        """Whether a wire would no longer run along x once the lead of its pin is at the side."""
        moves = pin.face is Direction.NX and pin.name != self.link.input
        if not moves or base.cells.get(pin.at) != WIRE:
            return False
        return base.cells.get(Direction.PX.step(pin.at)) != WIRE

    def _moved(self, pin: Pin, end: Cell) -> Pin:
        if pin.name == self.link.output:
            return replace(pin, at=end)
        if pin.name == self.link.input:
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


def _support(canvas: Canvas, cell: Cell) -> None:
    below = Direction.NZ.step(cell)
    if below not in canvas.cells:
        canvas.restorer(cell, Direction.PX)


def _shaft(canvas: Canvas, top: Cell, to: int, rules: Rules) -> Cell:
    """Wind from a wire to another height; the cell behind the shaft where its buffer stands."""
    x, _, level = top
    around = [(x, 0), (x, 1), (x + 1, 1), (x + 1, 0)]
    steps = abs(to - level)
    if steps == 0:
        canvas.wire(top)
        return (x + 1, 0, to)
    if steps + 3 > rules.reach:
        raise Unbuildable("the shaft of a link is longer than a wire carries")
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
    return (x + 2, 0, to)


def linked_side(chain: tuple[ChainLink, ...], name: str) -> Side | None:
    """The side of a pin of a link, None for any other."""
    for link in chain:
        if name == link.output:
            return Side.RIGHT
        if name == link.input:
            return Side.LEFT
    return None
