"""Composing: every construction makes what it can, the simulator judges, the best one wins."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from synth.composing.asked import Order
from synth.composing.canvas import Unbuildable
from synth.composing.composition import (
    Attempt,
    Composition,
    Unkept,
    measure,
    nearest_of,
    unkept_by,
)
from synth.composing.constructions import CONSTRUCTIONS, Construction
from synth.composing.fitting import Frame, fitted, frames
from synth.composing.network import Network, networks_of
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, RuleId, Rules
from synth.simulator import check
from synth.spec import Spec

MOST_CELLS = 200_000
"""Largest box that is judged, in cells: what a layout document may hold."""

LONGEST = 256
"""Longest side of a box that is judged, in cells, for the same reason."""


@dataclass(frozen=True)
class Draft:
    """A layout that waits for judgement."""

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
) -> Composition:
    """A right layout of a specification, by construction, and judged by the simulator.

    Args:
        spec: what is asked.
        measures: what is better, the first counts most (section 9).
        rules: the rule table.
        time_limit_s: no further layout is judged after so many seconds, once one is right.
        known: right layouts from elsewhere with the pins of the specification; they
            compete like all others and are judged like all others.
        constructions: what competes.

    Returns:
        The best layout that keeps every limit, or what comes nearest and which limits that
        does not keep. What the simulator rejects is never among them.
    """
    started = time.monotonic()
    until = None if time_limit_s is None else started + time_limit_s
    drafts, failed = _drafts(spec, rules, constructions)
    drafts += [Draft("known", "", layout) for layout in known]
    drafts.sort(key=lambda draft: _promise(draft, spec, measures))
    attempts: list[Attempt] = list(failed)
    best: Attempt | None = None
    for draft in drafts:
        late = until is not None and time.monotonic() >= until
        hopeless = best is not None and not _may_beat(draft, best, measures)
        if (late and any(attempt.right for attempt in attempts)) or hopeless:
            attempts.append(_unjudged(draft, "not judged: " + ("late" if late else "no better")))
            continue
        attempt = judged(draft, spec, rules)
        attempts.append(attempt)
        if attempt.right and not attempt.broken(spec.limits):
            if best is None or _key(attempt, measures) < _key(best, measures):
                best = attempt
    nearest = None if best is not None else nearest_of(attempts, spec.limits)
    unkept = unkept_by(nearest, spec.limits)
    if best is None and nearest is None:
        unkept = tuple(_what_is_no_measure(spec))
    return Composition(spec, best, nearest, unkept, tuple(attempts), time.monotonic() - started)


def judged(draft: Draft, spec: Spec, rules: Rules) -> Attempt:
    """A draft with the simulator's verdict.

    Limits on measures are no fault here; which are kept is for ``Attempt.broken`` to say. What
    is known at a tick stays known, so a layout that stacks at its own delay does at any longer.
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


def _drafts(
    spec: Spec, rules: Rules, constructions: Sequence[Construction]
) -> tuple[list[Draft], list[Attempt]]:
    drafts: list[Draft] = []
    failed: list[Attempt] = []
    networks = networks_of(spec.function)
    seen: set[Layout] = set()
    for construction, frame, order in _orders(spec, rules, networks, constructions):
        note = f"{len(order.network.products)} products, {len(order.network.terms)} terms"
        try:
            painted = construction.build(order)
            for layout in fitted(painted, spec, frame):
                if layout not in seen:
                    seen.add(layout)
                    drafts.append(Draft(construction.name, note, layout))
        except Unbuildable as error:
            failed.append(Attempt(construction.name, note, None, None, str(error)))
    return drafts, failed


def _orders(
    spec: Spec, rules: Rules, networks: Sequence[Network], constructions: Sequence[Construction]
) -> Iterator[tuple[Construction, Frame, Order]]:
    joints = {name: spec.joint(name) for name in spec.pin_names}
    for frame in frames(spec):
        for sides in frame.choices():
            for network in networks:
                order = Order(network, sides, joints, rules, frame.stack, spec.ground)
                for construction in constructions:
                    yield construction, frame, order


def _promise(draft: Draft, spec: Spec, measures: Sequence[str]) -> tuple[int, ...]:
    """What comes first: drafts that keep the limits on their box, then by the measures."""
    unjudged = _unjudged(draft, "")
    limits = replace(spec.limits, delay=None)
    known = [name for name in (*measures, "volume", "parts") if name != "delay"]
    return (len(unjudged.broken(limits)), *(unjudged.measure(name) or 0 for name in known))


def _may_beat(draft: Draft, best: Attempt, measures: Sequence[str]) -> bool:
    """Whether a draft may be better than the best, for all that is known before it is judged."""
    for name in measures:
        if name == "delay":
            return True
        mine, its = measure(draft.layout, None, name), best.measure(name)
        if mine is None or its is None or mine != its:
            return mine is None or its is None or mine < its
    return False


def _key(attempt: Attempt, measures: Sequence[str]) -> tuple[int, ...]:
    order = dict.fromkeys((*measures, "volume", "delay", "parts"))
    values = (attempt.measure(name) for name in order)
    return tuple(1 << 30 if value is None else value for value in values)


def _what_is_no_measure(spec: Spec) -> Iterator[Unkept]:
    """What may stand in the way where no layout is right at all."""
    if spec.empty or spec.fixed:
        yield Unkept("cells", None, None)
    if any(ask.at or ask.faces for ask in spec.pins.values()):
        yield Unkept("pins", None, None)
    if spec.stack is not None and spec.stack.pitch is not None:
        yield Unkept("pitch", spec.stack.pitch, None)
