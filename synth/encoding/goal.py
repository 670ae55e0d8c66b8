"""What a layout must do: outputs right at tick T, and no input fed back (section 5)."""

from __future__ import annotations

from synth.encoding import causes
from synth.encoding.backwards import Backwards
from synth.encoding.formula import Formula
from synth.encoding.geometry import Slot
from synth.encoding.question import Play, Question
from synth.encoding.rails import Rails
from synth.encoding.statics import Statics
from synth.medium import Joint


class Goal:
    """States what must hold at the last tick of every row's play."""

    def __init__(
        self,
        formula: Formula,
        question: Question,
        statics: Statics,
        rails: Rails,
    ) -> None:
        self.formula = formula
        self.question = question
        self.statics = statics
        self.rails = rails
        self.backwards = (
            Backwards(formula, question, statics, rails) if question.tells_backwards else None
        )

    def state(self) -> None:
        """State the goal for every row."""
        for play in self.question.plays:
            self.outputs_read_their_values(play)
            self.no_input_is_fed_back(play)
        for play in self.question.late:
            self.links_are_right_in_time(play)

    def links_are_right_in_time(self, play: Play) -> None:
        """Section 11: so many ticks after links are known, their outputs' buffers are right.

        Medium: 11 link delay; 11 outputs read.
        """
        assert play.row is not None
        last = self.question.ticks_of(play).stop
        for link in self.question.spec.chain:
            value = self.question.spec.function.outputs[link.output][play.row]
            for slot in self.statics.slots[link.output]:
                pin = self.statics.pin(link.output, slot)
                surely, possibly = (
                    self.rails.buffer(rail, play, *slot, last) for rail in ("surely", "possibly")
                )
                if value == "1":
                    self.formula.add("11 link delay", [-pin, surely])
                elif value == "0":
                    self.formula.add("11 link delay", [-pin, -possibly])

    def outputs_read_their_values(self, play: Play) -> None:
        """Section 5: 1 is surely on, 0 is not possibly on, a don't-care is free.

        Medium: 5 outputs right.
        """
        assert play.row is not None
        rule = "5 outputs right"
        for name, column in self.question.spec.function.outputs.items():
            value = column[play.row]
            if value == "-":
                continue
            if self.backwards is not None:
                if value == "1":
                    self.formula.add(rule, self.backwards.reads_on(play, name))
                else:
                    self.backwards.stays_off(rule, play, name)
                continue
            for slot in self.statics.slots[name]:
                pin = self.statics.pin(name, slot)
                if value == "1":
                    powered = self._readings("surely", name, play, slot)
                    self.formula.add(rule, [-pin, *powered])
                else:
                    for seen in self._readings("possibly", name, play, slot):
                        self.formula.add(rule, [-pin, -seen])

    def _readings(self, rail: str, name: str, play: Play, slot: Slot) -> list[int]:
        """What an output pin at a slot reads on by, at the last tick."""
        last = self.rails.at(rail, play, self.question.delay)
        return causes.read_by(last, self.question.spec.joint(name), slot)

    def no_input_is_fed_back(self, play: Play) -> None:
        """Section 5: the lead of an input that is off is not possibly on.

        Medium: 5 fed back.
        """
        if self.backwards is not None:
            for name in self.question.spec.function.inputs:
                if name not in play.possibly and self.question.spec.joint(name) is Joint.WIRE:
                    self.backwards.stays_off("5 fed back", play, name)
            return
        for name, slot in self.rails.input_off_slots(play):
            cell, face = slot
            powered = self.rails.lead("possibly", play, cell, face, self.question.delay)
            self.formula.add("5 fed back", [-self.statics.pin(name, slot), -powered])
