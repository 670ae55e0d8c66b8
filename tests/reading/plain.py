"""The rules of ``medium.md`` read literally: dictionaries, loops, one sentence after another.

This reading knows neither the simulator nor the encoding and borrows nothing from them; where
it differs from one of them, the text decides. It is slow on purpose. Quotations in docstrings
and comments are sentences of ``medium.md``. Sections 2 and 8 are in ``legal``, 3, 4 and 6 in
``world``; here are time, settling, stacking and the verdict (5 and 7).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from synth.layout import Layout
from synth.medium import (
    DEFAULT_RULES,
    LEVEL_DIRECTIONS,
    Cell,
    Joint,
    Part,
    RuleId,
    Rules,
)
from tests.reading.legal import DOWN, Reason, along, facing, illegalities, plus, read
from tests.reading.world import Power, World, stand

__all__ = [
    "Finding",
    "Reading",
    "illegalities",
    "play",
    "read",
    "settle",
    "settle_copy",
    "stack_faults",
    "stand",
    "verdict",
]


# Section 5: time.


def play(
    layout: Layout, drive: Mapping[str, str], ticks: int, rules: Rules = DEFAULT_RULES
) -> dict[str, Any]:
    """The trace document of a legal layout, ``ticks`` ticks from tick 0."""
    world = stand(layout, rules=rules)
    # "A drive word shorter than the run keeps its last value, a longer one is cut"
    words = {
        pin.name: drive[pin.name].ljust(ticks, drive[pin.name][-1])[:ticks] for pin in layout.inputs
    }
    outputs = {pin.name: "" for pin in layout.outputs}
    entries = []
    # "A played trace starts at tick 0 with every inverter and buffer of the box off and nothing
    # pending."
    out = dict.fromkeys(world.acting, False)
    due: dict[Cell, int] = {}
    for t in range(ticks):
        driven_in = {world.inputs[0, name] for name in words if words[name][t] == "1"}
        on = frozenset({cell for cell in out if out[cell]} | driven_in)
        power = world.power(on)
        for name in outputs:
            outputs[name] += "01"[world.reads(world.outputs[0, name], power, on)]
        entries.append(_entry(layout, power, [cell for cell in out if out[cell]]))
        out = {cell: _next(world, cell, t, out[cell], due, power, on) for cell in out}
    return {
        "format": "gatefit-trace",
        "version": 1,
        "inputs": words,
        "outputs": outputs,
        "ticks": entries,
    }


def _entry(layout: Layout, power: Power, on: list[Cell]) -> dict[str, list[list[int]]]:
    """One tick of a trace: "The strengths and lists of a trace name only cells inside the box." """
    wires = [[*cell, power.strength[cell]] for cell in power.strength if cell in layout.cells]
    return {
        "wires": sorted(wires),
        "charged": sorted(list(cell) for cell in power.charged),
        "driven": sorted(list(cell) for cell in power.driven),
        "on": sorted(list(cell) for cell in on),
    }


def _next(
    world: World,
    cell: Cell,
    t: int,
    now: bool,
    due: dict[Cell, int],
    power: Power,
    on: frozenset[Cell],
) -> bool:
    """``out(t+1)`` of an inverter or buffer; keeps the pending changes in ``due``."""
    block = world.parts[cell]
    if block.part is Part.INVERTER:
        return not world.host_charged(cell, power)  # "out(t+1) = host not charged at t"
    saw = world.sees(cell, power, on)
    if any(holder in on for holder in world.holders[cell]):
        # "if it is held at t, then out(t+1) = out(t), and a pending change is dropped, even one
        # due at t+1"
        due.pop(cell, None)
        return now
    if cell not in due and saw != now:
        # "Else, if nothing is pending and what it sees at t differs from out(t), a change is
        # set, due at t+k."
        due[cell] = t + block.delay
    if due.get(cell) == t + 1:
        # "Else or then, a change due at t+1 lands and is used up: an off buffer goes on,
        # whatever it sees by then; an on buffer goes off only if it sees no power at t."
        del due[cell]
        return True if not now else saw
    return now


# Section 5: settling.


@dataclass(frozen=True)
class Reading:
    """What one copy shows at one tick of the three-valued play.

    Attributes:
        outputs: ``0``, ``1`` or ``x`` by output name.
        fed_back: the inputs that are off and whose lead is possibly on.
    """

    outputs: dict[str, str]
    fed_back: frozenset[str]


@dataclass(frozen=True)
class _Moment:
    """One tick of the three-valued play, all of it (powers follow from ``sure``, ``possible``)."""

    sure: frozenset[Cell]
    possible: frozenset[Cell]
    sure_power: Power = field(compare=False)
    possible_power: Power = field(compare=False)
    surely_saw: frozenset[Cell]
    possibly_saw: frozenset[Cell]


def settle(
    layout: Layout,
    bits: Mapping[str, str],
    ticks: int | None = None,
    rules: Rules = DEFAULT_RULES,
) -> list[Reading]:
    """The three-valued play of one input assignment (``0``, ``1`` or ``x`` by input name).

    Gives what is read at ticks 0 to ``ticks``; for None, until nothing can change any more.
    """
    return settle_copy(stand(layout, rules=rules), layout, 0, bits, ticks)


def settle_copy(
    world: World,
    layout: Layout,
    copy: int,
    bits: Mapping[str, str],
    ticks: int | None,
    then: Mapping[str, str] | None = None,
) -> list[Reading]:
    """The play of a row: ``copy`` gets ``bits``, the inputs of all other copies are unknown.

    With ``then`` the copy gets that once nothing changes any more; readings are from there on.
    """
    sure_inputs, possible_inputs = _inputs(world, copy, bits)
    # An inverter looks back one tick, like a buffer of delay 1.
    slowest = max((world.parts[cell].delay for cell in world.acting), default=0)
    window = 2 * max(slowest, 1) + 1
    moments: list[_Moment] = []
    readings: list[Reading] = []
    began = 0
    while ticks is None or len(moments) <= ticks:
        # What follows a tick depends on the last 2k - 1 ticks only: once it has not changed for
        # longer than that, it never will.
        rested = len(moments) - began >= window and len({*moments[-window:]}) == 1
        if ticks is None and rested:
            if then is None:
                break
            bits, then, began, readings = then, None, len(moments), []
            sure_inputs, possible_inputs = _inputs(world, copy, bits)
        t = len(moments)
        sure = frozenset(cell for cell in world.acting if _surely_on(world, cell, t, moments))
        possible = frozenset(cell for cell in world.acting if _possibly_on(world, cell, t, moments))
        moments.append(_moment(world, sure | sure_inputs, possible | possible_inputs))
        readings.append(_reading(world, layout, copy, bits, moments[-1]))
    return readings


def _inputs(world: World, copy: int, bits: Mapping[str, str]) -> tuple[set[Cell], set[Cell]]:
    """What stands outside the inputs and is surely on, and what is possibly."""
    sure, possible = set(), set()
    for (owner, name), cell in world.inputs.items():
        bit = bits[name] if owner == copy else "x"
        if bit == "1":
            sure.add(cell)
        if bit != "0":
            possible.add(cell)  # "(possibly on, not surely on)"
    return sure, possible


def _moment(world: World, sure: frozenset[Cell], possible: frozenset[Cell]) -> _Moment:
    # "Each tick, play section 4 twice: once with what is surely on, once with what is possibly on
    # (in the second a wire passes its strength on without loss ...)."
    sure_power = world.power(sure, loss=1)
    possible_power = world.power(possible, loss=0)
    buffers = [cell for cell in world.acting if world.holds(cell, Part.BUFFER)]
    surely_saw = frozenset(cell for cell in buffers if world.sees(cell, sure_power, sure))
    possibly_saw = frozenset(cell for cell in buffers if world.sees(cell, possible_power, possible))
    return _Moment(sure, possible, sure_power, possible_power, surely_saw, possibly_saw)


def _surely_on(world: World, cell: Cell, t: int, moments: list[_Moment]) -> bool:
    if t == 0:
        return False  # "at tick 0 every inverter and buffer is unknown"
    if world.holds(cell, Part.INVERTER):
        # "an inverter is surely on if its host is not possibly charged"
        return not world.host_charged(cell, moments[t - 1].possible_power)
    if world.holders[cell]:
        return (
            False  # "A buffer with a buffer pointing into one of its sides is ... never surely on"
        )
    # "a buffer of delay k is surely on at t if it surely saw power at all of the ticks t-k to
    # t-1 ...; ticks before 0 count as unknown"
    past = range(t - world.parts[cell].delay, t)
    return all(tick >= 0 and cell in moments[tick].surely_saw for tick in past)


def _possibly_on(world: World, cell: Cell, t: int, moments: list[_Moment]) -> bool:
    if t == 0:
        return True  # "at tick 0 every inverter and buffer is unknown"
    if world.holds(cell, Part.INVERTER):
        # "possibly on unless its host is surely charged"
        return not world.host_charged(cell, moments[t - 1].sure_power)
    if world.holders[cell]:
        return True  # "... is possibly on and never surely on"
    # "possibly on at t if it possibly saw power at any of the ticks t-(2k-1) to t-1; ticks before
    # 0 count as unknown"
    past = range(t - (2 * world.parts[cell].delay - 1), t)
    return any(tick < 0 or cell in moments[tick].possibly_saw for tick in past)


def _reading(
    world: World, layout: Layout, copy: int, bits: Mapping[str, str], moment: _Moment
) -> Reading:
    outputs = {}
    for pin in layout.outputs:
        cell = world.outputs[copy, pin.name]
        # "1: surely on; 0: not possibly on"
        if world.reads(cell, moment.sure_power, moment.sure):
            outputs[pin.name] = "1"
        elif not world.reads(cell, moment.possible_power, moment.possible):
            outputs[pin.name] = "0"
        else:
            outputs[pin.name] = "x"
    for (owner, name), cell in world.sending.items():
        if owner == copy:
            # "o reads on while its buffer is on"
            known = "1" if cell in moment.sure else "x"
            outputs[name] = known if cell in moment.possible else "0"
    # "no input is fed back: the lead of an input that is off is not possibly on"; "An input with
    # this joint [buffer] is never fed back."
    fed_back = frozenset(
        pin.name
        for pin in layout.inputs
        if pin.joint is Joint.WIRE
        and bits[pin.name] == "0"
        and moment.possible_power.strength[world.inputs[copy, pin.name]] > 0
    )
    return Reading(outputs, fed_back)


# Section 7: stacking.


def stack_faults(layout: Layout) -> list[Reason]:
    """What section 7 forbids "whether or not it would do harm", of a legal layout."""
    assert layout.stack is not None
    axis = "xyz".index(layout.stack.axis)
    faults: list[Reason] = []
    for pin in layout.pins:
        if pin.face.axis == layout.stack.axis:
            faults.append((RuleId.STACK_PIN, pin.at))  # "no pin's face is + or - the stacking axis"
    if layout.ground and layout.stack.axis == "z":
        # "a layout on ground does not stack along z"
        faults.append((RuleId.STACK_GROUND, (0, 0, 0)))
    if layout.stack.pitch < layout.size[axis]:
        # "The pitch is ... never less" than "the box's size on that axis"
        faults.append((RuleId.STACK_PITCH, (0, 0, 0)))
    if faults:
        return faults  # such copies do not stand side by side at all
    world = stand(layout, copies=3)
    for cell, block in world.parts.items():
        if world.owner[cell] != 1:
            continue  # the middle one has a copy on either side
        if block.part is Part.WIRE and any(world.owner[other] != 1 for other in world.links(cell)):
            # "no wire of one copy is linked to a wire of another"
            faults.append((RuleId.STACK_LINK, cell))
        if block.part is Part.INVERTER:
            near = [d.step(cell) for d in (*LEVEL_DIRECTIONS, DOWN)]
            if any(world.holds(c, Part.WIRE) and world.owner[c] != 1 for c in near):
                # "no inverter of one copy has a wire of another as a level neighbour or below it"
                faults.append((RuleId.STACK_INVERTER, cell))
            if _in_another(layout, facing(block).step(cell)):
                faults.append((RuleId.STACK_SUPPORT, cell))  # "no part ... has its host ..."
        supported = block.part in (Part.WIRE, Part.BUFFER)
        if supported and _in_another(layout, DOWN.step(cell)):
            faults.append((RuleId.STACK_SUPPORT, cell))  # "... or support in another"
        if block.part is Part.BUFFER:
            front = facing(block).step(cell)
            back = facing(block).opposite.step(cell)
            if _in_another(layout, front) or _in_another(layout, back):
                # "no buffer has its back or front in another"
                faults.append((RuleId.STACK_BUFFER, cell))
    # Cells are those of the middle copy: moved back to the first.
    home = along(axis, -layout.stack.pitch)
    return [(rule, plus(cell, home)) for rule, cell in faults]


def _in_another(layout: Layout, cell: Cell) -> bool:
    """Whether a cell near the middle one of three copies lies in the box of its neighbours."""
    assert layout.stack is not None
    axis = "xyz".index(layout.stack.axis)
    return layout.inside(cell) or layout.inside(plus(cell, along(axis, -2 * layout.stack.pitch)))


# The verdict.


@dataclass(frozen=True)
class Finding:
    """What is found of a layout, in the words of ``documents.md``; see there."""

    legal: bool
    reasons: tuple[Reason, ...] = ()
    outputs: dict[str, str] | None = None
    function: bool | None = None
    delay: int | None = None
    fed_back: tuple[str, ...] = ()
    stacks: bool | None = None


def assignments(layout: Layout) -> list[dict[str, str]]:
    """ "every input assignment, in counting order with the first input as the most significant
    bit"
    """
    names = [pin.name for pin in layout.inputs]
    rows = []
    for number in range(2 ** len(names)):
        bits = format(number, "b").zfill(len(names)) if names else ""
        rows.append(dict(zip(names, bits, strict=True)))
    return rows


def verdict(
    layout: Layout,
    expected: Mapping[str, str] | None = None,
    rules: Rules = DEFAULT_RULES,
    copies: int = 5,
    asked: int | None = None,
) -> Finding:
    """Everything a check finds; ``expected`` gives columns of ``0``, ``1`` and ``-``.

    Rows of 1 to ``copies`` copies are played when the layout asks to stack; each copy must meet
    the delay ``asked``, or the layout's own when none is.
    """
    reasons = illegalities(layout, rules)
    if reasons:
        return Finding(legal=False, reasons=tuple(reasons))
    names = [pin.name for pin in layout.outputs]
    plays = [settle(layout, bits, rules=rules) for bits in assignments(layout)]
    outputs = {name: "".join(play[-1].outputs[name] for play in plays) for name in names}
    fed_back = set().union(*(play[-1].fed_back for play in plays))
    # "for the function asked, or, when none is asked, the T from which all outputs are known"
    wanted = dict(outputs if expected is None else expected)
    right = all(_agrees(wanted[name], outputs[name]) for name in names)
    delay = _delay(plays, wanted)
    reasons = []
    stacks = None
    if layout.stack is not None:
        reasons = stack_faults(layout)
        target = delay if asked is None else asked
        stacks = not reasons
        if stacks and (target is None or not _rows_meet(layout, wanted, target, rules, copies)):
            stacks = False
            reasons.append((RuleId.STACK_FUNCTION, (0, 0, 0)))
    return Finding(
        legal=True,
        reasons=tuple(reasons),
        outputs=outputs,
        function=None if expected is None else right,
        delay=delay,
        fed_back=tuple(pin.name for pin in layout.inputs if pin.name in fed_back),
        stacks=stacks,
    )


def _agrees(wanted: str, found: str) -> bool:
    """Whether a column reads right; "a don't-care need not settle"."""
    pairs = zip(wanted, found, strict=True)
    return all(want == "-" or (want == got and got != "x") for want, got in pairs)


def _met(wanted: Mapping[str, str], row: int, reading: Reading) -> bool:
    """Whether one tick of one assignment is as section 5 asks."""
    right = all(_agrees(wanted[name][row], got) for name, got in reading.outputs.items())
    return right and not reading.fed_back


def _delay(plays: list[list[Reading]], wanted: Mapping[str, str]) -> int | None:
    """ "the smallest T that it meets"; None if there is none."""
    longest = max(len(play) for play in plays)
    for tick in range(longest):
        # A play that has come to rest stays as it is.
        shown = [play[min(tick, len(play) - 1)] for play in plays]
        if all(_met(wanted, row, reading) for row, reading in enumerate(shown)):
            return tick
    return None


def _rows_meet(
    layout: Layout, wanted: Mapping[str, str], target: int, rules: Rules, copies: int
) -> bool:
    """ "in the three-valued play of a row of 1, 2, 3, ... copies ... that one meets T; and this for
    each copy of each row, those at the ends included" """
    for length in range(1, copies + 1):
        world = stand(layout, length, rules)
        for copy in range(length):
            for row, bits in enumerate(assignments(layout)):
                reading = settle_copy(world, layout, copy, bits, target)[target]
                if not _met(wanted, row, reading):
                    return False
    return True
