"""Layouts of a store that do what is asked, whatever they were found for.

A layout found under other limits may keep those asked now; its inputs may have to trade places,
and its mirror images and turns do the same. The simulator has the last word on each.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from synth.layout import Layout
from synth.layout.transform import ALL_SYMMETRIES, IDENTITY, Symmetry
from synth.library.canonical import Canonical, same_orders
from synth.library.entry import Entry
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
"""Orders of inputs tried for one layout: all of them up to six inputs."""


@dataclass(frozen=True)
class Match:
    """A layout that does what is asked.

    Attributes:
        entry: where it comes from.
        layout: with the names asked.
        symmetry: how it was mirrored and turned.
        verdict: the simulator's verdict on it.
    """

    entry: Entry
    layout: Layout
    symmetry: Symmetry
    verdict: Verdict

    @property
    def turned(self) -> bool:
        """Whether it is not as it lies in the store."""
        return self.symmetry != IDENTITY


def matches(
    store: Store,
    problem: Problem,
) -> Iterator[Match]:
    """Layouts of a store that do what is asked, the best by the measures first.

    An entry gives at most one. Each is worked out when it is asked for.
    """
    spec = problem.spec
    entries = [entry for entry in store.entries_like(spec) if _may_keep(entry, spec)]

    def rank(entry: Entry) -> tuple[int, ...]:
        names = (*problem.measures, "volume", "parts", "delay")
        return (*(getattr(entry, name) or 0 for name in names), entry.number)

    for entry in sorted(entries, key=rank):
        match = _match(store, entry, spec, problem.rules)
        if match is not None:
            yield match


def implied(
    store: Store,
    problem: Problem,
) -> Entry | None:
    """An answer for good to the same question under wider limits that answers this one, too.

    What is impossible under wider limits is impossible under these; the smallest under wider
    limits is the smallest under these if it keeps them. A question about cells has its box
    exactly as large as its limits: for such there is none.
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
        # Its key was made when it was kept: with another encoding it is another question.
        if other.key == entry.key and same == bare and _wider(other.spec.limits, asked.spec.limits):
            return entry
    return None


def _wider(wide: Limits, narrow: Limits) -> bool:
    """Whether all that keeps the narrow limits keeps the wide ones."""
    return within(lambda name: getattr(narrow, name), wide)


def _keeps(entry: Entry, limits: Limits) -> bool:
    """Whether the layout of an entry, as it lies, keeps limits."""
    return within(lambda name: getattr(entry, name, None), limits)


def _may_keep(entry: Entry, spec: Spec) -> bool:
    """Whether an entry's layout may keep the limits asked, as far as its measures tell."""
    if entry.length is None or entry.width is None or entry.delay is None:
        return False
    limits = spec.limits
    sides = sorted((entry.length, entry.width))
    most = sorted(256 if side is None else side for side in (limits.length, limits.width))
    if sides[0] > most[0] or sides[1] > most[1]:
        return False
    return _keeps(entry, replace(limits, length=None, width=None, link_delay=None))


def _match(store: Store, entry: Entry, spec: Spec, rules: Rules) -> Match | None:
    answer = store.answer(entry.key)
    if answer is None or answer.layout is None:
        return None
    function = store.asked(entry.number).spec.function
    if {pin.name for pin in answer.layout.pins} != {*function.inputs, *function.outputs}:
        return None  # It was changed; 'library verify' says so.
    for order in islice(same_orders(function, spec.function), MOST_ORDERS):
        names = {
            function.inputs[old]: new for old, new in zip(order, spec.function.inputs, strict=True)
        }
        names |= dict(zip(function.outputs, spec.function.outputs, strict=True))
        named = _named(answer.layout, names, spec)
        for symmetry in ALL_SYMMETRIES:
            layout = symmetry(named)
            # Quick to see, and rules out most images; the simulator asks it all again.
            if any(demand_faults(layout, spec)):
                continue
            verdict = check(layout, spec, rules=rules)
            if verdict.passes:
                most = entry.delay_asked if spec.limits.delay is None else spec.limits.delay
                layout = layout.replace(made_for=made_for(spec.function, most))
                return Match(entry, layout, symmetry, verdict)
    return None


def _named(layout: Layout, names: dict[str, str], spec: Spec) -> Layout:
    """The layout with the names and order of pins of a specification."""
    pins = [replace(pin, name=names[pin.name]) for pin in layout.pins]
    pins.sort(key=lambda pin: spec.pin_names.index(pin.name))
    return layout.replace(pins=tuple(pins), name=spec.name, made_for=None)
