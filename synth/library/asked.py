"""What was asked, in a form that does not depend on names and on the order of inputs.

Two specifications ask the same if one turns into the other by renaming pins and by putting the
inputs, each with what is asked of its pin, in another order. The canonical form renames inputs to
``x1, x2, ...`` and outputs to ``y1, y2, ...``, and takes that order of the inputs whose document
comes first. Outputs keep their order.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from synth.encoding import ENCODING_VERSION
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.spec import BooleanFunction, Limits, PinAsk, Spec
from synth.spec.writing import spec_document, write_spec


@dataclass(frozen=True)
class Naming:
    """Which canonical name stands for which name of the specification asked.

    Attributes:
        asked: the asked name of each canonical one.
        name: the specification's own name, which layouts given back carry.
        order: the asked pins in their order.
    """

    asked: Mapping[str, str]
    name: str | None
    order: tuple[str, ...]

    def to_asked(self, layout: Layout) -> Layout:
        """A canonical layout with the names asked."""
        return _renamed(layout, self.asked, self.name, self.order)

    def to_canonical(self, layout: Layout) -> Layout:
        """A layout with the names asked, with canonical ones."""
        names = {asked: canonical for canonical, asked in self.asked.items()}
        return _renamed(layout, names, None, tuple(self.asked))


def _renamed(
    layout: Layout, names: Mapping[str, str], name: str | None, order: tuple[str, ...]
) -> Layout:
    pins = [replace(pin, name=names[pin.name]) for pin in layout.pins]
    pins.sort(key=lambda pin: order.index(pin.name))
    return Layout(
        size=layout.size,
        cells=layout.cells,
        pins=tuple(pins),
        stack=layout.stack,
        ground=layout.ground,
        name=name,
    )


@dataclass(frozen=True)
class Asked:
    """A question in canonical form.

    Attributes:
        spec: the specification, renamed, without name and description; joints and faces
            are said outright.
        minimize: the measures, in order.
        rules: the rule table.
    """

    spec: Spec
    minimize: tuple[str, ...]
    rules: Rules = DEFAULT_RULES

    @staticmethod
    def of(
        spec: Spec, minimize: tuple[str, ...], rules: Rules = DEFAULT_RULES
    ) -> tuple[Asked, Naming]:
        """The canonical form of a question, and how its names map."""
        order = canonical_order(spec)
        inputs = tuple(f"x{number + 1}" for number in range(len(order)))
        outputs = tuple(f"y{number + 1}" for number in range(len(spec.function.outputs)))
        names = {new: spec.function.inputs[old] for new, old in zip(inputs, order, strict=True)}
        names |= dict(zip(outputs, spec.function.outputs, strict=True))
        function = reordered(spec.function, order)
        canonical = Spec(
            function=BooleanFunction(
                inputs, {new: function.outputs[names[new]] for new in outputs}
            ),
            limits=spec.limits,
            pins={new: _said_outright(spec, old) for new, old in names.items()},
            stack=spec.stack,
            ground=spec.ground,
            empty=spec.empty,
            fixed=spec.fixed,
        )
        return Asked(canonical, tuple(minimize), rules), Naming(names, spec.name, spec.pin_names)

    @staticmethod
    def from_document(document: Mapping[str, Any]) -> Asked:
        """The question of a document that ``document`` wrote."""
        from synth.spec.documents import read_spec

        rules = Rules(
            reach=document["rules"]["reach"],
            buffer_delays=tuple(document["rules"]["buffer_delays"]),
        )
        return Asked(read_spec(document["spec"]), tuple(document["minimize"]), rules)

    def document(self) -> dict[str, Any]:
        """All that an answer depends on."""
        return {
            "spec": spec_document(self.spec),
            "minimize": list(self.minimize),
            "rules": {
                "reach": self.rules.reach,
                "buffer_delays": list(self.rules.buffer_delays),
            },
            "encoding": ENCODING_VERSION,
        }

    @cached_property
    def key(self) -> str:
        """Names the question: equal for equal questions only (SHA-256, in hexadecimal)."""
        return _digest(self.document())

    @cached_property
    def box_key(self) -> str:
        """Names what answers about single boxes depend on: all but limits and measures.

        The bound on parts stays: an answer of the walk is about layouts within it.
        """
        limits = Limits(parts=self.spec.limits.parts)
        document = self.document() | {"spec": spec_document(self.spec.replace(limits=limits))}
        del document["minimize"]
        return _digest(document)

    @property
    def toml(self) -> str:
        """The canonical specification as TOML."""
        return write_spec(self.spec)


def _said_outright(spec: Spec, name: str) -> PinAsk:
    ask = spec.pins[name]
    faces = tuple(sorted(spec.faces(name), key=str))
    return PinAsk(faces, ask.at, spec.joint(name))


def _digest(document: Mapping[str, Any]) -> str:
    text = json.dumps(document, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def function_key(function: BooleanFunction) -> str:
    """Names a function up to the order of its inputs and the names of its pins."""
    plain = Spec(function)
    table = list(reordered(function, canonical_order(plain)).outputs.values())
    return _digest({"inputs": len(function.inputs), "table": table})


def reordered(function: BooleanFunction, order: tuple[int, ...]) -> BooleanFunction:
    """The function with its inputs in another order: input ``i`` becomes the old ``order[i]``."""
    return BooleanFunction(
        tuple(function.inputs[old] for old in order), function.permuted(order).outputs
    )


def canonical_order(spec: Spec) -> tuple[int, ...]:
    """The order of the inputs whose specification comes first of all orders."""
    best: tuple[Any, tuple[int, ...]] | None = None
    for order in _orders(spec):
        asks = tuple(_ask_key(spec, spec.function.inputs[old]) for old in order)
        table = tuple(reordered(spec.function, order).outputs.values())
        if best is None or (asks, table) < best[0]:
            best = ((asks, table), order)
    assert best is not None
    return best[1]


def _orders(spec: Spec) -> Iterator[tuple[int, ...]]:
    """Orders that may come first: inputs by their mark, all arrangements of those marked alike.

    Inputs whose exchange changes nothing are not told apart, so that a function of eight
    inputs that may all be exchanged has one arrangement and not 40,320.
    """
    function = spec.function
    marks = [_mark(spec, index) for index in range(len(function.inputs))]
    groups: dict[Any, list[int]] = {}
    for index in sorted(range(len(marks)), key=lambda index: (marks[index], index)):
        groups.setdefault(marks[index], []).append(index)

    def arranged(remaining: list[list[int]]) -> Iterator[tuple[int, ...]]:
        if not remaining:
            yield ()
            return
        first, *rest = remaining
        for head in _arrangements(first, function):
            for tail in arranged(rest):
                yield (*head, *tail)

    return arranged(list(groups.values()))


def _mark(spec: Spec, index: int) -> tuple[Any, ...]:
    """What an order of inputs cannot change about one of them.

    The ask comes first, since asks are what orders are compared by first.
    """
    function = spec.function
    count = len(function.inputs)
    weights = []
    for column in function.outputs.values():
        on = [value for row, value in enumerate(column) if row >> (count - 1 - index) & 1]
        weights.append((on.count("1"), on.count("-")))
    return (_ask_key(spec, function.inputs[index]), tuple(weights))


def _ask_key(spec: Spec, name: str) -> tuple[Any, ...]:
    ask = _said_outright(spec, name)
    return (
        tuple(map(str, ask.faces or ())),
        ask.at or (),
        str(ask.joint),
    )


def _arrangements(inputs: list[int], function: BooleanFunction) -> Iterator[tuple[int, ...]]:
    """All orders of some inputs, those that differ by an exchange without effect once."""
    alike: list[list[int]] = []
    for index in inputs:
        for group in alike:
            if _exchange_changes_nothing(function, group[0], index):
                group.append(index)
                break
        else:
            alike.append([index])

    def placed(groups: list[list[int]]) -> Iterator[tuple[int, ...]]:
        if not any(groups):
            yield ()
            return
        for number, group in enumerate(groups):
            if group:
                rest = [*groups[:number], group[1:], *groups[number + 1 :]]
                for tail in placed(rest):
                    yield (group[0], *tail)

    return placed(alike)


def _exchange_changes_nothing(function: BooleanFunction, first: int, second: int) -> bool:
    order = list(range(len(function.inputs)))
    order[first], order[second] = second, first
    return function.permuted(tuple(order)) == function
