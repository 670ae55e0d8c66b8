"""What every part of a review starts from: the layout as judged, and the effort that is left."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from synth.errors import InputError
from synth.layout import Layout, Stack
from synth.medium import Cell, RuleId, Rules
from synth.simulator import check, settle
from synth.simulator.checking import wanted_as_settled, wanted_of
from synth.simulator.demands import demanded_stack
from synth.simulator.fabric import weave
from synth.simulator.row import Row
from synth.simulator.settling import Settling, input_masks, play_unknown
from synth.simulator.verdict import Fault, Verdict
from synth.simulator.wanted import Wanted, fed_back
from synth.spec import Spec

Key = tuple[RuleId, Cell | None]
"""How a fault is recognised after a change: by its rule, and by its cell where that counts."""


def key_of(fault: Fault) -> Key:
    """The key of a fault. A late delay is seen anywhere, a broken row at any pin of any copy."""
    anywhere = fault.rule in (RuleId.DELAY, RuleId.LINK_DELAY, RuleId.STACK_FUNCTION)
    return (fault.rule, None if anywhere else fault.at)


def keys_of(verdict: Verdict) -> frozenset[Key]:
    """The keys of all faults."""
    return frozenset(map(key_of, verdict.faults))


TICKS_OF_A_TRIAL = 8
"""Ticks above which a trial costs more than the parts of its layout."""

ROWS_OF_A_TRIAL = 256
"""Assignments above which it does."""


@dataclass
class Effort:
    """How much may be tried: a trial costs as many parts as the layout has, times what is long.

    Attributes:
        parts: what is left.
        stop: asked before every trial; says yes once nobody waits for the review any more.
    """

    parts: int
    stop: Callable[[], bool] | None = None

    def spend(self, parts: int) -> bool:
        """Take so much from what is left; returns whether there was enough."""
        if self.parts < parts or (self.stop is not None and self.stop()):
            return False
        self.parts -= parts
        return True

    def judged(self, subject: Subject) -> None:
        """Charge for a whole verdict on a layout: a fabric made anew, and rows of copies."""
        self.parts -= subject.cost * (2 if subject.stack is None else 8)


@dataclass
class Subject:
    """A layout under review.

    Attributes:
        layout: the layout.
        spec: what is asked, or None.
        delay: the delay asked in ticks, or None.
        rules: the rule table.
        verdict: the simulator's verdict by them.
        link_delay: the link delay asked of a chain, in ticks, or None.
        stop: whether the review is to end; asked often.
    """

    layout: Layout
    spec: Spec | None
    delay: int | None
    rules: Rules
    verdict: Verdict
    link_delay: int | None = None
    stop: Callable[[], bool] | None = None

    @cached_property
    def settled(self) -> Settling:
        """How the layout settles; it is legal."""
        return settle(self.layout, self.rules)

    @cached_property
    def wanted(self) -> Wanted:
        """What the outputs should read: as asked, or as they do where nothing is asked."""
        if self.spec is None:
            return wanted_as_settled(self.settled)
        return wanted_of(self.layout, self.spec.function, self.settled.full)

    @property
    def stack(self) -> Stack | None:
        """The stacking that is judged, if any."""
        asked = None if self.spec is None else demanded_stack(self.layout, self.spec)
        return self.layout.stack or asked

    def within(self, cell: Cell) -> Cell:
        """A cell of the box: for a lead or an outside buffer, the cell of its pin."""
        if self.layout.inside(cell):
            return cell
        return next(pin.at for pin in self.layout.pins if pin.outside == cell)

    @property
    def asked_delay(self) -> int | None:
        """The delay that must be met, in ticks, or None."""
        if self.delay is not None or self.spec is None:
            return self.delay
        return self.spec.limits.delay

    @property
    def parts(self) -> int:
        """Parts of the layout, at least 1."""
        return max(1, self.layout.part_count)

    @cached_property
    def cost(self) -> int:
        """What a trial costs: the parts, more if it takes many ticks or assignments."""
        if not self.verdict.legal:
            return self.parts
        rows = self.settled.full.bit_length()
        return (
            self.parts
            * max(1, len(self.settled.ticks) // TICKS_OF_A_TRIAL)
            * (1 + rows // ROWS_OF_A_TRIAL)
        )

    def effort(self, parts: int) -> Effort:
        """So much to spend, unless the review is stopped."""
        return Effort(parts, self.stop)

    def judge(self, layout: Layout) -> Verdict | None:
        """The verdict on another layout, asked the same; None if it would take too long."""
        try:
            return check(
                layout,
                self.spec,
                delay=self.delay,
                link_delay=self.link_delay,
                rules=self.rules,
            )
        except InputError:
            return None

    def wrong_alone(self, layout: Layout, within: int | None) -> frozenset[Key]:
        """What the play of a legal layout alone shows wrong: outputs and inputs fed back.

        Quicker than a verdict: nothing is said of stacks.

        Args:
            layout: with pins of the same names as the subject.
            within: ticks that it may take; None: as long as it likes.
        """
        fabric = weave(Row(layout))
        masks = [(mask, mask) for mask in input_masks(len(layout.inputs))]
        played = play_unknown(fabric, self.rules, self.wanted.full, masks)
        last = deque(played if within is None else islice(played, within + 1), maxlen=1)[0]
        cells = {pin.name: pin.at for pin in layout.inputs}
        wrong = [
            (RuleId.FUNCTION, port.pin.at)
            for port in fabric.outputs
            if self.wanted.wrong(port, last)
        ]
        wrong += [
            (RuleId.FED_BACK, cells[name]) for name, mask in fed_back(fabric, last).items() if mask
        ]
        return frozenset(wrong)

    def all_the_same(self, after: Verdict) -> bool:
        """Whether a changed layout does just what this one does, as far as verdicts tell."""
        before = self.verdict
        told = [
            (one.legal, one.outputs, one.delay, one.link_delay, keys_of(one))
            for one in (before, after)
        ]
        return told[0] == told[1]
