"""Slices for rows that are kept with the package (``kept/``).

They are of adders, comparators and the like, two cells wide at most and chained along x. They were
found by this program, and are used like any start: nothing is claimed of them, and the row made of
them is judged like every layout. ``python -m benchmarks.kept_slices`` finds them anew.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from itertools import permutations

from synth.layout import Layout
from synth.layout.pins import Stack
from synth.layout.transform import turned
from synth.medium import DEFAULT_RULES, ChainLink, Joint, Rules
from synth.simulator.made_for import spec_made_for
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand

WIDTH, DELAY = 2, 24
"""Of the slices that are looked for, in cells and ticks: narrow ones are shrunk soonest."""


@dataclass(frozen=True)
class SliceAsked:
    """What a slice of a row has to be.

    Attributes:
        function: what it computes; the inputs of its links are the last ones, in their order.
        links: how it hands signals on.
        joint: of every other pin.
        rules: the rule table.
    """

    function: BooleanFunction
    links: tuple[ChainLink, ...]
    joint: Joint = Joint.BUFFER
    rules: Rules = DEFAULT_RULES

    @property
    def spec(self) -> Spec:
        """It as a specification: chained along x."""
        linked = {name for link in self.links for name in (link.output, link.input)}
        own = {*self.function.inputs, *self.function.outputs} - linked
        return Spec(
            self.function,
            limits=Limits(width=WIDTH, delay=DELAY),
            pins={name: PinDemand(joint=self.joint) for name in own},
            stack=StackDemand("x", chain=self.links),
        )


def kept(asked: SliceAsked) -> list[Layout]:
    """The slices that are kept with the package and do what is asked, the smallest first."""
    if asked.rules != DEFAULT_RULES:
        return []
    found = []
    for layout, own in _all_kept():
        names = _names(own, layout.chain, asked)
        if names is not None and _joint(layout) is asked.joint:
            found.append(_renamed(layout, names, asked))
    return sorted(found, key=lambda layout: layout.volume)


def slices_of(spec: Spec, rules: Rules) -> Iterator[Layout]:
    """The slices that are kept for a chain, as a specification has it along x or y.

    Of what it asks only the function, the links and the joints are read. Nothing is judged.
    """
    stack = spec.stack
    joints = {spec.joint(name) for name in spec.pin_names if not spec.linked(name)}
    if stack is None or not spec.chain or len(joints) != 1:
        return
    (joint,) = joints
    for layout in kept(SliceAsked(spec.function, spec.chain, joint, rules)):
        # What needs no ground stands on it as well.
        own = layout.replace(ground=spec.ground)
        yield own if stack.axis == "x" else turned(own)


@cache
def _all_kept() -> tuple[tuple[Layout, BooleanFunction], ...]:
    """Every slice that is kept, with what it computes."""
    found = []
    folder = resources.files("synth.composing") / "kept"
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if entry.name.endswith(".json"):
            layout = Layout.from_document(json.loads(entry.read_text(encoding="utf-8")))
            spec = spec_made_for(layout)
            assert spec is not None
            found.append((layout, spec.function))
    return tuple(found)


def _joint(layout: Layout) -> Joint:
    """Of the pins that are of no link; of several kinds there are none."""
    assert layout.stack is not None
    return next(pin.joint for pin in layout.pins if not layout.stack.linked(pin.name))


def _renamed(layout: Layout, names: Mapping[str, str], asked: SliceAsked) -> Layout:
    """A slice with other names of its pins, in the order asked."""
    assert layout.stack is not None
    order = (*asked.function.inputs, *asked.function.outputs)
    pins = (replace(pin, name=names[pin.name]) for pin in layout.pins if pin.name in names)
    return layout.replace(
        pins=tuple(sorted(pins, key=lambda pin: order.index(pin.name))),
        stack=Stack(layout.stack.axis, layout.stack.pitch, asked.links),
        name=None,
        made_for=None,
    )


def _names(
    own: BooleanFunction, chain: tuple[ChainLink, ...], asked: SliceAsked
) -> dict[str, str] | None:
    """The names asked by those of a slice that does what is asked; None if it does not.

    Outputs that nobody asks for have none.
    """
    counts = len(own.inputs), len(chain)
    if counts != (len(asked.function.inputs), len(asked.links)):
        return None
    inputs, outputs = _besides(own, chain)
    own_inputs, own_outputs = _besides(asked.function, asked.links)
    for links in permutations(asked.links):
        pairs = list(zip(chain, links, strict=True))
        linked = {one.input: other.input for one, other in pairs}
        handed = {one.output: other.output for one, other in pairs}
        for order in permutations(own_inputs):
            names = {**dict(zip(inputs, order, strict=True)), **linked}
            columns = _columns(own, names, asked.function.inputs)
            for shown in permutations(outputs, len(own_outputs)):
                called = {**dict(zip(shown, own_outputs, strict=True)), **handed}
                if all(_does(columns[one], asked.function.outputs[called[one]]) for one in called):
                    return names | called
    return None


def _besides(
    function: BooleanFunction, links: tuple[ChainLink, ...]
) -> tuple[list[str], list[str]]:
    """The inputs and outputs that are of no link."""
    linked = {name for link in links for name in (link.output, link.input)}
    inputs = [name for name in function.inputs if name not in linked]
    return inputs, [name for name in function.outputs if name not in linked]


def _columns(
    function: BooleanFunction, names: dict[str, str], order: tuple[str, ...]
) -> Mapping[str, str]:
    """The columns of a function whose inputs are renamed, for the new names in an order."""
    place = {names[name]: index for index, name in enumerate(function.inputs)}
    return function.permuted(tuple(place[name] for name in order)).outputs


def _does(column: str, asked: str) -> bool:
    return all(want in ("-", own) for own, want in zip(column, asked, strict=True))
