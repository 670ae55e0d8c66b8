"""Chains (section 11): where the links of a slice are, and how long it takes after them.

Of several links of a slice all inputs are unknown at once, and then known at once. Outputs are
right no later than that if some links come earlier, so what is said here holds in every row.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from synth.layout import Layout, Stack
from synth.medium import AXES, ChainLink, Joint, Part, RuleId, Rules, with_place
from synth.simulator.fabric import Fabric
from synth.simulator.settling import Effort, UnknownPlay, input_masks
from synth.simulator.verdict import Fault
from synth.simulator.wanted import Wanted


def chain_faults(layout: Layout, stack: Stack) -> list[Fault]:
    """What section 11 asks of the places of a chain's links."""
    if not stack.chain:
        return []
    faults = [*chain_pitch_faults(layout, stack)]
    for link in stack.chain:
        faults += link_face_faults(layout, stack, link)
        faults += link_place_faults(layout, stack, link)
    return faults


def chain_pitch_faults(layout: Layout, stack: Stack) -> Iterator[Fault]:
    """Section 11: the pitch of a chain is the size of the box, along a level axis.

    Medium: 11 pitch.
    """
    size = layout.size[AXES.index(stack.axis)]
    if stack.axis == "z":
        text = "a chain along z: its buffers point in level directions only"
        yield Fault(RuleId.CHAIN_PITCH, (0, 0, 0), text)
    elif stack.pitch > size:
        text = f"a chain at pitch {stack.pitch}, and the box has {size} cells along {stack.axis}"
        yield Fault(RuleId.CHAIN_PITCH, (0, 0, 0), text)


def link_face_faults(layout: Layout, stack: Stack, link: ChainLink) -> Iterator[Fault]:
    """Section 11: the pins of a link are on the faces +A and -A, as if of joint buffer.

    Medium: 11 faces; 11 first copy; 11 distances.
    """
    pins = {pin.name: pin for pin in layout.pins}
    forwards = stack.forwards
    for name, face in ((link.output, forwards), (link.input, forwards.opposite)):
        pin = pins[name]
        if pin.face is not face:
            text = f"pin {name!r} of a link faces {pin.face}, not {face}"
            yield Fault(RuleId.CHAIN_FACE, pin.at, text)
        if pin.joint is not Joint.BUFFER:
            text = f"pin {name!r} of a link has the joint {pin.joint}, not buffer"
            yield Fault(RuleId.CHAIN_FACE, pin.at, text)


def link_place_faults(layout: Layout, stack: Stack, link: ChainLink) -> Iterator[Fault]:
    """Section 11: the output's cell holds a buffer of delay 1 along +A at the +A end, and the
    input's cell is its front in the next copy.

    Medium: 11 places.
    """
    pins = {pin.name: pin for pin in layout.pins}
    sends, receives = pins[link.output].at, pins[link.input].at
    index = AXES.index(stack.axis)
    if sends[index] != layout.size[index] - 1:
        text = f"output {link.output!r} of a link is not at the end {stack.forwards} of the box"
        yield Fault(RuleId.CHAIN_PLACE, sends, text)
    block = layout.cells.get(sends)
    if block is None or (block.part, block.facing, block.delay) != (
        Part.BUFFER,
        stack.forwards,
        1,
    ):
        holds = "nothing" if block is None else f"a {block}"
        text = (
            f"the cell {list(sends)} of output {link.output!r} holds {holds}; a link needs a "
            f"buffer of delay 1 that points along {stack.forwards}"
        )
        yield Fault(RuleId.CHAIN_PLACE, sends, text)
    if receives != with_place(sends, index, 0):
        text = (
            f"input {link.input!r} is at {list(receives)}, and in front of {link.output!r} is "
            f"{list(with_place(sends, index, 0))} of the next copy"
        )
        yield Fault(RuleId.CHAIN_PLACE, receives, text)


def standing_of(
    fabric: Fabric, copy: int, full: int, count: int, unknown: Sequence[str] = ()
) -> list[tuple[int, int]]:
    """Section 11: inputs of one copy that stand still, those of all others unknown.

    Args:
        fabric: of a row of copies.
        copy: the one that is judged.
        full: the mask of all assignments.
        count: inputs of one copy.
        unknown: inputs of this copy that are unknown, too.

    Medium: 11 delay; 11 strange.
    """
    masks = iter(input_masks(count))
    standing = []
    for port in fabric.inputs:
        mask = next(masks) if port.copy == copy else None
        known = mask is not None and port.pin.name not in unknown
        standing.append((mask, mask) if known and mask is not None else (0, full))
    return standing


def link_delay_met(
    fabric: Fabric,
    wanted: Wanted,
    stack: Stack,
    rules: Rules,
    *,
    copy: int = 0,
    every: bool = False,
    effort: Effort | None = None,
) -> int | None:
    """Section 11: the smallest C after which the outputs of links are right, or None.

    The links' inputs are unknown until nothing changes; then they are known and stand still.

    Args:
        fabric: of a row of copies, or of the layout alone.
        wanted: values of the outputs.
        stack: with the chain.
        copy: the one that is judged.
        every: ask the same of all outputs, for the sake of rows.

    Medium: 11 link delay.
    """
    late = [link.input for link in stack.chain]
    count = len(wanted.inputs)
    play = UnknownPlay(fabric, rules, wanted.full, effort)
    for _ in play.standing(standing_of(fabric, copy, wanted.full, count, late)):
        pass
    own = (port for port in fabric.outputs if port.copy == copy)
    ports = [port for port in own if every or stack.sends(port.pin.name)]
    known = standing_of(fabric, copy, wanted.full, count)
    for ticks, tick in enumerate(play.standing(known)):
        if not any(wanted.wrong(port, tick) for port in ports):
            return ticks
    return None
