"""Variables of the two rails: what is surely on and what is possibly on, play by play.

``power`` answers for any cell at any tick: outside the box it gives what the next copy of a
stack shows there (its possible signals come from the neighbour's play, of its sure ones none
are counted, section 7), and the false literal where there is nothing.

**Tick 0 in parts.** At tick 0 everything is an OR (section 4: each rule names things of which one
being on is enough), and no inverter or buffer depends on the inputs yet (section 5). So what is
surely on in a row at tick 0 is what some input that is on reaches alone; what is possibly on is
that, or what the unknown reaches: inverters, buffers and what crosses from neighbours. One plane
for each input and one for the unknown say all of it, for every row and the neighbour
(``Question.parts_of_tick_0``; ``instants`` gives the planes that make up a play).

The plane of an input is exact, both ways: closed under every cause and each thing with a reason. It
serves both rails, which differ only by strength that fades: where the formula is exact none does
(``exact``); elsewhere more may be sure than is, as long as links are not counted anyway. That of
the unknown is closed, and only what is possible is ever asked of it.
"""

from __future__ import annotations

from collections.abc import Iterable

from synth.encoding.formula import FALSE, Formula
from synth.encoding.geometry import Slot
from synth.encoding.link_bound import longest_way
from synth.encoding.places import NOWHERE, Places
from synth.encoding.question import Play, Question
from synth.encoding.shape import Node, Shape
from synth.encoding.statics import Statics
from synth.medium import LEVEL_DIRECTIONS, Cell, Direction, Joint, Role

RAILS = ("surely", "possibly")

_INPUT = {joint: f"input {joint}" for joint in Joint}
"""The family that says which inputs of a joint are on. Spelled once: it is asked for very often."""


class Instant(dict[int, int]):
    """One rail at one tick of one play: the literal of each place, by number (``Places``).

    A literal is looked up when it is first asked for. ``causes`` asks for places themselves.
    """

    def __init__(self, rails: Rails, rail: str, play: Play, tick: int) -> None:
        super().__init__({NOWHERE: FALSE})
        self.rails, self.rail, self.play, self.tick = rails, rail, play, tick

    def __missing__(self, number: int) -> int:
        look_up, asked = self.rails.places[self.rail].asked[number]
        literal: int = getattr(self, look_up)(*asked)
        self[number] = literal
        return literal

    def power(self, family: str, cell: Cell) -> int:
        """See ``Rails.power``."""
        return self.rails.power(self.rail, family, self.play, cell, self.tick)

    def wire(self, node: Node) -> int:
        """See ``Rails.wire``."""
        return self.rails.wire(self.rail, self.play, node, self.tick)

    def lead(self, cell: Cell, face: Direction) -> int:
        """See ``Rails.lead``."""
        return self.rails.lead(self.rail, self.play, cell, face, self.tick)

    def buffer(self, cell: Cell, to: Direction) -> int:
        """See ``Rails.buffer``."""
        return self.rails.buffer(self.rail, self.play, cell, to, self.tick)

    def input_on(self, joint: Joint, cell: Cell, face: Direction) -> int:
        """See ``Rails.input_on``."""
        return self.rails.input_on(self.rail, joint, self.play, cell, face)


class Rails:
    """Declares and looks up the variables of both rails for every play and tick.

    Attributes:
        longest_way: the bound on links that the static rules of the box give, where the formula
            rests on one (``link_bound``).
        most_links: most links between a powered wire and its source.
        longest_run: the same within the reach.
        places: the numbers of what can be asked of an instant, by rail.

    Families, each by (play, place, tick): ``wire`` (a wire or lead of strength above 0),
    ``charged`` and ``driven`` (a solid), ``inverter`` and ``buffer`` (its output).
    """

    def __init__(
        self, formula: Formula, question: Question, statics: Statics, shape: Shape
    ) -> None:
        self.formula = formula
        self.question = question
        self.statics = statics
        self.shape = shape
        self._wires = frozenset(shape.nodes())
        self.places = {rail: Places(statics, crossing=rail == "possibly") for rail in RAILS}
        self._instants: dict[tuple[str, int, int], Instant] = {}
        self.longest_way = longest_way(question) if question.bound_links else None
        self.most_links = self._most_links()
        self.longest_run = min(question.rules.reach - 1, self.most_links)
        for play in question.every_play:
            self.inputs_stand_still(play)
            for tick in question.own_ticks(play):
                self._declare(play, tick)
        for play in question.late:
            self._declare_devices(play, question.ticks_of(play).stop)
        for part in question.parts_of_tick_0:
            self.inputs_stand_still(part)
            self._declare_part(part)

    @property
    def exact(self) -> bool:
        """Whether no model can let a strength run beyond the reach."""
        return self.question.count_links or self.most_links == self.longest_run

    def _most_links(self) -> int:
        """Most links between a powered wire and its source, leads included.

        A run visits no wire twice, so it is shorter than the number of wires that fit: no
        wire stands on a wire, so a column of the box holds at most every other cell of it.
        ``link_bound`` knows better where its bound is within the reach.
        """
        if self.longest_way is not None:
            return self.longest_way
        length, width, height = self.question.size
        per_column = (height + 1) // 2 if self.statics.geometry.ground else height // 2
        spec = self.question.spec
        leads = sum(spec.joint(name) is Joint.WIRE for name in spec.pin_names)
        return max(0, length * width * per_column + leads - 1)

    # Declaring

    def inputs_stand_still(self, play: Play) -> None:
        """Sections 5, 6, 7 and 11: which slots hold an input that is on, by joint and certainty.

        The same at every tick; the neighbour's inputs are possibly on and not surely. The input of
        a link is one in every copy.

        Medium: 5 settling starts; 6 input leads; 6 outside buffers; 7 every copy; 11 handed on.
        """
        rules = {Joint.WIRE: "6 input leads", Joint.BUFFER: "6 outside buffers"}
        for slot, names in self.statics.names_at.items():
            for rail, on in (("surely", play.on), ("possibly", play.possibly)):
                for joint in Joint:
                    self.formula.define_or(
                        rules[joint],
                        (rail, _INPUT[joint], play.index, slot),
                        [
                            self.statics.pin(name, slot)
                            for name in names
                            if name in on and self.question.spec.joint(name) is joint
                        ],
                    )

    def _declare(self, play: Play, tick: int) -> None:
        formula, statics, key = self.formula, self.statics, play.index
        rails = [rail for rail in RAILS if self.question.reads(rail, play, tick)]
        self._declare_devices(play, tick, rails)
        if self.question.devices_alone(tick):
            return
        for rail in rails:
            for cell in statics.cells:
                formula.declare(rail, "charged", key, cell, tick)
                formula.declare(rail, "driven", key, cell, tick)
        for node in self.shape.nodes():
            for rail in rails:
                if rail == "possibly" or not self.question.count_links:
                    formula.declare(rail, "wire", key, node, tick)
                    continue
                for steps in range(self.longest_run + 1):
                    formula.declare("surely within", key, node, tick, steps)

    def _declare_part(self, part: Play) -> None:
        """The plane of the unknown, or of an input, whose two rails are one."""
        places: list[tuple[str, Node]] = [("wire", node) for node in self.shape.nodes()]
        for cell in self.statics.cells:
            places += [("charged", cell), ("driven", cell)]
            self._outputs_of_part(part, cell)
        for family, place in places:
            plane = self.formula.declare("possibly", family, part.index, place, 0)
            if part.on:
                self.formula.alias(plane, "surely", family, part.index, place, 0)

    def _outputs_of_part(self, part: Play, cell: Cell) -> None:
        """At tick 0 inverters and buffers are unknown: all are in that plane, none in another."""
        for rail in RAILS if part.on else ("possibly",):
            present = FALSE if part.on else self.statics.any_inverter(cell)
            self.formula.alias(present, rail, "inverter", part.index, cell, 0)
            for to in LEVEL_DIRECTIONS:
                present = FALSE if part.on else self.statics.buffer(cell, to)
                self.formula.alias(present, rail, "buffer", part.index, cell, to, 0)

    def _declare_devices(self, play: Play, tick: int, rails: Iterable[str] = RAILS) -> None:
        for rail in rails:
            for cell in self.statics.cells:
                self.outputs_start_unknown(rail, play.index, cell, tick)

    def outputs_start_unknown(self, rail: str, key: int, cell: Cell, tick: int) -> None:
        """Section 5: at tick 0 every inverter and buffer is possibly on and not surely on.

        So is a buffer while its window reaches a tick before 0. After that they are variables.

        Medium: 5 settling starts.
        """
        formula, statics = self.formula, self.statics
        start = FALSE if rail == "surely" else statics.any_inverter(cell)
        if tick == 0 or statics.any_inverter(cell) == FALSE:
            formula.alias(start, rail, "inverter", key, cell, tick)
        else:
            formula.declare(rail, "inverter", key, cell, tick)
        for to in LEVEL_DIRECTIONS:
            present = statics.buffer(cell, to)
            start = FALSE if rail == "surely" else present
            settled = tick >= self.first_known_tick(rail, cell)
            if not settled or present == FALSE:
                formula.alias(start, rail, "buffer", key, cell, to, tick)
            else:
                formula.declare(rail, "buffer", key, cell, to, tick)

    def first_known_tick(self, rail: str, cell: Cell) -> int:
        """Section 5: the first tick at which a buffer's window reaches no tick before 0.

        Medium: 5 buffers settle.
        """
        delay = self.statics.delays[cell]
        return delay if rail == "surely" else 2 * delay - 1

    # Looking up

    def power(self, rail: str, family: str, play: Play, cell: Cell, tick: int) -> int:
        """Section 7: ``family`` (wire, charged, driven, inverter) at a cell, or in the next copy.

        What the neighbour's play makes possible crosses from the next copy, nothing sure does.

        Medium: 7 every copy.
        """
        geometry = self.statics.geometry
        play = play.at(tick)
        if cell not in geometry.within:
            other = geometry.in_other_copy(cell)
            neighbour = self.question.neighbour
            if other is None or neighbour is None or rail == "surely":
                return FALSE
            if tick == 0 and self.question.parts_of_tick_0:
                return FALSE if play.on else self._crossing_at_tick_0(family, other)
            return self.power(rail, family, neighbour, other, tick)
        if family == "wire":
            if cell not in self._wires:
                return FALSE
            return self.wire(rail, play, cell, tick)
        return self.formula.literal(rail, family, play.index, cell, tick)

    def _crossing_at_tick_0(self, family: str, cell: Cell) -> int:
        """What is possibly on in the neighbour at tick 0: in the plane of any part."""
        key = ("crossing", family, cell)
        if self.formula.has(*key):
            return self.formula.literal(*key)
        parts = self.question.parts_of_tick_0
        signals = [self.power("possibly", family, part, cell, 0) for part in parts]
        signals = [signal for signal in signals if signal != FALSE]
        if len(signals) < 2:
            return self.formula.alias(signals[0] if signals else FALSE, *key)
        crossing = self.formula.declare(*key)
        for signal in signals:
            self.formula.imply("7 every copy", [signal], crossing)
        return crossing

    def wire(self, rail: str, play: Play, node: Node, tick: int) -> int:
        """A wire or lead of strength above 0."""
        play = play.at(tick)
        if rail == "surely" and self.question.count_links:
            return self.within(play, node, tick, self.longest_run)
        return self.formula.literal(rail, "wire", play.index, node, tick)

    def within(self, play: Play, node: Node, tick: int, steps: int) -> int:
        """A wire or lead surely powered by a source at most ``steps`` links away (counted)."""
        play = play.at(tick)
        return self.formula.literal("surely within", play.index, node, tick, steps)

    def lead(self, rail: str, play: Play, cell: Cell, face: Direction, tick: int) -> int:
        """A lead of strength above 0 beyond that face."""
        slot = Slot(cell, face)
        if self.statics.lead(cell, face) == FALSE:
            return FALSE
        return self.wire(rail, play, slot, tick)

    def buffer(self, rail: str, play: Play, cell: Cell, to: Direction, tick: int) -> int:
        """Section 11: a buffer in ``cell`` that points along ``to`` and is on.

        Nothing is shown of those beyond the border of a stack. What has its front in
        another copy is a link's, and that copy takes it for an input of its own.

        Medium: 11 strange.
        """
        play = play.at(tick)
        if cell not in self.statics.geometry.within:
            return FALSE
        return self.formula.literal(rail, "buffer", play.index, cell, to, tick)

    def input_on(self, rail: str, joint: Joint, play: Play, cell: Cell, face: Direction) -> int:
        """An input with that joint stands beyond that face and is on."""
        slot = Slot(cell, face)
        if slot not in self.statics.names_at:
            return FALSE
        return self.formula.literal(rail, _INPUT[joint], play.index, slot)

    def at(self, rail: str, play: Play, tick: int) -> Instant:
        """One rail at one tick of one play."""
        play = play.at(tick)
        key = (rail, play.index, tick)
        if key not in self._instants:
            self._instants[key] = Instant(self, rail, play, tick)
        return self._instants[key]

    def instants(self, rail: str, play: Play, tick: int) -> list[Instant]:
        """Those that together show what is on at a tick of a play: itself, or parts of tick 0."""
        return [self.at(rail, part, tick) for part in self.question.makes_up(rail, play, tick)]

    def input_off_slots(self, play: Play) -> list[tuple[str, Slot]]:
        """Every (name, slot) of inputs with wire joint that are off in a row's play."""
        spec = self.question.spec
        return [
            (name, slot)
            for name, slots in self.statics.slots.items()
            if spec.role(name) is Role.INPUT
            and spec.joint(name) is Joint.WIRE
            and name not in play.possibly
            for slot in slots
        ]
