"""What the catalogue shows: answers of a store, gathered by gate.

A gate is a function up to the order of its inputs. All of its answers, whatever was asked of the
layout, stand on one page.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property

from synth.layout import Layout
from synth.library import Entry
from synth.library.canonical import canonical_order, function_key, reordered
from synth.medium import DEFAULT_RULES, Rules
from synth.questions.box import BoxQuestion
from synth.spec import BooleanFunction, Spec
from synth.spec.function_names import FUNCTION_NAMES
from synth.spec.function_text import function_text
from synth.spec.targets import load_target, target_names

MEASURES = ("volume", "floor", "parts", "length", "width", "height")
"""Measures of a layout that a plot against delay can show (section 9)."""

LONGEST_SLUG = 40
"""Most characters of a table in a file name; longer ones are hashed."""


@dataclass(frozen=True, slots=True)
class Item:
    """One answer with its layout, specification and claim.

    Attributes:
        entry: its entry in the store.
        layout: the layout, or None where there is none.
        specification: what was asked, as TOML text.
        claim: the claim that nothing is smaller, in a sentence; may be empty.
        rules: the rule table of the question, with which the layout is played.
        ruled_out: the boxes known to hold no layout of what was asked.
        lower_too: whether each of them answers for the lower ones of its length and width.
        beyond: where there is no layout, the best one known beyond the limits asked, or None.
        within: for that, the limits of space that it breaks: ``5 x 2 x 5``.
    """

    entry: Entry
    layout: Layout | None
    specification: str
    claim: str = ""
    rules: Rules = DEFAULT_RULES
    ruled_out: tuple[BoxQuestion, ...] = ()
    lower_too: bool = False
    beyond: Layout | None = None
    within: str = ""

    @property
    def number(self) -> int:
        """Its number in the store, which names its files."""
        return self.entry.number

    @property
    def measure(self) -> str:
        """The measure that was minimized first."""
        return self.entry.minimize[0] if self.entry.minimize else "volume"

    @property
    def kind(self) -> tuple[str, str, str]:
        """Stacking, joints and measure: answers of one kind stand in one plot."""
        measure = self.measure if self.measure in MEASURES else "volume"
        return (self.entry.stack, self.entry.joints, measure)


@dataclass(frozen=True)
class Gate:
    """A function up to the order of its inputs, and all answers about it.

    Attributes:
        inputs: how many inputs it has.
        columns: one string of 0, 1 and - (don't care) an output, with the inputs in
            canonical order (``synth.library.canonical``).
        items: answers with a layout first, then by stacking, joints, delay and volume.
    """

    inputs: int
    columns: tuple[str, ...]
    items: tuple[Item, ...]

    @cached_property
    def slug(self) -> str:
        """The name of its file: the same in every run, and safe in an address."""
        table = "_".join(self.columns).replace("-", "x")
        if len(table) > LONGEST_SLUG:
            table = hashlib.sha256(table.encode()).hexdigest()[:16]
        return f"{self.inputs}-{table}"

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Its names: that of the list of functions first, then those that stored answers give it,
        the most frequent first. The ending that marks a stackable variant is left out.
        """
        given = Counter(
            item.entry.name.removesuffix("-stack") for item in self.items if item.entry.name
        )
        names = sorted(given, key=lambda name: (-given[name], len(name), name))
        known = function_names().get(self.items[0].entry.function_key)
        return tuple(dict.fromkeys([known, *names] if known else names))

    @cached_property
    def expressions(self) -> tuple[str, ...]:
        """One line an output: ``y1 = x1 & x2``."""
        return lines_of(self.columns, self.inputs)

    @property
    def title(self) -> str:
        """Its name, or else what it computes."""
        if self.names:
            return self.names[0]
        words = short(self.expressions[0].removeprefix("y1 = "), 48)
        if len(self.columns) > 1:
            return f"{words}, and {len(self.columns) - 1} more"
        idle = any(name not in self.expressions[0] for name in input_names(self.inputs))
        return f"{words} ({self.inputs} inputs)" if idle else words

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines below the title: the expressions, unless the title already is the only one."""
        only = not self.names and self.expressions == (f"y1 = {self.title}",)
        return () if only else self.expressions

    @cached_property
    def alike(self) -> Mapping[int, tuple[Item, ...]]:
        """Groups of answers of one kind that are equal in all measures, by number of their first.

        A question that allows more ticks often has the same answer; each group is shown once.
        Its strongest answer comes first: proven ones before others, then the one that allows
        most ticks.
        """
        groups: dict[object, list[Item]] = {}
        for item in self.items:
            if item.layout is not None:
                entry, layout = item.entry, item.layout
                measures = (entry.delay, layout.size, layout.part_count)
                groups.setdefault((item.kind, measures), []).append(item)
        ranked = (sorted(group, key=_strength) for group in groups.values())
        return {group[0].number: tuple(group) for group in ranked}

    @cached_property
    def layouts(self) -> tuple[Item, ...]:
        """The answers that have a layout, one for each group of equal ones."""
        return tuple(item for item in self.items if item.number in self.alike)

    @property
    def others(self) -> tuple[Item, ...]:
        """The answers that have none: impossible, or not decided."""
        return tuple(item for item in self.items if item.layout is None)

    @property
    def beyond(self) -> tuple[Item, ...]:
        """Those of the others of which a layout beyond the limits asked is known."""
        return tuple(item for item in self.others if item.beyond is not None)

    @property
    def smallest(self) -> Item | None:
        """The layout of least volume; among several, the fastest."""
        return _least(self.layouts, ("volume", "delay"))

    @property
    def fastest(self) -> Item | None:
        """The layout of least delay; among several, the smallest."""
        return _least(self.layouts, ("delay", "volume"))

    @property
    def face(self) -> Item | None:
        """The answer whose drawing stands for the gate: the smallest, proven before others."""
        return min(
            self.layouts,
            key=lambda item: (
                item.entry.volume or 0,
                not item.entry.proven,
                item.entry.delay or 0,
                item.number,
            ),
            default=None,
        )


def _least(items: Iterable[Item], measures: Sequence[str]) -> Item | None:
    """The item that is least by the measures, in their order; items that lack one are skipped."""

    def rank(item: Item) -> tuple[int, ...] | None:
        values = [getattr(item.entry, measure) for measure in measures]
        return None if None in values else (*values, item.number)

    ranked = [(found, item) for item in items if (found := rank(item)) is not None]
    return min(ranked, key=lambda pair: pair[0])[1] if ranked else None


@cache
def function_names() -> Mapping[str, str]:
    """The names of functions by their keys: those of the list, and those of targets."""
    names = {}
    for count, named in FUNCTION_NAMES.items():
        for table, name in named.items():
            function = BooleanFunction(input_names(count), {"y1": table})
            names[function_key(function)] = name
    for target in target_names():
        if not target.endswith("-stack"):
            names.setdefault(function_key(load_target(target).function), target)
    return names


def gates_of(items: Iterable[Item]) -> list[Gate]:
    """All items, gathered by gate; fewest inputs and outputs first, then by table."""
    gathered: dict[str, list[Item]] = {}
    for item in items:
        gathered.setdefault(item.entry.function_key, []).append(item)
    gates = [
        Gate(group[0].entry.inputs, _columns(group), tuple(sorted(group, key=_rank)))
        for group in gathered.values()
    ]
    return sorted(gates, key=lambda gate: (gate.inputs, len(gate.columns), gate.columns))


def _columns(group: Sequence[Item]) -> tuple[str, ...]:
    """The columns to show.

    A store's own order of inputs depends on what was asked of the pins, so answers about one
    gate may come in different orders.
    """
    entry = group[0].entry
    outputs = columns_of(entry)
    function = BooleanFunction(
        input_names(entry.inputs), dict(zip(output_names(len(outputs)), outputs, strict=True))
    )
    return tuple(reordered(function, canonical_order(Spec(function))).outputs.values())


def _strength(item: Item) -> tuple[object, ...]:
    asked = item.entry.delay_asked
    return (not item.entry.proven, asked is not None, -(asked or 0), item.number)


def _rank(item: Item) -> tuple[object, ...]:
    entry = item.entry
    delay = entry.delay if entry.delay is not None else entry.delay_asked
    return (
        item.layout is None,
        entry.stack,
        entry.joints,
        -1 if delay is None else delay,
        entry.volume or 0,
        item.number,
    )


def columns_of(entry: Entry) -> tuple[str, ...]:
    """The truth table that was asked, one string an output."""
    return tuple(entry.table.split())


def lines_of(columns: Sequence[str], inputs: int) -> tuple[str, ...]:
    """Expressions over x1, x2, ...; a column with don't cares is shown as a column."""
    names = input_names(inputs)
    return tuple(
        f"{name} : {column}"
        if "-" in column
        else function_text({name: column}, names)[0]
        for name, column in zip(output_names(len(columns)), columns, strict=True)
    )  # fmt: skip


def input_names(count: int) -> tuple[str, ...]:
    """x1, x2, ...: the names that a store gives the inputs."""
    return tuple(f"x{index + 1}" for index in range(count))


def output_names(count: int) -> tuple[str, ...]:
    """y1, y2, ...: the names that a store gives the outputs."""
    return tuple(f"y{index + 1}" for index in range(count))


def short(text: str, most: int) -> str:
    """The text, cut to ``most`` characters."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"
