"""Stacking (section 7): what is forbidden outright, and whether every copy works in every row.

Rows of 1, 2, 3, ... copies have no end, and the verdict is exact for all of them. The argument:

1. Once nothing is forbidden outright, the only ways from one copy to the next are a wire that
   charges a solid, a driven solid that powers a wire, and an inverter that drives the solid
   above it. Whether a neighbour is there changes no link, run, host or support.
2. Knowing more about a neighbour never makes less known. A missing neighbour gives exactly
   what one does of which all is known to be off. So "fog", a neighbour that may do anything
   and surely does nothing, is the worst of all: if a copy meets T with ``d`` copies and then fog
   on a side, it does with any number of copies, ``d`` or more, on that side.
3. Within a tick influence passes from an emitter to a solid, a wire, a solid, so it crosses to
   at most the third copy; what happens in T + 1 ticks beyond ``3 (T + 1)`` copies is never
   felt, and at that depth fog can no more be told from copies.

A chain (section 11) changes none of this: its links are inputs of each copy, and known as they are.
What is asked after links is played until nothing changes, so that no number of ticks bounds how far
influence reaches in it; there depths are tried up to the bound of 3., and then it counts as wrong.

So depths 0, 1, 2, ... are tried: if all contexts that end in fog at that depth pass, every row
passes; if a row without fog fails, the layout does not stack; by 3. one of them happens.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import islice

from synth.layout import Layout, Stack
from synth.medium import AXES, LEVEL_DIRECTIONS, Cell, Direction, Part, RuleId, Rules
from synth.simulator import touch
from synth.simulator.chains import chain_faults, link_delay_met, standing_of
from synth.simulator.fabric import Fabric, weave
from synth.simulator.row import Row, outside_block
from synth.simulator.settling import Both, Effort, play_unknown
from synth.simulator.verdict import Fault
from synth.simulator.wanted import Wanted, fed_back, read_value, rows_of
from synth.words import ticks


def static_faults(layout: Layout, stack: Stack) -> list[Fault]:
    """What section 7 forbids "whether or not it would do harm", for a legal layout."""
    faults = [*ground_faults(layout, stack), *pin_faults(layout, stack)]
    faults += chain_faults(layout, stack)
    narrow = list(pitch_faults(layout, stack))
    if narrow:
        return faults + narrow
    free = tuple(
        pin for pin in layout.pins if pin.face.axis != stack.axis or stack.linked(pin.name)
    )
    # Parts of copies that are not next to each other never touch: two copies show every pair.
    alone = None if layout.stack is None else replace(layout.stack, chain=())
    row = Row(layout.replace(pins=free, stack=alone), stack, copies=2)
    faults += link_faults(row)
    faults += inverter_faults(row)
    faults += support_faults(row)
    faults += buffer_faults(row)
    return faults


def ground_faults(layout: Layout, stack: Stack) -> Iterator[Fault]:
    """Section 7: a layout on ground does not stack along z.

    Medium: 7 ground.
    """
    if layout.ground and stack.axis == "z":
        text = "the layout is on ground and stacks along z"
        yield Fault(RuleId.STACK_GROUND, (0, 0, 0), text)


def pin_faults(layout: Layout, stack: Stack) -> Iterator[Fault]:
    """Sections 7 and 11: no pin faces along the stacking axis but those of a chain's links.

    Medium: 7 pins; 11 faces.
    """
    for pin in layout.pins:
        if pin.face.axis == stack.axis and not stack.linked(pin.name):
            text = f"pin {pin.name!r} at {list(pin.at)} faces {pin.face}, along the stacking axis"
            yield Fault(RuleId.STACK_PIN, pin.at, text)


def pitch_faults(layout: Layout, stack: Stack) -> Iterator[Fault]:
    """Section 7: the pitch is never less than the size of the box.

    Medium: 7 pitch.
    """
    size = layout.size[AXES.index(stack.axis)]
    if stack.pitch < size:
        text = f"a pitch of {stack.pitch} is less than the box's {size} cells along {stack.axis}"
        yield Fault(RuleId.STACK_PITCH, (0, 0, 0), text)


def _cells(row: Row, *parts: Part) -> Iterator[tuple[Cell, Cell, int]]:
    """Each part of those kinds in both copies: where it is, its cell in the layout, its copy."""
    own = [cell for cell, block in row.layout.cells.items() if block.part in parts]
    own += [
        pin.outside
        for pin in row.layout.pins
        if outside_block(pin).part in parts and not (row.receives(pin) or row.sends(pin))
    ]
    for copy in range(row.copies):
        for cell in own:
            yield row.shifted(cell, copy), cell, copy


def _in_other_copy(row: Row, cell: Cell, copy: int) -> bool:
    other = row.copy_of(cell)
    return other is not None and other != copy


def link_faults(row: Row) -> Iterator[Fault]:
    """Section 7: no wire of one copy is linked to a wire of another.

    Medium: 7 links.
    """
    for cell, home, copy in _cells(row, Part.WIRE):
        for other, _, _, _ in touch.links(row, cell):
            # Links are mutual; the first copy's side of each is enough.
            if copy == 0 and _in_other_copy(row, other, copy):
                text = f"the wire at {list(home)} is linked to the next copy's at {list(other)}"
                yield Fault(RuleId.STACK_LINK, home, text, copy + 1, row.copies)


def inverter_faults(row: Row) -> Iterator[Fault]:
    """Section 7: no inverter of one copy has a wire of another beside or below it.

    Medium: 7 inverters.
    """
    for cell, home, copy in _cells(row, Part.INVERTER):
        for direction in (*LEVEL_DIRECTIONS, Direction.NZ):
            beside = direction.step(cell)
            if touch.is_part(row, beside, Part.WIRE) and _in_other_copy(row, beside, copy):
                text = f"the inverter at {list(home)} has a wire of another copy at {direction}"
                yield Fault(RuleId.STACK_INVERTER, home, text, copy + 1, row.copies)


def support_faults(row: Row) -> Iterator[Fault]:
    """Section 7: no part of one copy has its host or support in another.

    Medium: 7 hosts.
    """
    for cell, home, copy in _cells(row, Part.WIRE, Part.BUFFER, Part.INVERTER):
        block = row.block(cell)
        if block is None or row.pin(cell) is not None:
            continue
        hangs = block.part is Part.INVERTER and block.facing is not None
        towards = block.facing if hangs and block.facing is not None else Direction.NZ
        if _in_other_copy(row, towards.step(cell), copy):
            text = f"the {block.part} at {list(home)} is held up by another copy"
            yield Fault(RuleId.STACK_SUPPORT, home, text, copy + 1, row.copies)


def buffer_faults(row: Row) -> Iterator[Fault]:
    """Sections 7 and 11: no buffer has its back or front in another copy, but for a link.

    A link leads from a buffer in its output's cell to whatever is in its input's cell, which may be
    a buffer that points on.

    Medium: 7 buffers; 11 strange.
    """
    sending = {(pin.at, pin.face) for pin in row.layout.pins if row.sends(pin)}
    receiving = {(pin.at, pin.face) for pin in row.layout.pins if row.receives(pin)}
    for cell, home, copy in _cells(row, Part.BUFFER):
        block = row.block(cell)
        if block is None or block.facing is None:
            continue
        ends = (
            ("front", block.facing, sending),
            ("back", block.facing.opposite, receiving),
        )
        for name, towards, linked in ends:
            if (home, towards) in linked:
                continue
            if _in_other_copy(row, towards.step(cell), copy):
                text = f"the buffer at {list(home)} has its {name} in another copy"
                yield Fault(RuleId.STACK_BUFFER, home, text, copy + 1, row.copies)


def row_fault(
    layout: Layout,
    stack: Stack,
    wanted: Wanted,
    delay: int,
    rules: Rules,
    met: int | None = None,
    link_delay: int | None = None,
) -> Fault | None:
    """Section 7: a copy of some row that does not meet ``delay`` ticks, or None if there is none.

    The layout is legal and has no static fault. Exact for all rows; see the module.

    Args:
        met: ticks that the layout alone is known to meet; what it meets, it meets for good.
        link_delay: ticks that every copy must meet after its links (section 11), if it is a chain
            and the layout alone meets them.

    Raises:
        InputError: if that takes more than ``synth.simulator.settling.MAX_WORK``.

    Medium: 7 every copy.
    """
    context = _Contexts(layout, stack, wanted, delay, rules, link_delay)
    if met is None or met > delay:
        alone = context.fault(0, 0)
        if alone is not None:
            return alone
    if context.all_pass_beyond(0):
        return None
    deepest = context.crossings() * (delay + 1)
    for depth in range(deepest + 1):
        if depth and context.all_pass_beyond(depth):
            return None
        # Rows with at most ``depth + 1`` copies on a side that no smaller depth has played.
        for less in range(depth + 2):
            for before, after in sorted({(less, depth + 1), (depth + 1, less)}):
                found = context.fault(before, after)
                if found is not None:
                    return found
    if link_delay is not None:
        at = next(pin.at for pin in layout.pins if stack.sends(pin.name))
        text = (
            f"copies so far apart reach into each other that {ticks(link_delay)} cannot be judged"
        )
        return Fault(RuleId.LINK_DELAY, at, text)
    raise AssertionError("fog is felt deeper than influence reaches")


class _Contexts:
    """Plays one copy of a layout with copies, or copies and then fog, on either side."""

    def __init__(
        self,
        layout: Layout,
        stack: Stack,
        wanted: Wanted,
        delay: int,
        rules: Rules,
        link_delay: int | None = None,
    ) -> None:
        self.layout = layout
        self.stack = stack
        self.wanted = wanted
        self.delay = delay
        self.rules = rules
        self.link_delay = link_delay
        self._woven = cache(self._weave)
        self._effort = Effort()

    def _weave(self, copies: int, fog_below: bool, fog_above: bool) -> Fabric:
        row = Row(self.layout, self.stack, copies, fog_below=fog_below, fog_above=fog_above)
        return weave(row)

    def crossings(self) -> int:
        """At most how many copies influence crosses within a tick."""
        fabric = self._woven(1, True, True)
        drives = any(fabric.fog in numbers for numbers in fabric.drivers)
        powers = any(fabric.fog in numbers for numbers in fabric.sources[:-1])
        fog_wire = len(fabric.wires)
        charges = any(fog_wire in numbers for numbers in fabric.chargers)
        return drives + powers + charges

    def all_pass_beyond(self, depth: int) -> bool:
        """Whether the copy passes in every context that has fog at ``depth`` on some side.

        Contexts without fog and fewer than ``depth`` copies on each side are left out.
        """
        fogged = [(depth, depth, True, True)]
        fogged += [(depth, exact, True, False) for exact in range(depth)]
        fogged += [(exact, depth, False, True) for exact in range(depth)]
        return all(self._passes(*context) for context in fogged)

    def _passes(self, before: int, after: int, fog_below: bool, fog_above: bool) -> bool:
        fabric, tick = self._play(before, after, fog_below, fog_above)
        return self.wanted.met(fabric, tick, before) and self._links_met(fabric, before)

    def _links_met(self, fabric: Fabric, copy: int) -> bool:
        """Whether a copy's links are right so many ticks after what they wait for (section 11)."""
        if self.link_delay is None:
            return True
        met = link_delay_met(
            fabric, self.wanted, self.stack, self.rules, copy=copy, effort=self._effort
        )
        return met is not None and met <= self.link_delay

    def fault(self, before: int, after: int) -> Fault | None:
        """What is wrong with the copy that has so many before and after it, or None."""
        fabric, tick = self._play(before, after, False, False)
        copy, copies = before + 1, before + 1 + after
        which = f"copy {copy} of a row of {copies}"
        if self.wanted.met(fabric, tick, before):
            if self._links_met(fabric, before) or self.link_delay is None:
                return None
            at = next(pin.at for pin in self.layout.pins if self.stack.sends(pin.name))
            text = f"{which} does not meet a link delay of {ticks(self.link_delay)}"
            return Fault(RuleId.LINK_DELAY, at, text, copy, copies)
        where = f"{which} does not meet {ticks(self.delay)}"
        for port in fabric.outputs:
            rows = rows_of(self.wanted.wrong(port, tick)) if port.copy == before else []
            if rows:
                read = read_value(
                    tick.sure.seen(port.sight), tick.possible.seen(port.sight), rows[0]
                )
                text = f"output {port.pin.name!r} at {self.wanted.assignment(rows[0])} reads {read}"
                return Fault(RuleId.STACK_FUNCTION, port.pin.at, f"{where}: {text}", copy, copies)
        names = [name for name, mask in fed_back(fabric, tick, before).items() if mask]
        pin = next(pin for pin in self.layout.pins if pin.name == names[0])
        text = f"{where}: input {pin.name!r} is fed back"
        return Fault(RuleId.STACK_FUNCTION, pin.at, text, copy, copies)

    def _play(
        self, before: int, after: int, fog_below: bool, fog_above: bool
    ) -> tuple[Fabric, Both]:
        fabric = self._woven(before + 1 + after, fog_below, fog_above)
        full = self.wanted.full
        inputs = standing_of(fabric, before, full, len(self.wanted.inputs))
        last = None
        played = play_unknown(fabric, self.rules, full, inputs, self._effort)
        for tick in islice(played, self.delay + 1):
            last = tick
        assert last is not None
        return fabric, last
