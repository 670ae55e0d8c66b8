"""Layouts of a store that answer a question, whatever question they were found for.

A layout found under other limits may also keep the limits asked now. Its inputs may have to be
exchanged; its mirror images and turns are tried as well. The simulator has the last word on each.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from synth.layout import Layout
from synth.layout.transform import IDENTITY, Symmetry, images_of
from synth.library.canonical import Canonical, renamed, same_orders
from synth.library.entry import BeyondSize, Entry
from synth.library.store import Store
from synth.medium import Rules
from synth.questions.measures import within
from synth.questions.problem import Problem
from synth.simulator import check
from synth.simulator.demands import demand_faults
from synth.simulator.made_for import made_for
from synth.simulator.verdict import Verdict
from synth.spec import Limits, Spec

MOST_ORDERS = 720
"""The most orders of inputs tried for one layout: all orders of up to six inputs."""


@dataclass(frozen=True)
class Match:
    """A layout that does what is asked.

    Attributes:
        entry: the entry that it comes from.
        layout: the layout, with the names asked.
        symmetry: how it was mirrored and turned.
        verdict: the simulator's verdict on it.
        beyond: whether it lies beyond the limits of its entry's own question.
    """

    entry: Entry
    layout: Layout
    symmetry: Symmetry
    verdict: Verdict
    beyond: bool = False

    @property
    def turned(self) -> bool:
        """Whether it was mirrored or turned."""
        return self.symmetry != IDENTITY


def matches(
    store: Store,
    problem: Problem,
) -> Iterator[Match]:
    """Layouts of a store that answer a question, the best by the measures first.

    Each entry gives at most one layout: its answer, or what lies beyond its own limits, which may
    keep those asked now. They are worked out one by one, as the caller goes on.
    """
    spec = problem.spec
    measures = ((entry, entry.beyond or entry) for entry in store.entries_like(spec))
    entries = [(entry, own) for entry, own in measures if _may_keep(own, spec)]

    def rank(pair: tuple[Entry, Entry | BeyondSize]) -> tuple[int, ...]:
        entry, own = pair
        names = (*problem.measures, "volume", "parts", "delay")
        return (*(getattr(own, name) or 0 for name in names), entry.number)

    for entry, _ in sorted(entries, key=rank):
        match = _match(store, entry, spec, problem.rules)
        if match is not None:
            yield match


def implied(
    store: Store,
    problem: Problem,
) -> Entry | None:
    """A final answer to the same question under wider limits that also answers this one.

    What is impossible under wider limits is impossible under these; the smallest under wider
    limits is the smallest under these if it keeps them. A question that names cells has a box of
    exactly its limits, so wider limits do not help it.
    """
    asked, _ = Canonical.of(problem)
    spec = problem.spec
    if spec.empty or spec.fixed:
        return None
    bare = Canonical(asked.problem.under(Limits()))
    for entry in store.entries_like(spec):
        if not entry.proven or (entry.status == "found" and entry.minimize != asked.minimize):
            continue
        if entry.status == "found" and not _keeps(entry, asked.spec.limits):
            continue
        other = store.asked(entry.number)
        same = Canonical(replace(other.problem.under(Limits()), measures=asked.minimize))
        # The key includes the version of the encoding, so an answer from another version is none.
        if other.key == entry.key and same == bare and _wider(other.spec.limits, asked.spec.limits):
            return entry
    return None


def _wider(wide: Limits, narrow: Limits) -> bool:
    """Whether every layout within the narrow limits is within the wide ones."""
    return within(lambda name: getattr(narrow, name), wide)


def _keeps(entry: Entry | BeyondSize, limits: Limits) -> bool:
    """Whether the layout of an entry keeps limits as it is, without mirroring or turning."""
    return within(lambda name: getattr(entry, name, None), limits)


def _may_keep(entry: Entry | BeyondSize, spec: Spec) -> bool:
    """Whether an entry's layout could keep the limits asked, judging by its measures alone."""
    if entry.length is None or entry.width is None or entry.delay is None:
        return False
    limits = spec.limits
    sides = sorted((entry.length, entry.width))
    most = sorted(256 if side is None else side for side in (limits.length, limits.width))
    if sides[0] > most[0] or sides[1] > most[1]:
        return False
    return _keeps(entry, replace(limits, length=None, width=None, link_delay=None))


def _match(store: Store, entry: Entry, spec: Spec, rules: Rules) -> Match | None:
    known = store.answer(entry.key) if entry.beyond is None else store.beyond(entry.number)
    own = None if known is None else known.layout
    if own is None:
        return None
    function = store.asked(entry.number).spec.function
    if {pin.name for pin in own.pins} != {*function.inputs, *function.outputs}:
        return None  # The entry was changed; 'library verify' reports it.
    for order in islice(same_orders(function, spec.function), MOST_ORDERS):
        names = {
            function.inputs[old]: new for old, new in zip(order, spec.function.inputs, strict=True)
        }
        names |= dict(zip(function.outputs, spec.function.outputs, strict=True))
        named = renamed(own, names, spec.name, spec.pin_names)
        for symmetry in images_of(named):
            layout = symmetry(named)
            # A quick test that rules out most images; the simulator judges the rest in full.
            if any(demand_faults(layout, spec)):
                continue
            verdict = check(layout, spec, rules=rules)
            if verdict.passes:
                most = entry.delay_asked if spec.limits.delay is None else spec.limits.delay
                layout = layout.replace(made_for=made_for(spec.function, most))
                beyond = entry.beyond is not None
                return Match(entry, layout, symmetry, verdict, beyond)
    return None
