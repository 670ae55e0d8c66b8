"""What is asked of a layout that is to be shrunk: what it does now, or what somebody says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from synth.errors import InputError
from synth.layout import Layout, MadeFor
from synth.medium import DEFAULT_RULES, Rules
from synth.questions.measures import LINK, parse_measures
from synth.shrinking.aim import Aim, Judged, Pinning
from synth.simulator import check
from synth.simulator.demands import demanded_stack, match_pins, stack_of
from synth.simulator.made_for import made_for, spec_made_for
from synth.simulator.verdict import Verdict
from synth.spec import BooleanFunction, Limits, PinDemand, Spec
from synth.spec.function import MAX_INPUTS
from synth.words import counted


def own_spec(layout: Layout, rules: Rules = DEFAULT_RULES) -> Spec:
    """What a layout does, as a specification: its function, joints, stacking and ground.

    Of a chain, the delay of its links is as little as it is now.

    Raises:
        InputError: if the simulator finds something wrong with it, or an output stays unknown.
    """
    if len(layout.inputs) > MAX_INPUTS:
        raise InputError(
            f"{len(layout.inputs)} inputs are too many",
            place="pins",
            way_out=f"use a layout of at most {MAX_INPUTS} inputs",
        )
    if not layout.outputs:
        raise InputError(
            "the layout has no outputs, so nothing of it is needed",
            place="pins",
            way_out="use a layout that does something",
        )
    verdict = check(layout, rules=rules)
    if not verdict.passes:
        raise _wrong(verdict)
    assert verdict.outputs is not None
    for name, column in verdict.outputs.items():
        if "x" in column:
            raise InputError(
                f"output {name!r} stays unknown at some assignments ({column})",
                place="layout",
                way_out="say what is asked, with a don't-care there",
            )
    stack = stack_of(layout)
    return Spec(
        function=BooleanFunction(tuple(pin.name for pin in layout.inputs), verdict.outputs),
        stack=stack,
        ground=layout.ground,
        name=layout.name,
        limits=Limits(link_delay=verdict.link_delay),
    )


def kept_as_it_is(layout: Layout, rules: Rules = DEFAULT_RULES) -> Spec:
    """What shrinking keeps of a layout where nobody says: what it was made for, or else does now.

    The function that its file says it was made for counts, don't-cares and all. All else is as it
    is now: joints, stacking and ground; and of a chain, links that are no later.

    Raises:
        InputError: if it does not do that, or as ``own_spec``.
    """
    function = _said_function(layout)
    if function is None:
        return own_spec(layout, rules)
    asked = Spec(function, stack=stack_of(layout), ground=layout.ground, name=layout.name)
    verdict = check(layout, asked, rules=rules)
    if not verdict.passes:
        raise _wrong(verdict)
    return asked.replace(limits=Limits(link_delay=verdict.link_delay))


def _said_function(layout: Layout) -> BooleanFunction | None:
    """The function that a layout says it was made for, in the order of its pins, or None.

    Raises:
        InputError: if it cannot be read, or is not one of its pins.
    """
    said = spec_made_for(layout)
    return None if said is None else _in_order(layout, said.function)


def _in_order(layout: Layout, function: BooleanFunction) -> BooleanFunction:
    """A function of a layout's pins in their order, so that order makes no difference."""
    return function.arranged(
        [pin.name for pin in layout.inputs], [pin.name for pin in layout.outputs]
    )


def _is_made_for(layout: Layout, function: BooleanFunction) -> bool:
    """Whether a layout says it was made for a function of its pins."""
    try:
        said = _said_function(layout)
    except InputError:
        return False  # Its file speaks of other pins; what is asked does not.
    return said is not None and said == _in_order(layout, function)


def purpose_of(layout: Layout, function: BooleanFunction, delay: int | None, now: int) -> MadeFor:
    """What a layout that comes of another one by shrinking was made for.

    Args:
        layout: the layout to begin with.
        function: what is asked of both.
        delay: the ticks that are asked, or None: then those that its file allows stay, where it
            was made for that function.
        now: the ticks to keep to where neither says any.
    """
    if layout.made_for is None or not _is_made_for(layout, function):
        return made_for(function, now if delay is None else delay)
    return layout.made_for if delay is None else replace(layout.made_for, delay=delay)


def unsaid(layout: Layout, spec: Spec | None, rules: Rules) -> Spec | None:
    """What an earlier version asked where nobody says a function: the layout's own, all known.

    Args:
        layout: the layout to begin with.
        spec: what is asked now.
        rules: the rule table.

    Returns:
        The specification, or None where a function is asked, or the layout has none of its own.
    """
    if spec is not None and not _is_made_for(layout, spec.function):
        return None
    try:
        own = own_spec(layout, rules)
    except InputError:
        return None
    return own if spec is None else spec.replace(function=own.function)


def _wrong(verdict: Verdict) -> InputError:
    first = verdict.faults[0]
    others = len(verdict.faults) - 1
    more = f" (and {counted(others, 'more fault')})" if others else ""
    return InputError(
        f"the layout is not right: {first.text}{more}",
        place="layout",
        way_out="use a right layout; 'gatefit check' shows every fault",
    )


def aim_of(
    layout: Layout,
    spec: Spec | None,
    *,
    minimize: Sequence[str],
    delay: int | None,
    pins: str,
    rules: Rules,
) -> tuple[Aim, Judged]:
    """What is to be kept of a layout and what is to become less, with the layout judged by it.

    The layout may break limits on measures, and be slower than is asked.

    Raises:
        InputError: if the layout is not right otherwise, or something cannot be used.
    """
    measures = parse_measures(minimize, link=True)
    _require_links(measures, layout, spec)
    if pins not in [str(pinning) for pinning in Pinning]:
        raise InputError(
            f"no way to hold pins called {pins!r}", place="pins", way_out="use fixed, face or free"
        )
    if spec is None:
        spec = kept_as_it_is(layout, rules)
    match_pins(layout, spec)
    asks = {
        pin.name: replace(spec.pins.get(pin.name, PinDemand()), joint=pin.joint)
        for pin in layout.pins
        if spec.pins[pin.name].joint in (None, pin.joint)
    }
    joined = spec.replace(pins={**spec.pins, **asks}, ground=layout.ground or spec.ground)
    # What needs no ground stands on it as well: then its lowest wires and buffers need no support.
    layout = layout.replace(ground=joined.ground)
    if joined.stack is None and layout.stack is not None:
        # What is not asked stays as it is: a chain, and how late its links are.
        joined = joined.replace(stack=stack_of(layout))
        late = check(layout, joined, rules=rules).link_delay
        joined = joined.replace(limits=replace(joined.limits, link_delay=late))
    if delay is None:
        delay = joined.limits.delay
    limits = joined.limits
    # Cells that are asked for hold the box to its size: then limits are kept from the start.
    held = bool(joined.empty or joined.fixed)
    kept = replace(limits, delay=None) if held else Limits(link_delay=limits.link_delay)
    asked = joined.replace(limits=kept)
    stated = (
        layout if layout.stack is not None or joined.stack is None else _stacked(layout, joined)
    )
    verdict = check(stated, asked, rules=rules)
    if verdict.delay is not None and delay is not None and verdict.delay <= delay:
        verdict = check(stated, asked, delay=delay, rules=rules)
    if not verdict.passes:
        raise _wrong(verdict)
    assert verdict.delay is not None
    own, delay = verdict.delay, verdict.delay if delay is None else delay
    aim = Aim(
        asked,
        delay,
        measures,
        Pinning(pins),
        layout.pins,
        Limits() if held else limits,
        max(own, delay),
        rules,
    )
    judged = aim.judge(stated)
    if judged is None:
        raise _wrong(check(stated, asked, delay=delay, rules=rules))
    return aim, judged


def _require_links(measures: Sequence[str], layout: Layout, spec: Spec | None) -> None:
    """Refuse to minimise the delay of links where there are none."""
    if LINK in measures and not layout.chain and not (spec and spec.chain):
        raise InputError(
            "the layout has no chain, so there are no links that could be late",
            place="minimize",
            way_out="use another measure",
        )


def _stacked(layout: Layout, spec: Spec) -> Layout:
    """The layout with the stacking that is asked, stated."""
    return layout.replace(stack=demanded_stack(layout, spec))
