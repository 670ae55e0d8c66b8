"""Composing: every construction makes what it can, the simulator judges, and the best one wins."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from synth.composing.canvas import LONGEST, MOST_CELLS, Unbuildable
from synth.composing.composition import (
    Attempt,
    Composition,
    Unkept,
    distance,
    measure,
    nearest_of,
    unkept_by,
)
from synth.composing.constructions import CONSTRUCTIONS, OF_SLICES, Construction
from synth.composing.fitting import Frame, fitted, frames
from synth.composing.kept_slices import slices_of
from synth.composing.network import Network, networks_of
from synth.composing.order import Order
from synth.composing.rows import rows_of
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, RuleId, Rules
from synth.simulator import check
from synth.spec import Limits, Spec

FEW_TRIES, MANY_TRIES = 10, 150
"""The arrangements to compare, if delay does not count and if it does."""

ROW, SLICE = "row of slices", "kept slice"
"""What is not painted: set together of slices that are kept, or one of them as it is."""


@dataclass(frozen=True)
class Draft:
    """A layout that is not judged yet."""

    construction: str
    note: str
    layout: Layout


def compose(
    spec: Spec,
    *,
    measures: Sequence[str] = ("volume",),
    rules: Rules = DEFAULT_RULES,
    time_limit_s: float | None = None,
    known: Iterable[Layout] = (),
    constructions: Sequence[Construction] = CONSTRUCTIONS,
    firm: Limits | None = None,
) -> Composition:
    """A right layout for a specification, made by construction and judged by the simulator.

    Args:
        spec: what is asked.
        measures: the measures to reduce; the first counts most (section 9).
        rules: the rule table.
        time_limit_s: after this many seconds no further layout is judged, if one is right.
        known: right layouts from elsewhere with the pins of the specification; they
            compete with the others and are judged in the same way.
        constructions: the constructions that compete.
        firm: limits that must not be broken for the sake of others, which were only assumed.

    Returns:
        The best layout that keeps every limit, or the one that comes nearest, with the limits that
        it does not keep. Layouts that the simulator rejects are never returned.
    """
    started = time.monotonic()
    until = None if time_limit_s is None else started + time_limit_s
    contest = _Contest(spec, tuple(measures), rules, until, firm)
    contest.judge([Draft("known", "", layout) for layout in known])
    if constructions is CONSTRUCTIONS:
        contest.judge([Draft(ROW, "", layout) for layout in rows_of(spec, rules)])
        contest.judge([Draft(SLICE, "", layout) for layout in slices_of(spec, rules)])
        constructions = OF_SLICES if spec.chain else CONSTRUCTIONS
    networks = networks_of(spec.function)
    for effort in _efforts(spec, tuple(measures)):
        contest.judge(contest.drafts(effort, networks, constructions))
        if contest.over:
            break
    best = contest.best
    nearest = None if best is not None else nearest_of(contest.attempts, spec.limits, firm)
    unkept = unkept_by(nearest, spec.limits)
    if best is None and nearest is None:
        unkept = tuple(_what_is_no_measure(spec, rules, until))
    return Composition(
        spec, best, nearest, unkept, tuple(contest.attempts), time.monotonic() - started
    )


def _efforts(spec: Spec, measures: tuple[str, ...]) -> list[Effort]:
    """The efforts to try, in order; arranging for less delay only if delay counts."""
    if measures[0] == "delay":
        return [Effort.QUICK, Effort.TURNED]
    if spec.limits.delay is not None:
        return [Effort.PLAIN, Effort.QUICK, Effort.TURNED]
    return [Effort.PLAIN, Effort.TURNED]


class Effort(Enum):
    """Ways to arrange pins, tried in this order until the limits are kept."""

    PLAIN = "inputs on one side, outputs on the other"
    QUICK = "the same, arranged for less delay"
    TURNED = "turned about, pins on other sides"


class _Contest:
    """The drafts judged so far, and the best of them."""

    def __init__(
        self,
        spec: Spec,
        measures: tuple[str, ...],
        rules: Rules,
        until: float | None,
        firm: Limits | None,
    ) -> None:
        self.spec = spec
        self.measures = measures
        self.rules = rules
        self.until = until
        self.limits = replace(spec.limits, delay=None)
        self.firm = None if firm is None else replace(firm, delay=None)
        self.attempts: list[Attempt] = []
        self.best: Attempt | None = None

    @property
    def late(self) -> bool:
        """Whether the time is up and something is right."""
        if self.until is None or time.monotonic() < self.until:
            return False
        return any(attempt.right for attempt in self.attempts)

    @property
    def over(self) -> bool:
        """Whether nothing more has to be tried."""
        return self.best is not None or self.late

    def drafts(
        self, effort: Effort, networks: Sequence[Network], constructions: Sequence[Construction]
    ) -> list[Draft]:
        """The layouts that the constructions make; failures are noted among the attempts."""
        found: list[Draft] = []
        for frame, orders in _orders(self.spec, self.rules, effort, networks):
            for construction in constructions:
                for order in construction.chosen(orders):
                    if self.late:
                        return found
                    found += self._drafts(construction, frame, order)
        return found

    def _drafts(self, construction: Construction, frame: Frame, order: Order) -> list[Draft]:
        note = f"{len(order.network.products)} products, {len(order.network.terms)} terms"
        try:
            painted = construction.build(order)
        except Unbuildable as error:
            self.attempts.append(Attempt(construction.name, note, None, None, str(error)))
            return []
        layouts = fitted(painted, self.spec, frame)
        return [Draft(construction.name, note, layout) for layout in layouts]

    def judge(self, drafts: Sequence[Draft]) -> None:
        """Judge drafts, the most promising first, while one may be better than the best."""
        for draft in sorted(drafts, key=self._promise):
            reason = self._not_worth(draft)
            if reason:
                self.attempts.append(_unjudged(draft, f"not judged: {reason}"))
                continue
            attempt = judged(draft, self.spec, self.rules)
            self.attempts.append(attempt)
            if attempt.right and not attempt.broken(self.spec.limits):
                better = self.best is None or self._key(attempt) < self._key(self.best)
                self.best = attempt if better else self.best

    def _promise(self, draft: Draft) -> tuple[int, ...]:
        """A sort key: drafts that keep the limits on their box come first, then by the measures."""
        unjudged = _unjudged(draft, "")
        broken = distance(unjudged, self.limits, self.firm)[:2]
        known = [name for name in (*self.measures, "volume", "parts") if name != "delay"]
        return (*broken, *(unjudged.measure(name) or 0 for name in known))

    def _not_worth(self, draft: Draft) -> str:
        if self.late:
            return "late"
        if self.best is not None and not _may_beat(draft, self.best, self.measures):
            return "no better"
        if self.best is None and self._no_nearer(draft):
            return "keeps no more limits"
        return ""

    def _no_nearer(self, draft: Draft) -> bool:
        """Whether a draft breaks limits on its box, no less than one that is right and in time."""
        own = distance(_unjudged(draft, ""), self.limits, self.firm)
        if not any(own):
            return False
        right = (attempt for attempt in self.attempts if attempt.right)
        in_time = (item for item in right if "delay" not in item.broken(self.spec.limits))
        return any(distance(item, self.limits, self.firm) <= own for item in in_time)

    def _key(self, attempt: Attempt) -> tuple[int, ...]:
        order = dict.fromkeys((*self.measures, "volume", "delay", "parts"))
        values = (attempt.measure(name) for name in order)
        return tuple(1 << 30 if value is None else value for value in values)


def judged(draft: Draft, spec: Spec, rules: Rules) -> Attempt:
    """A draft with the simulator's verdict.

    Limits on measures are not faults here; ``Attempt.broken`` says which are kept. What is known
    at a tick stays known, so a layout that stacks at its own delay also does at any longer one.
    """
    layout = draft.layout
    if max(layout.size) > LONGEST or layout.volume > MOST_CELLS:
        return _unjudged(draft, "larger than a layout may be")
    asked = spec.replace(limits=replace(spec.limits, delay=None))
    verdict = check(layout, asked, rules=rules)
    wrong = [fault for fault in verdict.faults if fault.rule is not RuleId.LIMIT]
    if wrong or not verdict.legal:
        reason = f"rejected: {wrong[0].text}" if wrong else "rejected"
        return Attempt(draft.construction, draft.note, layout, verdict, reason)
    return Attempt(draft.construction, draft.note, layout, verdict)


def _unjudged(draft: Draft, reason: str) -> Attempt:
    return Attempt(draft.construction, draft.note, draft.layout, None, reason)


def _orders(
    spec: Spec, rules: Rules, effort: Effort, networks: Sequence[Network]
) -> Iterator[tuple[Frame, list[Order]]]:
    """The orders for the constructions, for each network one: the plain ones first."""
    joints = {name: spec.joint(name) for name in spec.pin_names}
    tries = FEW_TRIES if effort is Effort.PLAIN else MANY_TRIES
    # Other sides are painted only where they are quick enough; the plain way is in any case: it
    # tells what can be kept.
    delay = spec.limits.delay if effort is Effort.TURNED else None
    for number, frame in enumerate(frames(spec)):
        for place, sides in enumerate(frame.choices()):
            if (number == place == 0) is (effort is not Effort.TURNED):
                yield (
                    frame,
                    [
                        Order(
                            network,
                            sides,
                            joints,
                            rules,
                            stack=frame.stack,
                            ground=spec.ground,
                            tries=tries,
                            delay=delay,
                            places=frame.places(spec),
                            end=frame.end(spec),
                            chain=spec.chain,
                            options=frame.sides if place == 0 else {},
                        )
                        for network in networks
                    ],
                )


def _may_beat(draft: Draft, best: Attempt, measures: Sequence[str]) -> bool:
    """Whether a draft may be better than the best, as far as is known before judging it."""
    for name in measures:
        if name == "delay":
            return True
        mine, its = measure(draft.layout, None, name), best.measure(name)
        if mine is None or its is None or mine != its:
            return mine is None or its is None or mine < its
    return False


def _what_is_no_measure(spec: Spec, rules: Rules, until: float | None) -> Iterator[Unkept]:
    """What may stand in the way if no layout is right at all."""
    if spec.empty or spec.fixed:
        yield Unkept("cells", None, None)
    if any(ask.at or ask.faces for ask in spec.pins.values()):
        yield Unkept("pins", None, None)
    if spec.stack is not None and spec.stack.pitch is not None:
        left = None if until is None else max(0.0, until - time.monotonic())
        closest = compose(
            spec.replace(stack=replace(spec.stack, pitch=None)), rules=rules, time_limit_s=left
        )
        found = closest.layout.stack if closest.layout is not None else None
        yield Unkept("pitch", spec.stack.pitch, None if found is None else found.pitch)
