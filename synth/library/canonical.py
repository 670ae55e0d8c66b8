"""What was asked, in a form that does not depend on names and on the order of inputs.

Two specifications ask the same if one becomes the other when its pins are renamed and its inputs,
each with the demands on its pin, are reordered. The canonical form renames inputs to
``x1, x2, ...`` and outputs to ``y1, y2, ...``, and puts the inputs in an order that depends only on
what is asked (``canonical_order``). Outputs keep their order. Limits that are left open are filled
in with those that the search assumes.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, TypeVar

from synth import fields
from synth.encoding import ENCODING_VERSION
from synth.errors import InputError
from synth.layout import Layout, Stack
from synth.medium import ChainLink, Rules
from synth.medium_document import read_rules, rules_entry
from synth.questions.candidates import assumed_limits, of_every_box
from synth.questions.measures import parse_measures
from synth.questions.problem import Problem
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand
from synth.spec.writing import spec_document, write_spec

ASKED_KEYS = ("spec", "minimize", "rules", "encoding")
"""The keys of a question's document."""


@dataclass(frozen=True)
class Naming:
    """Which canonical name stands for which name of the specification asked.

    Attributes:
        asked: the name in the specification of each canonical name.
        name: the specification's own name, which returned layouts carry.
        order: the pins of the specification, in its order.
    """

    asked: Mapping[str, str]
    name: str | None
    order: tuple[str, ...]

    def to_asked(self, layout: Layout) -> Layout:
        """A canonical layout, renamed to the names asked."""
        return renamed(layout, self.asked, self.name, self.order)

    def to_canonical(self, layout: Layout) -> Layout:
        """A layout with the names asked, renamed to canonical ones.

        What it was made for is left out: the question that it is stored with says that.
        """
        names = {asked: canonical for canonical, asked in self.asked.items()}
        return renamed(layout, names, None, tuple(self.asked))


def renamed(
    layout: Layout, names: Mapping[str, str], name: str | None, order: tuple[str, ...]
) -> Layout:
    """A layout with other names of its pins, in another order; what it was made for is left out."""
    pins = [replace(pin, name=names[pin.name]) for pin in layout.pins]
    pins.sort(key=lambda pin: order.index(pin.name))
    return Layout(
        size=layout.size,
        cells=layout.cells,
        pins=tuple(pins),
        stack=_renamed_chain(layout.stack, names),
        ground=layout.ground,
        name=name,
    )


S = TypeVar("S", Stack, StackDemand)


def _renamed_chain(stack: S | None, names: Mapping[str, str]) -> S | None:
    if stack is None:
        return None
    links = (ChainLink(names[link.output], names[link.input]) for link in stack.chain)
    return replace(stack, chain=tuple(links))


@dataclass(frozen=True)
class Canonical:
    """A question in canonical form.

    Attributes:
        problem: the problem with a renamed specification that has no name and description, and
            states its joints, faces and limits explicitly.
    """

    problem: Problem

    @property
    def spec(self) -> Spec:
        """The specification, renamed."""
        return self.problem.spec

    @property
    def minimize(self) -> tuple[str, ...]:
        """The measures, in order."""
        return self.problem.measures

    @property
    def rules(self) -> Rules:
        """The rule table."""
        return self.problem.rules

    @staticmethod
    def of(problem: Problem) -> tuple[Canonical, Naming]:
        """The canonical form of a problem, and the naming that leads to it."""
        spec = problem.spec
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
            limits=assumed_limits(spec.limits)[0],
            pins={new: _said_outright(spec, old) for new, old in names.items()},
            stack=_renamed_chain(spec.stack, {old: new for new, old in names.items()}),
            ground=spec.ground,
            empty=spec.empty,
            fixed=spec.fixed,
        )
        asked = Canonical(replace(problem, spec=canonical))
        return asked, Naming(names, spec.name, spec.pin_names)

    @staticmethod
    def from_document(document: Any) -> Canonical:
        """The question of a document that ``document`` wrote.

        Raises:
            InputError: if it is not such a document, naming the place.
        """
        from synth.spec.documents import read_spec

        entry = fields.table(document, None)
        fields.check_keys(entry, ASKED_KEYS, None, required=ASKED_KEYS)
        spec = read_spec(entry["spec"])
        for name in ("length", "width", "height", "delay"):
            if getattr(spec.limits, name) is None:
                raise InputError(f"no limit on {name}", place="spec.limits")
        measures = parse_measures(fields.words(entry["minimize"], "minimize"))
        return Canonical(Problem(spec, measures, read_rules(fields.table(entry["rules"], "rules"))))

    def under(self, limits: Limits) -> Canonical:
        """The same question under other limits; those left open are assumed.

        This is much quicker than working out each canonical form anew, which does not depend on
        the limits.
        """
        spec = self.spec.replace(limits=assumed_limits(limits)[0])
        other = Canonical(replace(self.problem, spec=spec))
        other.__dict__["_unlimited"] = self._unlimited
        return other

    @cached_property
    def _unlimited(self) -> dict[str, Any]:
        """The document of the specification without limits."""
        return spec_document(self.spec.replace(limits=Limits()))

    def _spec_under(self, limits: Limits) -> dict[str, Any]:
        """The document of the specification under limits, as ``spec_document`` writes it."""
        asked = {key: value for key, value in asdict(limits).items() if value is not None}
        return self._unlimited | {"limits": asked} if asked else self._unlimited

    def document(self) -> dict[str, Any]:
        """A document of everything that an answer depends on."""
        return {
            "spec": self._spec_under(self.spec.limits),
            "minimize": list(self.minimize),
            "rules": rules_entry(self.rules),
            "encoding": ENCODING_VERSION,
        }

    @cached_property
    def key(self) -> str:
        """The key of the question: equal only for equal questions (SHA-256, in hexadecimal)."""
        return _digest(self.document())

    @cached_property
    def box_key(self) -> str:
        """The key of what answers about single boxes depend on: all but limits and measures.

        The bounds on parts and link delay stay: an answer of the walk is about layouts within them.
        """
        limits = of_every_box(self.spec.limits)
        document = self.document() | {"spec": self._spec_under(limits)}
        del document["minimize"]
        return _digest(document)

    @property
    def toml(self) -> str:
        """The canonical specification as TOML."""
        return write_spec(self.spec)


def _said_outright(spec: Spec, name: str) -> PinDemand:
    ask = spec.pins[name]
    faces = tuple(sorted(spec.faces(name), key=str))
    return PinDemand(faces, ask.at, spec.joint(name))


def _digest(document: Mapping[str, Any]) -> str:
    text = json.dumps(document, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def function_key(function: BooleanFunction) -> str:
    """The key of a function up to the order of its inputs and the names of its pins."""
    plain = Spec(function)
    table = list(reordered(function, canonical_order(plain)).outputs.values())
    return _digest({"inputs": len(function.inputs), "table": table})


def reordered(function: BooleanFunction, order: tuple[int, ...]) -> BooleanFunction:
    """The function with its inputs in another order: input ``i`` becomes the old ``order[i]``."""
    return BooleanFunction(
        tuple(function.inputs[old] for old in order), function.permuted(order).outputs
    )


def canonical_order(spec: Spec) -> tuple[int, ...]:
    """The order of the inputs that makes the canonical form.

    Inputs are sorted by the demands on their pins. Among inputs with equal demands, the order is
    chosen from the last to the first: the last ``k`` inputs alone decide the first ``2**k`` rows of
    the truth table, so only the choices with the least rows so far are pursued.
    """
    keys = [_ask_key(spec, name) for name in spec.function.inputs]
    ranks = sorted(set(keys))
    return _canonical_order(spec.function, tuple(ranks.index(key) for key in keys))


@lru_cache(maxsize=1 << 14)
def _canonical_order(function: BooleanFunction, asks: tuple[int, ...]) -> tuple[int, ...]:
    """``canonical_order`` of a function; inputs with equal numbers in ``asks`` may be reordered."""
    chosen: list[tuple[int, ...]] = [()]
    for ask in sorted(asks, reverse=True):
        best: list[tuple[int, ...]] = []
        least: tuple[str, ...] | None = None
        for last in chosen:
            free = (i for i, own in enumerate(asks) if own == ask and i not in last)
            for index in _told_apart(function, free):
                rows = _rows_of_last(function, (index, *last))
                if least is None or rows < least:
                    best, least = [], rows
                if rows == least:
                    best.append((index, *last))
        chosen = best
    return chosen[0]


def _ask_key(spec: Spec, name: str) -> tuple[Any, ...]:
    ask = _said_outright(spec, name)
    # Of two links the inputs are told apart by their outputs, which keep their order.
    outputs = list(spec.function.outputs)
    link = next((outputs.index(one.output) for one in spec.chain if one.input == name), -1)
    return (tuple(map(str, ask.faces or ())), ask.at or (), str(ask.joint), link)


def _rows_of_last(function: BooleanFunction, last: tuple[int, ...]) -> tuple[str, ...]:
    """For each output, the rows in which only inputs of ``last`` are on, counted in its order."""
    count = len(function.inputs)
    rows = [0]
    for index in reversed(last):
        rows += [row | 1 << (count - 1 - index) for row in rows]
    return tuple("".join(column[row] for row in rows) for column in function.outputs.values())


def _told_apart(function: BooleanFunction, inputs: Iterable[int]) -> list[int]:
    """One input of each set whose members can be exchanged without changing the function."""
    kept: list[int] = []
    for index in inputs:
        if not any(_exchange_changes_nothing(function, other, index) for other in kept):
            kept.append(index)
    return kept


def _exchange_changes_nothing(function: BooleanFunction, first: int, second: int) -> bool:
    count = len(function.inputs)
    one, two = 1 << (count - 1 - first), 1 << (count - 1 - second)
    return all(
        column[row | one] == column[row | two]
        for column in function.outputs.values()
        for row in range(1 << count)
        if not row & (one | two)
    )


def same_orders(function: BooleanFunction, other: BooleanFunction) -> Iterator[tuple[int, ...]]:
    """Every order of ``function``'s inputs in which its columns are those of ``other``.

    ``order[i]`` is the input that corresponds to ``other``'s input ``i``.
    """
    count = len(function.inputs)
    if count != len(other.inputs) or len(function.outputs) != len(other.outputs):
        return
    own = tuple(range(count))

    def orders(last: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        theirs = _rows_of_last(other, own[count - len(last) :])
        if _rows_of_last(function, last) != theirs:
            return
        if len(last) == count:
            yield last
            return
        for index in own:
            if index not in last:
                yield from orders((index, *last))

    yield from orders(())
