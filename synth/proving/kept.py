"""What a layout keeps, as a specification: a question that the layout answers."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.shrinking import own_spec
from synth.simulator import check
from synth.simulator.demands import match_pins, stack_of
from synth.simulator.made_for import spec_made_for
from synth.simulator.verdict import Verdict
from synth.spec import PinDemand, Spec
from synth.words import counted, listed

LOOSENED = ("faces", "stack")
"""What a layout keeps that may be let go by name. Other limits are asked for outright."""


def kept_spec(
    layout: Layout,
    spec: Spec | None = None,
    *,
    loosen: Collection[str] = (),
    rules: Rules = DEFAULT_RULES,
) -> Spec:
    """What a right layout keeps: function, delay, faces and joints of its pins, stacking, its box.

    Args:
        layout: the layout.
        spec: what is asked of it; what it leaves open stays as the layout has it. None: what its
            file says it was made for, or else what it does.
        loosen: names of ``LOOSENED``: what need not be as it is.
        rules: the rule table.

    Returns:
        The specification. No side of a box is longer than the layout's own where none is asked.

    Raises:
        InputError: if the layout is not right, a name is none of ``LOOSENED``, or the stack of a
            chain is to be let go.
    """
    unknown = [name for name in loosen if name not in LOOSENED]
    if unknown:
        raise InputError(
            f"{unknown[0]!r} is nothing that can be let go",
            place="loosen",
            way_out=f"use {listed(LOOSENED, 'or')}",
        )
    spec = spec or spec_made_for(layout) or own_spec(layout, rules)
    match_pins(layout, spec)
    if "stack" in loosen and (layout.chain or spec.chain):
        raise InputError(
            "the stack of a chain cannot be let go: its links are between copies, and without "
            "them its function and delay are others",
            place="loosen",
            way_out="leave 'stack' out, or ask for one layout that stands alone with "
            "'gatefit solve'",
        )
    if spec.stack is None and "stack" not in loosen:
        spec = spec.replace(stack=stack_of(layout))
    elif "stack" in loosen:
        spec = spec.replace(stack=None)
    spec = spec.replace(name=layout.name or spec.name)  # What is found goes by that name.
    spec = spec.replace(ground=layout.ground, pins=_pins(layout, spec, "faces" in loosen))
    verdict = require_right(layout, spec, rules)
    limits = spec.limits
    sides = zip(("length", "width", "height"), layout.size, strict=True)
    own = {name: cells for name, cells in sides if getattr(limits, name) is None}
    if limits.delay is None:
        own["delay"] = verdict.delay or 0
    if limits.link_delay is None and verdict.link_delay is not None:
        own["link_delay"] = verdict.link_delay
    return spec.replace(limits=replace(limits, **own))


def _pins(layout: Layout, spec: Spec, faces_are_free: bool) -> dict[str, PinDemand]:
    """The demands of a specification, with the face and joint of each pin where it has none."""
    demands = dict(spec.pins)
    for pin in layout.pins:
        if spec.linked(pin.name):
            continue
        asked = demands.get(pin.name, PinDemand())
        if asked.faces is None and asked.at is None and not faces_are_free:
            asked = replace(asked, faces=(pin.face,))
        demands[pin.name] = replace(asked, joint=asked.joint or pin.joint)
    return demands


def require_right(layout: Layout, spec: Spec, rules: Rules) -> Verdict:
    """The verdict on a layout that answers what is asked.

    Raises:
        InputError: with its first fault, if it does not.
    """
    verdict = check(layout, spec, rules=rules)
    if verdict.faults:
        faults = verdict.faults
        others = len(faults) - 1
        more = f" (and {counted(others, 'more fault')})" if others else ""
        raise InputError(
            f"the layout does not keep what is asked: {faults[0].text}{more}",
            place="layout",
            way_out="'gatefit check' shows every fault, 'gatefit repair' mends them, and "
            "'gatefit solve' asks without a layout",
        )
    return verdict
