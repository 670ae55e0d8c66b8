"""Section 11 of ``medium.md`` read literally: slices, their rows, and how late their links are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, LEDGE, Cell, Direction, Joint, Part, Rules, buffer
from tests.reading.legal import DOWN, along, plus
from tests.reading.plain import Reading, assignments, settle_copy
from tests.reading.world import World, stand


def misplaced(layout: Layout) -> bool:
    """Whether something of a chain's links is not where rules 1 and 2 have it."""
    stack = layout.stack
    assert stack is not None
    axis = "xyz".index(stack.axis)
    pins = {pin.name: pin for pin in layout.pins}
    forwards = Direction(f"+{stack.axis}")
    # "The pitch is the size of the box along A."
    wrong = stack.axis == "z" or stack.pitch != layout.size[axis]
    for link in stack.chain:
        o, i = pins[link.output], pins[link.input]
        # "o's cell lies at the +A end of the box and holds a buffer of delay 1 that points along
        # +A."
        wrong |= o.at[axis] != layout.size[axis] - 1
        wrong |= layout.cells.get(o.at) != buffer(forwards, 1)
        # "i's cell lies at the -A end, with the same two other coordinates"
        wrong |= i.at != plus(o.at, along(axis, 1 - layout.size[axis]))
        # "o and i have their pins on the faces +A and -A of these cells"
        wrong |= o.face is not forwards or i.face is not forwards.opposite
        # "as if of joint buffer"
        wrong |= Joint.WIRE in (o.joint, i.joint)
    # "no other pin lies on these faces"
    others = [pin for pin in layout.pins if not stack.linked(pin.name)]
    return wrong or any(pin.face.axis == stack.axis for pin in others)


def bare(layout: Layout) -> Layout:
    """The layout without its links: what section 7 speaks of but for them."""
    assert layout.stack is not None
    pins = tuple(pin for pin in layout.pins if not layout.stack.linked(pin.name))
    return layout.replace(pins=pins, stack=replace(layout.stack, chain=()))


def crossing(layout: Layout) -> bool:
    """Whether a buffer but those of links has its front or back in another copy."""
    stack = layout.stack
    assert stack is not None
    axis = "xyz".index(stack.axis)
    pins = {pin.name: pin.at for pin in layout.pins}
    fronts = {pins[link.output] for link in stack.chain}
    backs = {pins[link.input] for link in stack.chain}
    forwards = Direction(f"+{stack.axis}")
    for cell, block in layout.cells.items():
        if block.part is not Part.BUFFER or block.facing is None:
            continue
        if block.facing.axis != stack.axis:
            continue
        last = layout.size[axis] - 1
        front_at = last if block.facing is forwards else 0
        # "a link's buffer powers nothing of its neighbour but through i's cell", which may hold a
        # buffer that the link's points into.
        if cell[axis] == front_at and (block.facing is not forwards or cell not in fronts):
            return True
        if cell[axis] == last - front_at and (block.facing is not forwards or cell not in backs):
            return True
    return False


def row_of(layout: Layout, length: int, judged: int, rules: Rules = DEFAULT_RULES) -> World:
    """The world of a row in which the links of one copy are inputs, as rule 5 has them.

    Those of the copies behind it are handed on; ``judged`` itself is shown an input in the cell
    of the buffer before it: "what a copy sees of the one before is exactly what an input of joint
    buffer shows it".
    """
    stack = layout.stack
    assert stack is not None
    axis = "xyz".index(stack.axis)
    world = stand(bare(layout), length, rules)
    pins = {pin.name: pin for pin in layout.pins}
    for link in stack.chain:
        o, i = pins[link.output], pins[link.input]
        # "i of the first copy is an input of joint buffer on that face, on its ledge"
        world.parts[i.outside] = buffer(Direction(f"+{stack.axis}"))
        world.parts.setdefault(DOWN.step(i.outside), LEDGE)
        world.owner[i.outside] = 0
        world.inputs[0, link.input] = i.outside
        for copy in range(length):
            world.sending[copy, link.output] = _moved(o.at, axis, copy * stack.pitch)
        if judged:
            world.inputs[judged, link.input] = world.sending[judged - 1, link.output]
    return world


def _moved(cell: Cell, axis: int, cells: int) -> Cell:
    return plus(cell, along(axis, cells))


def times(
    layout: Layout, wanted: Mapping[str, str], copies: int = 3, rules: Rules = DEFAULT_RULES
) -> tuple[int | None, int | None]:
    """The smallest T and C that every copy of rows of 1 to ``copies`` copies meets."""
    slowest: list[int | None] = [0, 0]
    stack = layout.stack
    assert stack is not None
    late = {link.input: "x" for link in stack.chain}
    sends = [link.output for link in stack.chain]
    rest = bare(layout)
    for length in range(1, copies + 1):
        for judged in range(length):
            world = row_of(layout, length, judged, rules)
            plays, afterwards = [], []
            for bits in assignments(layout):
                plays.append(settle_copy(world, rest, judged, bits, None))
                afterwards.append(settle_copy(world, rest, judged, {**bits, **late}, None, bits))
            found = (_first(plays, wanted, list(wanted)), _first(afterwards, wanted, sends))
            for index, met in enumerate(found):
                so_far = slowest[index]
                slowest[index] = None if met is None or so_far is None else max(so_far, met)
    return slowest[0], slowest[1]


def _first(plays: list[list[Reading]], wanted: Mapping[str, str], names: list[str]) -> int | None:
    """The first tick from which the outputs named read right in all plays."""
    for tick in range(max(map(len, plays))):
        shown = [play[min(tick, len(play) - 1)] for play in plays]
        if all(
            wanted[name][row] in ("-", reading.outputs[name]) and not reading.fed_back
            for row, reading in enumerate(shown)
            for name in names
        ):
            return tick
    return None
