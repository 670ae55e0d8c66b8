"""Whether a layout keeps what a specification asks besides its function."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from synth.errors import InputError
from synth.layout import Layout, Stack
from synth.medium import AXES, Role, RuleId
from synth.simulator.verdict import Fault
from synth.spec import Spec, StackDemand


def match_pins(layout: Layout, spec: Spec) -> None:
    """Refuse a layout whose pins are not those of the specification, by name and role.

    Raises:
        InputError: listing the pins that are missing, surplus or of the wrong role.
    """
    by_role = {
        role: [name for name in spec.pin_names if spec.role(name) is role]
        for role in (Role.INPUT, Role.OUTPUT)
    }
    refuse_pins(layout, by_role[Role.INPUT], by_role[Role.OUTPUT], "specification")


def refuse_pins(
    layout: Layout, inputs: Sequence[str], outputs: Sequence[str], asked_by: str
) -> None:
    """Refuse a layout whose inputs and outputs are not those asked.

    Args:
        layout: the layout.
        inputs, outputs: the names asked.
        asked_by: what asks for them, in a word.

    Raises:
        InputError: listing the pins that are missing, surplus or of the wrong role.
    """
    roles = {pin.name: pin.role for pin in layout.pins}
    asked = dict.fromkeys(inputs, Role.INPUT) | dict.fromkeys(outputs, Role.OUTPUT)
    problems = [f"no {asked[name]} {name!r}" for name in asked if name not in roles]
    problems += [f"surplus {roles[name]} {name!r}" for name in roles if name not in asked]
    problems += [
        f"{name!r} is an {roles[name]} and should be an {asked[name]}"
        for name in asked
        if name in roles and roles[name] is not asked[name]
    ]
    if problems:
        raise InputError(
            f"the pins of the layout are not those of the {asked_by}: {', '.join(problems)}",
            place="pins",
            way_out=f"inputs are {_names(inputs)}, outputs {_names(outputs)}",
        )


def _names(names: Sequence[str]) -> str:
    return ", ".join(names) or "none"


def demand_faults(layout: Layout, spec: Spec) -> Iterator[Fault]:
    """Everything asked besides function, delay and working stacks that is not kept."""
    yield from limit_faults(layout, spec)
    yield from pin_faults(layout, spec)
    yield from cell_faults(layout, spec)
    yield from stack_faults(layout, spec)


def limit_faults(layout: Layout, spec: Spec) -> Iterator[Fault]:
    """Section 9: the measures of the box and of its parts.

    Medium: 9 volume and floor; 9 parts.
    """
    limits = spec.limits
    measures = [
        ("length", layout.length, limits.length),
        ("width", layout.width, limits.width),
        ("height", layout.height, limits.height),
        ("volume", layout.volume, limits.volume),
        ("floor", layout.floor, limits.floor),
        ("parts", layout.part_count, limits.parts),
    ]
    for name, value, limit in measures:
        if limit is not None and value > limit:
            text = f"{name} is {value}, more than the {limit} asked"
            yield Fault(RuleId.LIMIT, (0, 0, 0), text)


def pin_faults(layout: Layout, spec: Spec) -> Iterator[Fault]:
    """Faces, cells and joints asked of pins."""
    for pin in layout.pins:
        ask = spec.pins[pin.name]
        if ask.faces is not None and pin.face not in ask.faces:
            faces = " or ".join(map(str, ask.faces))
            text = f"pin {pin.name!r} faces {pin.face}, not {faces}"
            yield Fault(RuleId.PIN_ASK, pin.at, text)
        if ask.at is not None and pin.at != ask.at:
            text = f"pin {pin.name!r} is at {list(pin.at)}, not at {list(ask.at)}"
            yield Fault(RuleId.PIN_ASK, pin.at, text)
        if ask.joint is not None and pin.joint is not ask.joint:
            text = f"pin {pin.name!r} has the joint {pin.joint}, not {ask.joint}"
            yield Fault(RuleId.PIN_ASK, pin.at, text)


def cell_faults(layout: Layout, spec: Spec) -> Iterator[Fault]:
    """Cells asked to be empty or fixed; the box then has exactly the size of the limits."""
    if spec.empty or spec.fixed:
        sides = (spec.limits.length, spec.limits.width, spec.limits.height)
        for axis, value, asked in zip(AXES, layout.size, sides, strict=True):
            if asked is not None and value < asked:
                text = f"the box has {value} cells along {axis}, not the {asked} that cells ask"
                yield Fault(RuleId.CELL_ASK, (0, 0, 0), text)
    for cell in sorted(spec.empty):
        if cell in layout.cells:
            text = f"the cell {list(cell)} holds a {layout.cells[cell]} and should be empty"
            yield Fault(RuleId.CELL_ASK, cell, text)
    for cell, block in sorted(spec.fixed.items(), key=lambda item: item[0]):
        found = layout.cells.get(cell)
        if found != block:
            holds = "nothing" if found is None else f"a {found}"
            text = f"the cell {list(cell)} holds {holds} and should hold a {block}"
            yield Fault(RuleId.CELL_ASK, cell, text)


def demanded_stack(layout: Layout, spec: Spec) -> Stack | None:
    """Section 7: the stacking a specification asks, its pitch the box's size unless stated.

    Medium: 7 pitch.
    """
    if spec.stack is None:
        return None
    size = layout.size[AXES.index(spec.stack.axis)]
    return Stack(spec.stack.axis, spec.stack.pitch or size, spec.stack.chain)


def stack_of(layout: Layout) -> StackDemand | None:
    """The stacking that a layout states, as it is asked for; a pitch of its size stays open."""
    stack = layout.stack
    if stack is None:
        return None
    size = layout.size[AXES.index(stack.axis)]
    return StackDemand(stack.axis, None if stack.pitch == size else stack.pitch, stack.chain)


def stack_faults(layout: Layout, spec: Spec) -> Iterator[Fault]:
    """A layout that states how it stacks states what is asked."""
    asked = demanded_stack(layout, spec)
    if asked is not None and layout.stack is not None and layout.stack != asked:
        stated = layout.stack
        yield Fault(
            RuleId.STACK_ASK,
            (0, 0, 0),
            f"the layout stacks along {stated}, not along {asked}",
        )
