"""The check: everything that is right and wrong with a layout, as one verdict."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from synth.errors import InputError
from synth.layout import Layout, Stack
from synth.medium import DEFAULT_RULES, RuleId, Rules
from synth.simulator.chains import link_delay_met
from synth.simulator.demands import demand_faults, demanded_stack, match_pins
from synth.simulator.fabric import Fabric
from synth.simulator.legality import legality, stacked_pin_faults
from synth.simulator.settling import Both, Settling, settle
from synth.simulator.stacking import row_fault, static_faults
from synth.simulator.verdict import Fault, Verdict
from synth.simulator.wanted import Wanted, fed_back, first_met, read_value, rows_of
from synth.spec import BooleanFunction, Spec
from synth.words import ticks


def check(
    layout: Layout,
    spec: Spec | None = None,
    *,
    delay: int | None = None,
    link_delay: int | None = None,
    rules: Rules = DEFAULT_RULES,
) -> Verdict:
    """Judge a layout: legality, function, delay, stacking and what else is asked.

    Args:
        layout: the layout; its pins carry the names of the specification's.
        spec: what is asked, or None: then the delay is the one from which all outputs are
            known, and each copy of a stack must settle as a copy alone does.
        delay: a delay that must be met, in ticks; overrides the limit of the specification.
        link_delay: the same of a chain's links.
        rules: the rule table.

    Returns:
        The verdict. A layout stacks as it states, or else as the specification asks; every
        copy must meet the delays asked, or the layout's own where none are asked.

    Raises:
        InputError: if pins are missing, surplus or of the wrong role, if ``delay`` is
            negative, or if there is too much to settle (``synth.simulator.settling``).
    """
    if delay is not None and delay < 0:
        raise InputError(f"a delay of {ticks(delay)}", way_out="use 0 or more")
    if spec is not None:
        match_pins(layout, spec)
    illegal = legality(layout, rules)
    if illegal:
        return Verdict(False, None, None, None, None, illegal)

    settled = settle(layout, rules)
    fabric, last = settled.fabric, settled.ticks[-1]
    if spec is not None:
        wanted = wanted_of(layout, spec.function, settled.full)
        if delay is None:
            delay = spec.limits.delay
        if link_delay is None:
            link_delay = spec.limits.link_delay
    else:
        wanted = wanted_as_settled(settled)
    wrong = list(function_faults(fabric, last, wanted))
    known = spec is not None or all_known(settled)
    met = first_met(fabric, settled.ticks, wanted) if known else None

    faults = [] if spec is None else list(demand_faults(layout, spec))
    faults += wrong
    faults += fed_back_faults(layout, fabric, last, wanted)
    late = delay is not None and (met is None or met > delay)
    if late and delay is not None:
        own = "it meets no delay" if met is None else f"its own delay is {met}"
        faults.append(Fault(RuleId.DELAY, _somewhere(layout), f"{ticks(delay)} asked; {own}"))

    stacking = None if spec is None else demanded_stack(layout, spec)
    stack = layout.stack or stacking
    stacks = links = None
    chained = stack is not None and bool(stack.chain)
    if stack is not None:
        target = delay if delay is not None else met
        links = (
            link_delay_met(fabric, wanted, stack, rules) if chained and met is not None else None
        )
        late_links = chained and link_delay is not None and (links is None or links > link_delay)
        if late_links and link_delay is not None:
            own = "they meet none" if links is None else f"their own is {links}"
            text = f"a link delay of {ticks(link_delay)} asked; {own}"
            faults.append(Fault(RuleId.LINK_DELAY, _somewhere(layout), text))
        due = links if late_links or link_delay is None else link_delay
        found = list(
            stack_faults(layout, stack, wanted, None if met is None else target, rules, met, due)
        )
        stacks = not found
        faults += found
    return Verdict(
        legal=True,
        function=None if spec is None else not wrong,
        delay=met,
        stacks=stacks,
        outputs=settled_columns(settled),
        faults=tuple(faults),
        fed_back=tuple(name for name, mask in fed_back(fabric, last).items() if mask),
        chained=chained,
        link_delay=links,
    )


def passing(
    layout: Layout, spec: Spec, *, delay: int | None = None, rules: Rules = DEFAULT_RULES
) -> Verdict | None:
    """The verdict of ``check`` if the layout passes, else None.

    For those who try many layouts and keep few: most of what is wrong is seen before copies of a
    stack are played, and is not put into words. Arguments and errors are those of ``check``.
    """
    match_pins(layout, spec)
    if delay is None:
        delay = spec.limits.delay
    if next(demand_faults(layout, spec), None) is not None or legality(layout, rules):
        return None
    settled = settle(layout, rules)
    wanted = wanted_of(layout, spec.function, settled.full)
    met = first_met(settled.fabric, settled.ticks, wanted)
    if met is None or (delay is not None and met > delay):
        return None
    verdict = check(layout, spec, delay=delay, rules=rules)
    return verdict if verdict.passes else None


def wanted_of(layout: Layout, function: BooleanFunction, full: int) -> Wanted:
    """A function's columns as masks over the assignments of the layout's own input order."""
    names = tuple(pin.name for pin in layout.inputs)
    count = len(names)
    places = [count - 1 - function.inputs.index(name) for name in names]
    rows = []
    for row in range(1 << count):
        bits = [row >> (count - 1 - index) & 1 for index in range(count)]
        rows.append(sum(bit << place for bit, place in zip(bits, places, strict=True)))
    ones, zeros = {}, {}
    for name, column in function.outputs.items():
        ones[name] = sum(1 << row for row, asked in enumerate(rows) if column[asked] == "1")
        zeros[name] = sum(1 << row for row, asked in enumerate(rows) if column[asked] == "0")
    return Wanted(full, names, ones, zeros)


def wanted_as_settled(settled: Settling) -> Wanted:
    """What a layout's outputs settle at by themselves, where they do."""
    last = settled.ticks[-1]
    ones, zeros = {}, {}
    for port in settled.fabric.outputs:
        ones[port.pin.name] = last.sure.seen(port.sight)
        zeros[port.pin.name] = settled.full & ~last.possible.seen(port.sight)
    names = tuple(pin.name for pin in settled.layout.inputs)
    return Wanted(settled.full, names, ones, zeros)


def all_known(settled: Settling) -> bool:
    """Whether every output is known in the end, for every assignment."""
    last = settled.ticks[-1]
    return all(
        last.sure.seen(port.sight) == last.possible.seen(port.sight)
        for port in settled.fabric.outputs
    )


def settled_columns(settled: Settling) -> Mapping[str, str]:
    """Each output's settled values in counting order: ``0``, ``1``, or ``x`` for unknown."""
    last = settled.ticks[-1]
    rows = 1 << len(settled.layout.inputs)
    columns = {}
    for port in settled.fabric.outputs:
        sure, possible = last.sure.seen(port.sight), last.possible.seen(port.sight)
        columns[port.pin.name] = "".join(read_value(sure, possible, row) for row in range(rows))
    return columns


def function_faults(fabric: Fabric, last: Both, wanted: Wanted) -> Iterator[Fault]:
    """Every output and assignment that does not settle at its right value."""
    for port in fabric.outputs:
        name = port.pin.name
        sure, possible = last.sure.seen(port.sight), last.possible.seen(port.sight)
        for row in rows_of(wanted.wrong(port, last)):
            read = read_value(sure, possible, row)
            right = wanted.ones[name] >> row & 1
            text = f"output {name!r} at {wanted.assignment(row)} reads {read}, not {right}"
            yield Fault(RuleId.FUNCTION, port.pin.at, text)


def fed_back_faults(layout: Layout, fabric: Fabric, last: Both, wanted: Wanted) -> Iterator[Fault]:
    """Every input whose lead stays possibly on while it is off, with the first assignment."""
    cells = {pin.name: pin.at for pin in layout.pins}
    for name, mask in fed_back(fabric, last).items():
        if mask:
            assignment = wanted.assignment(rows_of(mask)[0])
            text = f"input {name!r} is fed back: at {assignment} its lead is possibly on"
            yield Fault(RuleId.FED_BACK, cells[name], text)


def stack_faults(
    layout: Layout,
    stack: Stack,
    wanted: Wanted,
    delay: int | None,
    rules: Rules,
    met: int | None = None,
    link_delay: int | None = None,
) -> Iterator[Fault]:
    """Section 7: what is forbidden outright, then whether every copy of every row works.

    Args:
        delay: ticks that every copy must meet; None if the layout alone meets no delay.
        met: ticks that the layout alone meets, where that is known.
        link_delay: ticks that every copy must meet after its links, None where there are none.
    """
    forbidden = static_faults(layout, stack)
    if layout.stack is None:
        forbidden += stacked_pin_faults(layout, stack)
    yield from forbidden
    if delay is None:
        text = "copy 1 of a row of 1 meets no delay"
        yield Fault(RuleId.STACK_FUNCTION, _somewhere(layout), text)
    elif not forbidden:
        found = row_fault(layout, stack, wanted, delay, rules, met, link_delay)
        if found is not None:
            yield found


def _somewhere(layout: Layout) -> tuple[int, int, int]:
    """A cell to name where none is to blame: the first output's, else the corner."""
    return layout.outputs[0].at if layout.outputs else (0, 0, 0)
