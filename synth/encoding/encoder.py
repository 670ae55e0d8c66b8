"""The encoder: a question becomes a formula. Read it as a table of contents of the rules."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from synth.encoding.decode import decode, literals_of
from synth.encoding.formula import Formula
from synth.encoding.free_goal import FreeGoal, declare_readings
from synth.encoding.goal import Goal
from synth.encoding.implied import Implied
from synth.encoding.parts import at_most_parts
from synth.encoding.possibly import Possibly
from synth.encoding.question import Question
from synth.encoding.rails import Rails
from synth.encoding.shape import Shape
from synth.encoding.statics import Statics, rule_out_impossible_stacks
from synth.encoding.surely import Surely
from synth.encoding.symmetry import Symmetry
from synth.layout import Layout
from synth.medium_rules import by_sentence


@dataclass(frozen=True)
class Encoding:
    """A formula and what its variables mean.

    A model of the formula is a layout that answers the question (``decode``); if the formula
    has none, there is no such layout (``synth.encoding`` says why).
    """

    question: Question
    formula: Formula
    statics: Statics
    rails: Rails
    goal: Goal | None = None

    @property
    def clauses(self) -> list[list[int]]:
        """The clauses, as DIMACS literals."""
        return self.formula.clauses

    @property
    def variable_count(self) -> int:
        """The number of variables."""
        return self.formula.variable_count

    @property
    def clauses_by_rule(self) -> Mapping[str, int]:
        """How many clauses each rule added: rules of the medium in its words, then the others."""
        return by_sentence(self.formula.counts)

    @property
    def exact(self) -> bool:
        """Whether every model is a right layout.

        If not, a model may let a strength run beyond the reach (``synth.encoding.givers``) or fail
        a row that was not asked: the simulator tells. Without any model there is no layout, exact
        or not.
        """
        return self.rails.exact and self.question.every_row

    @cached_property
    def choices(self) -> list[int]:
        """The static variables: a model's values of these are its layout."""
        return self.statics.choices()

    def decode(self, model: Iterable[int]) -> Layout:
        """The layout that a model describes."""
        return decode(self.question, self.statics, model)

    def literals_of(self, layout: Layout) -> list[int]:
        """The static literals that pin the formula to one layout."""
        return literals_of(self.question, self.statics, layout)


def encode(question: Question, *, goal: bool = True) -> Encoding:
    """Write the formula of a question.

    Args:
        question: the box, the delay and the specification.
        goal: whether to state what the layout must do; without it the formula describes the
            plays of every legal layout (tests compare those with the simulator).

    Returns:
        The formula with its meaning. Its size grows with cells x plays x ticks x reach.
    """
    if not goal:
        question = replace(question, last_tick=False, backwards=False)
    formula = Formula()
    statics = Statics(formula, question)
    rule_out_impossible_stacks(formula, question)
    statics.state()
    shape = Shape(formula, statics)
    if question.free is not None:
        declare_readings(formula, question)
    rails = Rails(formula, question, statics, shape)
    possibly = Possibly(formula, statics, shape, rails)
    surely = Surely(formula, statics, shape, rails)
    for part in question.parts_of_tick_0:
        possibly.state(part, 0)
        if part.on:
            surely.state(part, 0)
    for play in question.every_play:
        for tick in question.own_ticks(play):
            if question.reads("possibly", play, tick):
                possibly.state(play, tick)
            if question.reads("surely", play, tick):
                surely.state(play, tick)
    for play in question.late:
        # Of the last tick nothing is asked but the buffers of links.
        last = question.ticks_of(play).stop
        possibly.buffers_follow_their_backs(play, last)
        surely.buffers_follow_their_backs(play, last)
    Implied(formula, question, statics, rails).state()
    asked = None
    if goal:
        stating = Goal if question.free is None else FreeGoal
        asked = stating(formula, question, statics, rails)
        asked.state()
    if question.parts is not None:
        at_most_parts(formula, statics, question.parts)
    if question.break_symmetry:
        Symmetry(formula, question, statics).state()
    return Encoding(question, formula, statics, rails, asked)
