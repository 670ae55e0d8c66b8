"""Whether a layout keeps sections 2, 6 and 8; each broken rule is a fault with its cell."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from synth.layout import Layout, Pin, Stack
from synth.medium import (
    AXES,
    BUFFER_SUPPORTS,
    DEFAULT_RULES,
    RULE_TEXT,
    WIRE_SUPPORTS,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
    RuleId,
    Rules,
)
from synth.simulator.verdict import Fault


def legality(layout: Layout, rules: Rules = DEFAULT_RULES) -> tuple[Fault, ...]:
    """Everything that makes the layout illegal, by cell for parts, then pins in order.

    The distance between pins also counts between the copies of the stack that the layout
    states (section 6).
    """
    faults: list[Fault] = []
    for cell, block in layout.cells.items():
        faults += support_faults(layout, cell, block)
        faults += host_faults(layout, cell, block)
        faults += delay_faults(cell, block, rules)
    faults += pin_face_faults(layout)
    faults += pin_spacing_faults(layout)
    if layout.stack is not None:
        faults += stacked_pin_faults(layout, layout.stack)
    return tuple(faults)


def support_faults(layout: Layout, cell: Cell, block: Block) -> Iterator[Fault]:
    """Sections 2 and 8: a wire or buffer rests on what carries it, or on ground.

    Medium: 2 supports; 8 ground.
    """
    if block.part not in (Part.WIRE, Part.BUFFER) or (cell[2] == 0 and layout.ground):
        return
    allowed = WIRE_SUPPORTS if block.part is Part.WIRE else BUFFER_SUPPORTS
    below = layout.cells.get(Direction.NZ.step(cell))
    if below is None or below.part not in allowed:
        under = "nothing" if below is None else f"a {below.part}"
        names = " or ".join(sorted(str(part) for part in allowed))
        ground = "; there is no ground" if cell[2] == 0 else ""
        yield Fault(
            RuleId.SUPPORT,
            cell,
            f"the {block.part} at {list(cell)} has {under} under it and needs a {names}{ground}",
        )


def host_faults(layout: Layout, cell: Cell, block: Block) -> Iterator[Fault]:
    """Sections 2 and 8: the host of an inverter is a solid inside the box; ground is none.

    Medium: 2 hosts; 8 inverters.
    """
    if block.part is not Part.INVERTER or block.facing is None:
        return
    host = layout.cells.get(block.facing.step(cell))
    if host is None or host.part is not Part.SOLID:
        found = "nothing" if host is None else f"a {host.part}"
        yield Fault(
            RuleId.HOST,
            cell,
            f"the inverter at {list(cell)} has {found} at {block.facing} and needs a solid "
            "inside the box",
        )


def delay_faults(cell: Cell, block: Block, rules: Rules) -> Iterator[Fault]:
    """Section 2: the delay of a buffer is one of the rule table.

    Medium: 2 buffer delays.
    """
    if block.part is Part.BUFFER and block.delay not in rules.buffer_delays:
        allowed = ", ".join(map(str, rules.buffer_delays))
        yield Fault(
            RuleId.BUFFER_DELAY,
            cell,
            f"the buffer at {list(cell)} has a delay of {block.delay}; the rules have {allowed}",
        )


def pin_face_faults(layout: Layout) -> Iterator[Fault]:
    """Section 6: one face carries at most one pin.

    Medium: 6 one a face.
    """
    for one, other in combinations(layout.pins, 2):
        if (one.at, one.face) == (other.at, other.face):
            yield Fault(
                RuleId.PIN_FACE,
                other.at,
                f"pins {one.name!r} and {other.name!r} share the face {one.face} of {list(one.at)}",
            )


def pin_spacing_faults(layout: Layout) -> Iterator[Fault]:
    """Section 6: pins of one side keep their distance.

    Medium: 6 distances.
    """
    for one, other in combinations(layout.pins, 2):
        if (one.at, one.face) != (other.at, other.face) and too_close(one, other, (0, 0, 0)):
            yield Fault(RuleId.PIN_SPACING, other.at, _spacing_text(one, other, ""))


def stacked_pin_faults(layout: Layout, stack: Stack) -> Iterator[Fault]:
    """Section 6: pins keep their distance between the copies of a stack, too.

    Only pins of copies next to each other can be too close: one copy further, some axis
    already differs by the pitch and one more. Pins that face along the axis, and a pitch that
    is too small, break rules of section 7 and are left to it.

    Medium: 6 distances of copies.
    """
    axis = AXES.index(stack.axis)
    if stack.pitch < layout.size[axis]:
        return
    shift = (
        stack.pitch if axis == 0 else 0,
        stack.pitch if axis == 1 else 0,
        stack.pitch if axis == 2 else 0,
    )
    for one in layout.pins:
        for other in layout.pins:
            if one.face.axis != stack.axis and too_close(one, other, shift):
                yield Fault(
                    RuleId.PIN_SPACING, other.at, _spacing_text(one, other, " of the next copy")
                )


def too_close(one: Pin, other: Pin, shift: Cell) -> bool:
    """Section 6: two pins, the second moved by ``shift``, are too close to each other.

    Medium: 6 distances.
    """
    if one.face is not other.face:
        return False
    lane = 1 if one.face.axis == "x" else 0
    lanes = abs(one.at[lane] - other.at[lane] - shift[lane])
    heights = abs(one.at[2] - other.at[2] - shift[2])
    if lanes == 0:
        return heights < 2
    both_wires = one.joint is Joint.WIRE and other.joint is Joint.WIRE
    return both_wires and lanes < 2 and heights < 2


def _spacing_text(one: Pin, other: Pin, which: str) -> str:
    return (
        f"pins {one.name!r} at {list(one.at)} and {other.name!r} at {list(other.at)}{which} on "
        f"side {one.face} are too close; {RULE_TEXT[RuleId.PIN_SPACING]}"
    )
