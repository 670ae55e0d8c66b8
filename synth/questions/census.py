"""What a census asks: every function that boxes can hold, each with a layout; no others.

A *class* of functions holds what turns into each other by permuting inputs and by permuting outputs
(``synth.spec.classes``). A census names each class by its smallest member, and every pin of a role
is asked alike; so a layout of one member is, with its pins renamed, a layout of any other. It takes
the boxes under the limits in the order of the measures and gives each class its first box with a
layout, its *place*. With a ``box`` it looks into that one alone.

*What is counted.* The classes whose functions need every input: with an input that changes nothing,
a function is one of fewer inputs. ``every_input_matters=False`` counts those as well, their pins
standing idle. Where columns are ``sought``, nothing else is counted: each is a class of its own,
with don't cares that need not settle.

*What is proven.* That a box is *complete* says: it has no layout, within the ticks asked, of any
class that is counted but has no place there or in a box before. So if each box before the place of
a class is complete, no layout of it comes before; and a class without a place has no layout in any
box that is complete.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from synth.encoding import Question
from synth.encoding.free_table import FreeTable
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.pins import show_size
from synth.medium import DEFAULT_RULES, Rules, Size
from synth.questions.box import BoxQuestion
from synth.questions.cubes import Cube, narrowed, split
from synth.questions.in_force import limits_text, medium_text
from synth.questions.problem import Problem
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import BooleanFunction, Limits, Spec
from synth.spec.classes import (
    MOST_VALUES,
    Columns,
    classes_of,
    every_input_matters,
    members,
    parts_in,
)

MOST_INPUTS, MOST_OUTPUTS = 4, 4
"""Most inputs and outputs of a census: to forbid a class takes a clause for each of its members."""

INPUT_NAMES = "abcd"
"""Names of the inputs, in order."""


def free_spec(inputs: int, outputs: int = 1) -> Spec:
    """A specification that asks for pins and for no values: inputs ``a, b...``, output ``q``.

    Several outputs are called ``q1, q2...``.

    Raises:
        InputError: for numbers that no census takes.
    """
    for place, count, most in (
        ("inputs", inputs, MOST_INPUTS),
        ("outputs", outputs, MOST_OUTPUTS),
    ):
        if not 1 <= count <= most:
            raise InputError(f"{count} {place}", place=place, way_out=f"use 1 to {most}")
    names = ["q"] if outputs == 1 else [f"q{number + 1}" for number in range(outputs)]
    columns = dict.fromkeys(names, "-" * (1 << inputs))
    return Spec(BooleanFunction(tuple(INPUT_NAMES[:inputs]), columns))


@dataclass(frozen=True)
class CensusQuestion:
    """What a census asks.

    Attributes:
        problem: pins, stacking, limits in force, measures and rules; its columns hold nothing but
            don't cares (``free_spec``).
        box: the one box to look into, or None: every box under the limits.
        sought: if any, only these are counted, as they were given.
        every_input_matters: whether only functions are counted that need every input.
    """

    problem: Problem
    box: Size | None = None
    sought: tuple[Columns, ...] = ()
    every_input_matters: bool = True

    @staticmethod
    def of(
        spec: Spec,
        *,
        box: Size | None = None,
        measures: tuple[str, ...] = ("volume",),
        rules: Rules = DEFAULT_RULES,
        sought: tuple[Columns, ...] = (),
        every_input_matters: bool = True,
    ) -> tuple[CensusQuestion, tuple[str, ...]]:
        """The question, and what was assumed where it leaves limits open, a phrase each.

        Raises:
            InputError: if the number of parts is to be made small, or the box contradicts a
                limit on its size.
        """
        if "parts" in measures:
            raise InputError(
                "a census goes from box to box and counts no parts",
                place="minimize",
                way_out="minimise sizes and delay",
            )
        if box is not None:
            spec = spec.replace(limits=_limits_of(box, spec.limits))
        problem, assumed = Problem.of(spec, measures, rules)
        return CensusQuestion(problem, box, _one_of_each(sought), every_input_matters), assumed

    @cached_property
    def candidates(self) -> list[BoxQuestion]:
        """The boxes and delays to look into, in order."""
        if self.box is None:
            return self.problem.candidates()
        limits = self.problem.limits
        assert limits.delay is not None
        return [BoxQuestion(self.box, limits.delay, limits.parts)]

    @cached_property
    def counted(self) -> tuple[Columns, ...] | None:
        """One member of each class that is counted; None if they are too many to list."""
        if self.sought:
            return self.sought
        function = self.problem.spec.function
        if len(function.outputs) * function.rows > MOST_VALUES:
            return None
        every = classes_of(len(function.inputs), len(function.outputs))
        wanted = every_input_matters if self.every_input_matters else bool
        return tuple(filter(wanted, every))

    def formula(
        self,
        asked: BoxQuestion,
        forbidden: tuple[Columns, ...] = (),
        cube: Cube | None = None,
    ) -> Question:
        """What the encoder is asked for one box: what is computed there, but for what is forbidden.

        Args:
            asked: the box, the delay and the most parts.
            forbidden: one member of each class that is not wanted (any more).
            cube: the cube of the box; None for the whole box.
        """
        free = FreeTable(forbidden, self.sought, self.every_input_matters)
        whole = self.problem.formula(asked)
        return replace(whole, sensitive=False, free=free, spec=narrowed(whole.spec, cube))

    def cubes_of(self, asked: BoxQuestion) -> list[Cube]:
        """The cubes of a box, so that several workers share it; none if it has but one.

        They hold the output in place. Of several outputs none is held: they would no longer be
        asked alike.
        """
        if asked not in self._cubes:
            outputs = list(self.problem.spec.function.outputs)
            cubes = split(self.formula(asked)) if len(outputs) == 1 else []
            self._cubes[asked] = [cube for cube in cubes if cube.pin in outputs]
        return self._cubes[asked]

    @cached_property
    def _cubes(self) -> dict[BoxQuestion, list[Cube]]:
        return {}

    def claim(self, found: int, *, complete: bool) -> str:
        """What is claimed, in one sentence, with everything that was in force.

        Args:
            found: how many classes have a place.
            complete: whether nothing is open.
        """
        problem = self.problem
        under = f"under {limits_text(problem)}; {medium_text(problem)}"
        of = "" if self.counted is None else f" of {len(self.counted)}"
        what = "those sought" if self.sought else "functions"
        has = "have" if found != 1 else "has"
        classes = f"{found}{of} classes of {what} {has} a layout"
        if not complete:
            return f"{classes}, others are open, {under}"
        if self.box is not None:
            return f"{classes} in the box {show_size(self.box)}, no other has, {under}"
        by = ", then ".join(problem.measures)
        return f"{classes}, each its smallest by {by}, no other has, {under}"

    def spec_of(self, columns: Columns) -> Spec:
        """The specification of one function, or of one that is sought."""
        spec = self.problem.spec
        outputs = dict(zip(spec.function.outputs, columns, strict=True))
        return spec.replace(function=BooleanFunction(spec.function.inputs, outputs))

    def problem_of(self, columns: Columns) -> Problem:
        """The problem of one function."""
        return replace(self.problem, spec=self.spec_of(columns))

    def class_of(self, columns: Columns) -> Columns:
        """What the class of a function is called: its smallest member, or what was sought."""
        found = members(columns)
        return next((one for one in self.sought if one in found), found[0])

    def named(self, layout: Layout, columns: Columns) -> Layout:
        """A layout that computes ``columns``, its pins renamed to compute what its class is called.

        Raises:
            ValueError: if the columns are no member of that class.
        """
        function = self.problem.spec.function
        parts = parts_in(columns, self.class_of(columns))
        names: dict[str, str] = {}
        for own, other in zip((function.inputs, tuple(function.outputs)), parts, strict=True):
            names |= {own[old]: own[new] for old, new in enumerate(other)}
        pins = [replace(pin, name=names[pin.name]) for pin in layout.pins]
        order = self.problem.spec.pin_names
        pins.sort(key=lambda pin: order.index(pin.name))
        return layout.replace(pins=tuple(pins))

    def judged(self, layout: Layout, columns: Columns, delay: int) -> Verdict:
        """The simulator's verdict on a layout as one of ``columns`` within ``delay`` ticks."""
        return check(layout, self.spec_of(columns), delay=delay, rules=self.problem.rules)

    def sought_in(self, layout: Layout, delay: int) -> list[Columns]:
        """Of each class that is sought and that a layout answers, the member that it answers.

        Raises:
            InputError: if it has other pins than are asked.
        """
        outputs = check(layout, self.problem.spec, rules=self.problem.rules).outputs or {}
        read = "".join(outputs.get(name, "") for name in self.problem.spec.function.outputs)
        return [
            member
            for columns in self.sought
            for member in [next((one for one in members(columns) if _meets(read, one)), None)]
            if member is not None and self.judged(layout, member, delay).passes
        ]


def _meets(read: str, asked: Columns) -> bool:
    """Whether values, one column behind the other, are those that columns care about."""
    wanted = "".join(asked)
    return len(read) == len(wanted) and all(
        want in ("-", value) for value, want in zip(read, wanted, strict=True)
    )


def _limits_of(box: Size, limits: Limits) -> Limits:
    """The limits of one box: its own sizes, and what else is asked.

    Raises:
        InputError: if they say anything else of its size.
    """
    for name in ("length", "width", "height", "volume", "floor"):
        most, own = getattr(limits, name), BoxQuestion(box, 0).measure(name)
        if most is not None and own != most:
            raise InputError(
                f"the {name} of the box {show_size(box)} is {own}, the limit on it {most}",
                place="box",
                way_out=f"leave out the limit on {name}, or the box to take all within the limits",
            )
    return Limits(*box, parts=limits.parts, delay=limits.delay)


def _one_of_each(sought: tuple[Columns, ...]) -> tuple[Columns, ...]:
    """The first of each class."""
    found: dict[Columns, Columns] = {}
    for columns in sought:
        found.setdefault(members(columns)[0], columns)
    return tuple(found.values())


def shown(columns: Columns) -> str:
    """A function as documents write it: its columns, with a space between."""
    return " ".join(columns)
