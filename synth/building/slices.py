"""Slices for rows: kept ones, those of a store, or such as a search finds.

Kept with the package are slices of adders, comparators and the like (``kept/``), two cells wide,
chained along x, with buffer joints. They were found by this program, and are used like any start:
nothing is claimed of them, and the row made of them is judged and proven like every layout.
``python -m benchmarks.kept_slices`` finds them anew.
"""

from __future__ import annotations

import json
from functools import cache
from importlib import resources
from itertools import permutations

from synth.circuits.iterative import LINK_IN, LINK_OUT
from synth.layout import Layout
from synth.library.canonical import renamed
from synth.library.starting import starts
from synth.library.store import Store
from synth.medium import DEFAULT_RULES, ChainLink, Joint, Rules
from synth.questions.problem import Problem
from synth.search.walk.solve import solve
from synth.simulator.made_for import spec_made_for
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand

WIDTH, DELAY = 2, 24
"""Of the slices that are looked for, in cells and ticks: narrow ones are shrunk soonest."""

LINK = ChainLink(LINK_OUT, LINK_IN)


def slice_spec(function: BooleanFunction, joint: Joint) -> Spec:
    """What a slice of a row has to be, with pins of a joint besides its link."""
    own = {*function.inputs, *function.outputs} - {LINK_IN, LINK_OUT}
    return Spec(
        function,
        limits=Limits(width=WIDTH, delay=DELAY),
        pins={name: PinDemand(joint=joint) for name in own},
        stack=StackDemand("x", chain=(LINK,)),
    )


def kept(function: BooleanFunction, joint: Joint, rules: Rules) -> list[Layout]:
    """The slices of a function that are kept with the package, the smallest first."""
    if joint is not Joint.BUFFER or rules != DEFAULT_RULES:
        return []
    found = []
    for layout, own in _all_kept():
        names = _names(own, function)
        if names is not None:
            order = (*function.inputs, *function.outputs)
            found.append(renamed(layout, names, None, order))
    return sorted(found, key=lambda layout: layout.volume)


def stored(
    function: BooleanFunction, joint: Joint, rules: Rules, store: Store | None
) -> list[Layout]:
    """The slices of a function in a store."""
    if store is None:
        return []
    spec = slice_spec(function, joint)
    return list(starts(store, Problem(spec, rules=rules), Limits()))


def searched(
    function: BooleanFunction,
    joint: Joint,
    rules: Rules,
    *,
    seconds: float,
    seed: int,
    workers: int,
) -> list[Layout]:
    """The smallest slice that a search finds in so many seconds, if it finds one."""
    outcome = solve(
        slice_spec(function, joint),
        time_limit_s=seconds,
        seed=seed,
        workers=workers,
        rules=rules,
        fewest_parts=False,
    )
    return [] if outcome.layout is None else [outcome.layout]


@cache
def _all_kept() -> tuple[tuple[Layout, BooleanFunction], ...]:
    """Every slice that is kept, with what it computes."""
    found = []
    folder = resources.files("synth.building") / "kept"
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if entry.name.endswith(".json"):
            layout = Layout.from_document(json.loads(entry.read_text(encoding="utf-8")))
            spec = spec_made_for(layout)
            assert spec is not None
            found.append((layout, spec.function))
    return tuple(found)


def _names(own: BooleanFunction, asked: BooleanFunction) -> dict[str, str] | None:
    """The names asked by those of a slice that does what is asked; None if it does not.

    The link of a slice is its last input and its last output.
    """
    sizes = len(own.inputs), len(own.outputs)
    if sizes != (len(asked.inputs), len(asked.outputs)):
        return None
    *outputs, handed = own.outputs
    *wanted, link = asked.outputs
    places = range(len(own.inputs) - 1)
    for order in permutations(places):
        turned = own.permuted((*order, len(places)))
        for chosen in permutations(outputs):
            pairs = [*zip(chosen, wanted, strict=True), (handed, link)]
            if all(_does(turned.outputs[one], asked.outputs[other]) for one, other in pairs):
                inputs = {own.inputs[order[i]]: asked.inputs[i] for i in places}
                return {**inputs, own.inputs[-1]: asked.inputs[-1], **dict(pairs)}
    return None


def _does(column: str, asked: str) -> bool:
    return all(want in ("-", own) for own, want in zip(column, asked, strict=True))
