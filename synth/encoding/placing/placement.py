"""Structure first: place and route signals that are known beforehand.

The whole question (``encoder``) plays every input assignment at every tick. Where that is too
large, the signals can be fixed first: a few functions of the inputs, each known by a tick of its
own. What is asked then is only where inverters and buffers stand that make them, and which wires
and solids carry them. No assignments and no ticks are played, so the formula does not double with
each input, nor grow with the ticks.

*A model is a right layout.* Every wire, solid, inverter and buffer has exactly the signals that
section 4 brings there (``flow``). An inverter that makes a signal of tick t hangs on a host that
only signals of earlier ticks charge, none of them on in a row where the inverter is on, and one of
them on in every other row: so it is known, and right, from t on. A buffer repeats what it sees one
tick later, and sees something: one that saw nothing would still be unknown at tick 0. What comes
from another copy is unknown at every tick, so it is kept away from hosts, wires, backs of buffers
and outputs. The simulator has the last word all the same.

*No model proves nothing*: other signals, or other ticks, may have a layout. So this only ever
finds layouts; that there is none is for the whole question to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from synth.encoding import causes
from synth.encoding.decode import decode
from synth.encoding.formula import FALSE, Formula
from synth.encoding.geometry import Slot
from synth.encoding.parts import at_most_parts
from synth.encoding.placing.flow import Flow
from synth.encoding.placing.signals import Origin, Passing, Signal, Signals
from synth.encoding.question import Question
from synth.encoding.shape import Shape
from synth.encoding.statics import Statics, rule_out_impossible_stacks
from synth.encoding.symmetry import Symmetry
from synth.layout import Layout
from synth.medium import (
    ALL_DIRECTIONS,
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    Cell,
    Direction,
    Joint,
)
from synth.medium_rules import by_sentence

LONGEST_RUN = 8
"""Most links between a wire and its source. Longer runs are rare in small boxes."""


@dataclass(frozen=True)
class Placement:
    """The formula of a placement and what its variables mean."""

    question: Question
    signals: Signals
    formula: Formula
    statics: Statics

    @property
    def clauses(self) -> list[list[int]]:
        """The clauses, as DIMACS literals."""
        return self.formula.clauses

    @property
    def clauses_by_rule(self) -> Mapping[str, int]:
        """How many clauses each rule added: rules of the medium in its words, then the others."""
        return by_sentence(self.formula.counts)

    def decode(self, model: Iterable[int]) -> Layout:
        """The layout that a model describes."""
        return decode(self.question, self.statics, model)


def encode_placement(
    question: Question,
    signals: Signals,
    *,
    longest_run: int = LONGEST_RUN,
    passing: Sequence[Passing] = (),
) -> Placement:
    """Write the formula that places signals in the box of a question.

    Args:
        question: the box, the delay (T) and the specification.
        signals: what may be used; those known after T are left out.
        longest_run: most links between a wire and its source.
        passing: what may pass some pins.
    """
    formula, statics, shape, flow = state_flow(question, signals, longest_run)
    rules = PlacementRules(formula, question, statics, shape, flow, flow.signals)
    rules.state(signals)
    rules.pins_let_pass(passing)
    if question.parts is not None:
        at_most_parts(formula, statics, question.parts)
    if question.break_symmetry:
        # Signals need not be as exchangeable as the inputs are, so only mirror images count.
        Symmetry(formula, question, statics).the_anchor_sits_at_its_first_place()
    return Placement(question, signals, formula, statics)


def state_flow(
    question: Question, signals: Signals, longest_run: int = LONGEST_RUN
) -> tuple[Formula, Statics, Shape, Flow]:
    """Begin the formula of a placement: where parts are, and how signals flow along them.

    Arguments are those of ``encode_placement``.
    """
    formula = Formula()
    statics = Statics(formula, question)
    rule_out_impossible_stacks(formula, question)
    statics.state()
    shape = Shape(formula, statics)
    used = tuple(signal for signal in signals.all if signal.tick <= question.delay)
    flow = Flow(formula, question, statics, shape, used, longest_run)
    flow.state()
    return formula, statics, shape, flow


class PlacementRules:
    """What inverters, buffers, outputs and copies ask of the flow of signals.

    Args:
        signals: the signals that ``flow`` knows, in order.
        goals: for outputs, by name, the literal without which nothing is asked of them
            (``growth``); those left out are asked in any case.
    """

    def __init__(
        self,
        formula: Formula,
        question: Question,
        statics: Statics,
        shape: Shape,
        flow: Flow,
        signals: tuple[Signal, ...],
        goals: Mapping[str, int] | None = None,
    ) -> None:
        self.goals = goals or {}
        self.formula = formula
        self.question = question
        self.statics = statics
        self.shape = shape
        self.flow = flow
        self.signals = signals
        self.numbers = range(len(signals))
        self.rows = range(question.spec.function.rows)

    def state(self, signals: Signals) -> None:
        """State all of it; ``signals`` say which of them wires may carry together."""
        self.inverters_make_signals()
        self.buffers_repeat_signals()
        self.wires_carry_signals(signals)
        self.outputs_read_their_values()
        self.no_input_is_fed_back()
        self.other_copies_are_kept_away()

    def inverters_make_signals(self) -> None:
        """Section 5: an inverter makes one signal, the right one for what charges its host."""
        made = [n for n in self.numbers if self.signals[n].origin is Origin.INVERTER]
        for cell in self.statics.cells:
            there = self.statics.any_inverter(cell)
            if there == FALSE:
                continue
            makes = [self.flow.of(number).power("inverter", cell) for number in made]
            for one in makes:
                self.formula.imply("an inverter makes a signal", [one], there)
            self.formula.add("an inverter makes a signal", [-there, *makes])
            self.formula.at_most_one("an inverter makes one signal", makes)
        for host in self.statics.cells:
            hanging = self._hanging(host)
            self.formula.define_or("a host", ("host", host), [literal for _, literal in hanging])
            for number in made:
                self._host_fits(host, hanging, number)

    def _hanging(self, host: Cell) -> list[tuple[Cell, int]]:
        """Every cell whose inverter may hang on a host, and the literal that says so."""
        found = []
        for direction in HOST_DIRECTIONS:
            cell = direction.opposite.step(host)
            literal = self.statics.inverter(cell, direction)
            if literal != FALSE:
                found.append((cell, literal))
        return found

    def _host_fits(self, host: Cell, hanging: list[tuple[Cell, int]], number: int) -> None:
        """What charges the host of an inverter that makes a signal."""
        makes = self.formula.declare("hosts", host, number)
        for cell, hangs in hanging:
            one = self.flow.of(number).power("inverter", cell)
            self.formula.imply("a host bears a signal", [hangs, one], makes)
        output = self.signals[number]
        fitting = []
        for other in self.numbers:
            signal = self.signals[other]
            if signal.tick < output.tick and not signal.rows & output.rows:
                fitting.append(other)
            else:
                charged = self.flow.of(other).power("charged", host)
                self.formula.add("nothing else charges a host", [-makes, -charged])
        for row in self.rows:
            if output.rows >> row & 1:
                continue
            chargers = [
                self.flow.of(other).power("charged", host)
                for other in fitting
                if self.signals[other].rows >> row & 1
            ]
            self.formula.add("a host is charged in every other row", [-makes, *chargers])

    def buffers_repeat_signals(self) -> None:
        """Section 5: a buffer gives one tick later what it sees, and sees something."""
        for cell in self.statics.cells:
            for to in LEVEL_DIRECTIONS:
                if self.statics.buffer(cell, to) != FALSE:
                    self._buffer(cell, to)

    def _buffer(self, cell: Cell, to: Direction) -> None:
        there = self.statics.buffer(cell, to)
        reasons: dict[int, list[int]] = {
            n: [] for n in self.numbers if self.signals[n].origin is Origin.BUFFER
        }
        for number in self.numbers:
            seen = causes.seen_at_back(self.flow.of(number), Slot(cell, to))
            later = self._repeated(number)
            if later is None:
                for literal in seen:
                    self.formula.add("a buffer has time to repeat", [-there, -literal])
            else:
                reasons[later] += seen
        outputs = []
        for number, seen in reasons.items():
            output = self.flow.of(number).buffer(cell, to)
            self.flow.exactly("a buffer repeats what it sees", output, there, seen)
            outputs.append(output)
        self.formula.add("a buffer sees something", [-there, *outputs, *self._later(cell, to)])

    def _later(self, cell: Cell, to: Direction) -> list[int]:
        """What allows the buffer of a link to see nothing yet."""
        return [
            -self.goals[link.output]
            for link in self.question.spec.chain
            if link.output in self.goals and Slot(cell, to) in self.statics.slots[link.output]
        ]

    def _repeated(self, number: int) -> int | None:
        """The number of the signal that a buffer makes of one: the same rows, later."""
        signal = self.signals[number]
        later = [
            (other.tick, index)
            for index, other in enumerate(self.signals)
            if other.origin is Origin.BUFFER
            and other.rows == signal.rows
            and other.tick > signal.tick
        ]
        return min(later)[1] if later else None

    def wires_carry_signals(self, signals: Signals) -> None:
        """A wire that carries nothing could go; signals that serve no gate together do not mix.

        Both leave layouts out, which is no loss here: none is proven impossible.
        """
        barred = [
            (one, other)
            for one in self.numbers
            for other in range(one)
            if not signals.may_mix(self.signals[one], self.signals[other])
        ]
        for node in self.shape.nodes():
            carried = [self.flow.node(node, number) for number in self.numbers]
            if not isinstance(node, Slot):
                there = self.shape.presence(node)
                self.formula.add("a wire carries a signal", [-there, *carried])
            for one, other in barred:
                self.formula.add("signals that may mix", [-carried[one], -carried[other]])

    def outputs_read_their_values(self) -> None:
        """Sections 5 and 6: an output reads on in its rows and in no other that matters."""
        spec = self.question.spec
        for name, column in spec.function.outputs.items():
            later = [-self.goals[name]] if name in self.goals else []
            zeros = sum(1 << row for row, value in enumerate(column) if value == "0")
            ones = [row for row, value in enumerate(column) if value == "1"]
            for slot in self.statics.slots[name]:
                pin = self.statics.pin(name, slot)
                joint = spec.joint(name)
                seen = [causes.read_by(self.flow.of(n), joint, slot) for n in self.numbers]
                fitting = [n for n in self.numbers if not self.signals[n].rows & zeros]
                for number in self.numbers:
                    for literal in () if number in fitting else seen[number]:
                        self.formula.add("an output of 0 is off", [-pin, -literal])
                for row in ones:
                    powered = [
                        literal
                        for number in fitting
                        if self.signals[number].rows >> row & 1
                        for literal in seen[number]
                    ]
                    self.formula.add("an output of 1 is on", [-pin, *powered, *later])

    def no_input_is_fed_back(self) -> None:
        """Section 5: the lead of an input is on only where the input is."""
        spec = self.question.spec
        for own in self.signals:
            if own.origin is not Origin.INPUT or spec.joint(own.name) is not Joint.WIRE:
                continue
            for slot in self.statics.slots[own.name]:
                for number in self.numbers:
                    if self.signals[number].rows & ~own.rows:
                        powered = self.flow.of(number).lead(slot.cell, slot.face)
                        pin = self.statics.pin(own.name, slot)
                        self.formula.add("no input is fed back", [-pin, -powered])

    def pins_let_pass(self, passing: Sequence[Passing]) -> None:
        """No rule of the medium: at a pin, and on its lead, is nothing but what is named."""
        spec = self.question.spec
        for one in passing:
            joint = spec.joint(one.pin)
            barred = [n for n in self.numbers if self.signals[n].name not in one.signals]
            for slot, number in product(self.statics.slots[one.pin], barred):
                there = [self.flow.of(number).lead(slot.cell, slot.face)]
                if one.pin in spec.function.outputs:
                    there += causes.read_by(self.flow.of(number), joint, slot)
                for literal in there:
                    pin = self.statics.pin(one.pin, slot)
                    self.formula.add("pins let pass", [-pin, -literal])

    def other_copies_are_kept_away(self) -> None:
        """Section 7: what another copy powers here bears no inverter and feeds nothing."""
        geometry = self.statics.geometry
        for cell in self.statics.cells:
            for direction in ALL_DIRECTIONS:
                other = geometry.in_other_copy(direction.step(cell))
                if other is None:
                    continue
                self._not_lit_by(cell, other)
                if direction.level:
                    self._charged_from_outside(cell, self.shape.runs(other, direction.opposite))
                elif direction is Direction.PZ:
                    self._charged_from_outside(cell, self.statics.wire(other))

    def _not_lit_by(self, cell: Cell, other: Cell) -> None:
        """No wire here beside what is driven there, and the other way round."""
        wire = self.statics.wire(cell)
        for number in self.numbers:
            driven = self.flow.of(number).power("driven", other)
            self.formula.add("no copy powers another's wire", [-wire, -driven])

    def _charged_from_outside(self, cell: Cell, cause: int) -> None:
        """A solid that a wire of another copy charges is no host, back or output."""
        if cause == FALSE:
            return
        rule = "no copy charges what matters to another"
        solid = self.statics.solid(cell)
        self.formula.add(rule, [-cause, -self.formula.literal("host", cell)])
        for to in LEVEL_DIRECTIONS:
            self.formula.add(rule, [-cause, -solid, -self.statics.buffer(to.step(cell), to)])
        spec = self.question.spec
        for name in spec.function.outputs:
            if spec.joint(name) is Joint.BUFFER:
                for slot in self.statics.slots[name]:
                    if slot.cell == cell:
                        self.formula.add(rule, [-cause, -solid, -self.statics.pin(name, slot)])
