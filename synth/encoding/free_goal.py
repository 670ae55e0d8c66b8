"""What a layout computes when its truth table is left free: variables for each row and output.

``reads one`` of a row and output may be true only if the output is surely on at the last tick,
``reads zero`` only if it is not possibly on. Where every function is wanted, each row reads one or
zero; where some are sought, the rows that one of these cares about.
"""

from __future__ import annotations

from collections.abc import Iterable

from synth.encoding.formula import Formula
from synth.encoding.free_table import FreeTable
from synth.encoding.goal import Goal
from synth.encoding.question import Play, Question
from synth.encoding.rails import Rails
from synth.encoding.statics import Statics
from synth.spec.classes import Columns, members


def declare_readings(formula: Formula, question: Question) -> None:
    """Declare what each output may read in each row, before anything speaks of it."""
    assert question.free is not None
    for play in question.plays:
        for name in question.spec.function.outputs:
            one = formula.declare("reads one", play.index, name)
            if question.free.sought:
                formula.declare("reads zero", play.index, name)
            else:
                formula.alias(-one, "reads zero", play.index, name)


class FreeGoal(Goal):
    """States that the outputs settle; at which values is left open."""

    def __init__(
        self, formula: Formula, question: Question, statics: Statics, rails: Rails
    ) -> None:
        super().__init__(formula, question, statics, rails)
        assert question.free is not None
        self.free: FreeTable = question.free
        self.names = tuple(question.spec.function.outputs)

    def state(self) -> None:
        """State what may be read, and which functions are wanted."""
        super().state()
        if self.free.sought:
            self.one_that_is_sought_is_computed()
        elif self.free.every_input_matters:
            self.every_input_changes_an_output()
        for columns in self.free.forbidden:
            for clause in self.forbidding(columns):
                self.formula.add("functions that are forbidden", clause)

    def outputs_read_their_values(self, play: Play) -> None:
        """Section 5: what reads 1 is surely on, what reads 0 is not possibly on.

        Medium: 5 outputs right.
        """
        rule = "5 outputs right"
        for name in self.names:
            one, zero = (self._reads(value, play.index, name) for value in "10")
            if self.backwards is not None:
                self.formula.add(rule, [-one, *self.backwards.reads_on(play, name)])
                self.backwards.stays_off(rule, play, name, where=zero)
                continue
            for slot in self.statics.slots[name]:
                pin = self.statics.pin(name, slot)
                self.formula.add(rule, [-pin, -one, *self._readings("surely", name, play, slot)])
                for seen in self._readings("possibly", name, play, slot):
                    self.formula.add(rule, [-pin, -zero, -seen])

    def _reads(self, value: str, row: int, name: str) -> int:
        family = "reads one" if value == "1" else "reads zero"
        return self.formula.literal(family, row, name)

    def every_input_changes_an_output(self) -> None:
        """For each input there are two rows that it alone tells apart, and an output that does."""
        rule = "every input matters"
        inputs = self.question.spec.function.inputs
        for index, changed in enumerate(inputs):
            bit = 1 << (len(inputs) - 1 - index)
            changes = []
            for row in range(self.question.spec.function.rows):
                if row & bit:
                    continue
                for name in self.names:
                    change = self.formula.declare("changes", row, changed, name)
                    off, on = (self._reads("1", r, name) for r in (row, row | bit))
                    self.formula.add(rule, [-change, off, on])
                    self.formula.add(rule, [-change, -off, -on])
                    changes.append(change)
            self.formula.add(rule, changes)

    def one_that_is_sought_is_computed(self) -> None:
        """Every value that some member of a class that is sought cares about is read."""
        rule = "functions that are sought"
        every = []
        for columns in self.free.sought:
            for member in members(columns):
                computed = self.formula.declare("computes", member)
                every.append(computed)
                for literal in self._values(member):
                    self.formula.add(rule, [-computed, literal])
        self.formula.add(rule, every)

    def _values(self, columns: Columns) -> Iterable[int]:
        """The literals of the values that columns ask for."""
        for name, column in zip(self.names, columns, strict=True):
            for row, value in enumerate(column):
                if value != "-":
                    yield self._reads(value, row, name)

    def forbidding(self, columns: Columns) -> list[list[int]]:
        """The clauses that forbid the class of ``columns``, or, of what is sought, finding it."""
        every = members(columns)
        if self.free.sought:
            return [[-self._computes(member)] for member in every]
        return [[-literal for literal in self._values(member)] for member in every]

    def _computes(self, member: Columns) -> int:
        """The literal of one member of a class that is sought."""
        return self.formula.literal("computes", member)

    def computed(self, model: Iterable[int]) -> Columns:
        """The function that a model computes; where some are sought, a member of one of these."""
        true = {literal for literal in model if literal > 0}
        for columns in self.free.sought:
            for member in members(columns):
                if self._computes(member) in true:
                    return member
        rows = range(self.question.spec.function.rows)
        return tuple(
            "".join("1" if self._reads("1", row, name) in true else "0" for row in rows)
            for name in self.names
        )
