"""What is asked of a layout that is to be mended, and which cells and pins may change for it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from synth import defaults
from synth.encoding.geometry import Geometry, Slot
from synth.errors import InputError
from synth.layout import Layout, MadeFor
from synth.medium import AXES, Cell, RuleId, Rules
from synth.simulator import check, settle
from synth.simulator.demands import demanded_stack, match_pins, stack_of
from synth.simulator.made_for import made_for, spec_made_for
from synth.simulator.verdict import Verdict
from synth.spec import BooleanFunction, Spec, StackDemand
from synth.words import ticks

_OF_PINS = frozenset({RuleId.PIN_FACE, RuleId.PIN_SPACING, RuleId.STACK_PIN, RuleId.PIN_ASK})
"""Rules that only another place of a pin may mend."""

_SIDES = ("length", "width", "height")

_OF_BOX = (*_SIDES, "volume", "floor")
"""Limits on what no change of cells alters."""


@dataclass(frozen=True)
class Asked:
    """A layout, what is asked of it, and what may change.

    Attributes:
        given: the layout as it was given.
        layout: the same, stating the stacking, ground and joints that are asked.
        spec: what is asked; its stacking and ground are the layout's where it asks none.
        delay: ticks that must be met.
        rules: the rule table.
        open_cells: the cells that may change.
        everywhere: whether that is every cell of the box.
        verdict: on the layout as stated.
        purpose: what the mended layout says it was made for.
        assumed: what was assumed.
    """

    given: Layout
    layout: Layout
    spec: Spec
    delay: int
    rules: Rules
    open_cells: frozenset[Cell]
    everywhere: bool
    verdict: Verdict
    purpose: MadeFor | None = None
    assumed: tuple[str, ...] = ()

    def judge(self, layout: Layout) -> Verdict:
        """The simulator's verdict on a layout."""
        return check(layout, self.spec, delay=self.delay, rules=self.rules)

    @property
    def pins_may_move(self) -> bool:
        """Whether another place than its own is open to any pin."""
        return any(set(self.slots[pin.name]) - {Slot(pin.at, pin.face)} for pin in self.layout.pins)

    @cached_property
    def slots(self) -> Mapping[str, tuple[Slot, ...]]:
        """Where each pin may sit: where it does; anywhere admitted if pins are at fault."""
        own = {pin.name: (Slot(pin.at, pin.face),) for pin in self.layout.pins}
        if not {fault.rule for fault in self.verdict.faults} & _OF_PINS:
            return own
        places = Geometry(self.layout.size).slots()
        return {
            name: tuple(
                slot
                for slot in places
                if slot.face in self.spec.faces(name)
                and self.spec.pins[name].at in (None, slot.cell)
            )
            for name in own
        }


def asked_of(
    layout: Layout,
    spec: Spec | None,
    *,
    delay: int | None,
    window: Collection[Cell] | None,
    locked: Collection[Cell],
    rules: Rules,
) -> Asked:
    """Read what is asked.

    Raises:
        InputError: if nothing is asked of an illegal layout, a cell lies outside the box, or the
            pins are not those of the specification, or the box is not one that it allows.
    """
    asks_delay = delay is not None
    for cell in (*(window or ()), *locked):
        if not layout.inside(cell):
            raise InputError(
                f"the cell {list(cell)} lies outside the box",
                place="window" if cell in (window or ()) else "lock",
                way_out="name cells of the layout",
            )
    asked = spec or spec_made_for(layout) or _as_it_is(layout, rules)
    match_pins(layout, asked)
    _require_box(layout, asked)
    joints = {
        pin.name: replace(asked.pins[pin.name], joint=asked.pins[pin.name].joint or pin.joint)
        for pin in layout.pins
        if not asked.linked(pin.name)
    }
    asked = asked.replace(pins={**asked.pins, **joints}, ground=layout.ground or asked.ground)
    if asked.stack is None:
        asked = asked.replace(stack=_stack_of(layout))
    stated = layout.replace(
        stack=demanded_stack(layout, asked),
        ground=asked.ground,
        pins=tuple(replace(pin, joint=asked.joint(pin.name)) for pin in layout.pins),
    )
    assumed: tuple[str, ...] = ()
    kept = layout.made_for
    if delay is None:
        delay = asked.limits.delay
    if delay is None and kept is not None:
        delay = kept.delay
    if delay is None:
        delay, assumed = _assumed_delay(stated, asked, rules)
    everywhere = window is None and not locked
    cells = set(Geometry(layout.size).cells) if window is None else set(window)
    verdict = check(stated, asked, delay=delay, rules=rules)
    open_cells = frozenset(cells - set(locked))
    if spec is not None:
        kept = made_for(spec.function, delay)
    elif kept is not None and asks_delay:
        kept = replace(kept, delay=delay)
    return Asked(
        layout, stated, asked, delay, rules, open_cells, everywhere, verdict, kept, assumed
    )


def _require_box(layout: Layout, spec: Spec) -> None:
    """Refuse a layout whose box is not as asked: no change of its cells could mend that.

    Raises:
        InputError: naming the limit, what the box has, and the way out.
    """
    for name in _OF_BOX:
        own, most = getattr(layout, name), getattr(spec.limits, name)
        if most is not None and own > most:
            raise InputError(
                f"the {name} of the box is {own}, more than the {most} asked, and a repair "
                "changes cells, never the box",
                place=f"limits.{name}",
                way_out=f"allow {own}, or ask for a layout of another box with 'gatefit solve'",
            )
        if most is not None and own < most and name in _SIDES and (spec.empty or spec.fixed):
            raise InputError(
                f"cells are asked for in a box whose {name} is {most}; it is {own} here, and a "
                "repair changes cells, never the box",
                place=f"limits.{name}",
                way_out=f"say which cells are asked for in a box whose {name} is {own}, or ask "
                "for a layout of the other box with 'gatefit solve'",
            )


def _as_it_is(layout: Layout, rules: Rules) -> Spec:
    """What the layout does now, if that is known; used where nothing is asked."""
    verdict = check(layout.replace(stack=None), rules=rules)
    if verdict.outputs is None:
        raise InputError(
            "nothing says what the layout should do, and it is not legal, so it does nothing",
            place="function",
            way_out='say what it should do, such as --function "q = a & b"',
        )
    columns = {name: column.replace("x", "-") for name, column in verdict.outputs.items()}
    inputs = tuple(pin.name for pin in layout.inputs)
    return Spec(BooleanFunction(inputs, columns), name=layout.name)


def _stack_of(layout: Layout) -> StackDemand | None:
    """The stacking that a layout states; a pitch that is too small becomes the box's size."""
    if layout.stack is None:
        return None
    size = layout.size[AXES.index(layout.stack.axis)]
    wide_enough = layout.replace(stack=replace(layout.stack, pitch=max(size, layout.stack.pitch)))
    return stack_of(wide_enough)


def _assumed_delay(layout: Layout, spec: Spec, rules: Rules) -> tuple[int, tuple[str, ...]]:
    """The delay of a layout; if it has none, an estimate for a layout of its size."""
    verdict = check(layout, spec, rules=rules)
    if verdict.delay is not None:
        return verdict.delay, ()
    found = defaults.ASSUMED_DELAY
    if verdict.legal:
        found = max(found, len(settle(layout, rules).ticks) - 1)
    return found, (f"a delay of at most {ticks(found)}",)
