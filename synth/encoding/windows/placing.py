"""The clauses of a window that is asked with labels: signals are placed and routed.

For every node and signal one variable says that the node carries it, defined both ways: closed
under every cause, and never without one. A device in a free cell gives one of the labels: an
inverter one whose host carries earlier signals only, none of them on in a row where it is on, and
in every other row one that is; a buffer one that its back sees, in the same sense. Fixed devices
give what they gave, and must see what makes them. What is not known (a device that never settles, a
signal of another copy) is on at any time and vouches for nothing.

*Why a model is right:* by induction on ticks every device gives its label from the label's tick on
(``placement`` argues the same). *What is lost:* layouts that need a signal which the old one has
not, or has at another tick. So "no model" says little.
"""

from __future__ import annotations

from collections.abc import Iterable

from synth.encoding import causes
from synth.encoding.formula import FALSE, TRUE
from synth.encoding.geometry import Slot
from synth.encoding.question import Question
from synth.encoding.windows.bounds import HIGH, LOW
from synth.encoding.windows.carried import Carried
from synth.encoding.windows.graph import NOTHING, Cause, Graph, Thing, plays_of
from synth.encoding.windows.known import KnownFormula
from synth.encoding.windows.labels import Labels
from synth.encoding.windows.order import Order
from synth.encoding.windows.region import Region
from synth.encoding.windows.window import Window, surrounded
from synth.medium import Cell, Joint, Role


def state_placing(
    formula: KnownFormula, graph: Graph, window: Window, labels: Labels, region: Region
) -> None:
    """State all of it."""
    placing = _Placing(formula, graph, window, labels, region)
    placing.demands()
    placing.planes()


def kept_signals(graph: Graph, labels: Labels, window: Window, region: Region) -> dict[int, int]:
    """The masks of fixed devices, and of wires that the window cannot change."""
    kept: dict[int, int] = {}
    unknown = 1 << labels.unknown
    for number, thing in enumerate(graph.things):
        place = thing.places[0]
        cell = place.cell if isinstance(place, Slot) else place
        if cell in window.free:
            continue
        if thing.is_device:
            kept[number] = 1 << labels.devices.get((thing.family, place), labels.unknown)
        elif thing.family == "wire" and place not in region.touched:
            kept[number] = labels.carried.get((thing.family, place), unknown)
    return kept


BESIDE = 3
"""How near to a free cell a device has to stand for another one there to give its signal."""

MOVED = 1
"""How much farther away it may have stood before the cut."""


class _Placing:
    """Variables are asked for from the goal backwards, and stated once they are asked for."""

    def __init__(
        self,
        formula: KnownFormula,
        graph: Graph,
        window: Window,
        labels: Labels,
        region: Region,
    ) -> None:
        self.formula = formula
        self.graph = graph
        self.window = window
        self.question: Question = window.question
        self.labels = labels
        self.region = region
        self.unknown = labels.unknown
        self.kept = kept_signals(graph, labels, window, region)
        self.made = self._worth_making()
        inputs = {name: n for n, name in enumerate(self.question.spec.function.inputs)}
        self.inputs = inputs
        self.carried = Carried(graph, inputs, self.kept, self.made, 1 << self.unknown)
        self.order = Order(formula, graph, window.longest_run)
        self.rows = [play.index for play in self.question.plays]
        self._variables: dict[tuple[int, int], int] = {}
        self._ahead: list[tuple[int, int]] = []

    def _worth_making(self) -> dict[int, int]:
        """For each device in a free cell the mask of the signals that it may give.

        Of all the signals of a large layout a cell has only to do with a few: those whose devices
        stood or stand near it. Where nothing is fixed, every signal may come from anywhere.
        """
        labels, free = self.labels, {}
        for number in self.graph.devices:
            cell = self.graph.things[number].places[0]
            if number not in self.kept and not isinstance(cell, Slot):
                free[number] = cell
        if not labels.devices:
            every = sum(1 << n for n, label in enumerate(labels.signals) if label.tick)
            return dict.fromkeys(free, every)
        near: dict[Cell, int] = {}
        fixed = (
            (place, signal)
            for (_, place), signal in labels.devices.items()
            if not isinstance(place, Slot)
        )
        # What a cut or a slice put in has moved lies within a cell or two of where it was.
        for given, distance in ((fixed, BESIDE), (labels.loose, BESIDE + MOVED)):
            for place, signal in given:
                for cell in surrounded((place,), distance) & self.window.free:
                    near[cell] = near.get(cell, 0) | 1 << signal
        return {number: near.get(cell, 0) for number, cell in free.items()}

    # Literals

    def literal(self, code: int, signal: int) -> int:
        """The literal that says that a cause carries a signal; a constant where it is known."""
        if code & 1:
            return self._foreign(code) if signal == self.unknown else FALSE
        number = code >> 1
        if self.carried.masks[LOW][number] >> signal & 1:
            return TRUE
        if not self.carried.masks[HIGH][number] >> signal & 1:
            return FALSE
        key = (number, signal)
        if key not in self._variables:
            self._variables[key] = self.formula.fresh("carries", *key)
            self._ahead.append(key)
        return self._variables[key]

    def _foreign(self, code: int) -> int:
        """A literal that holds wherever a node of another copy carries anything at all."""
        name = ("foreign", code)
        known = self.formula.literal(*name)
        if known != FALSE:
            return known
        own = code & ~1
        signals = plays_of(self.carried.masks[HIGH][code >> 1])
        literals = [self.literal(own, signal) for signal in signals]
        if TRUE in literals:
            return TRUE
        foreign = self.formula.fresh(*name)
        for literal in literals:
            self.formula.add("what another copy shows is not known", (-literal, foreign))
        return foreign

    # What must hold

    def demands(self) -> None:
        """What pins, fixed devices and devices in free cells must see."""
        self._goal()
        for number in self.graph.devices:
            thing = self.graph.things[number]
            if number in self.kept:
                if thing.places[0] in self.region.answering:
                    self._keeps_its_label(number, thing)
            elif thing.presence != FALSE:
                self._gives_a_label(number, thing)

    def _goal(self) -> None:
        """Section 5: outputs read their values, and no input is fed back."""
        spec, statics, delay = self.question.spec, self.graph.statics, self.question.delay
        for name, slots in statics.slots.items():
            for slot in slots:
                pin = statics.pin(name, slot)
                if pin == FALSE or slot not in self.region.pin_places:
                    continue
                if spec.role(name) is Role.INPUT:
                    if spec.joint(name) is Joint.WIRE:
                        self._is_not_fed_back(name, slot, pin)
                    continue
                column = spec.function.outputs[name]
                seen = causes.read_by(self.graph, spec.joint(name), slot)
                values = [column[play.row] for play in self.question.plays if play.row is not None]
                on = sum(1 << row for row, v in zip(self.rows, values, strict=True) if v == "1")
                off = sum(1 << row for row, v in zip(self.rows, values, strict=True) if v == "0")
                self._sees(seen, on, off, delay, (-pin,))

    def _is_not_fed_back(self, name: str, slot: Slot, pin: int) -> None:
        lead = self.graph.lead(slot.cell, slot.face)
        own = self.labels.signals[self.inputs[name]].rows
        for signal in plays_of(self.carried.masks[HIGH][lead >> 1]):
            if signal == self.unknown or self.labels.signals[signal].rows & ~own:
                self.formula.add("no input is fed back", (-pin, -self.literal(lead, signal)))

    def _keeps_its_label(self, number: int, thing: Thing) -> None:
        signal = self.kept[number].bit_length() - 1
        if signal == self.unknown:
            return
        self._makes(thing, signal, ())

    def _gives_a_label(self, number: int, thing: Thing) -> None:
        """A device in a free cell gives some label, and sees what makes it."""
        given = []
        for signal in plays_of(self.made[number]):
            gives = self.literal(2 * number, signal)
            given.append(gives)
            self.formula.add("what gives a signal is there", (-gives, thing.presence))
            self._makes(thing, signal, (-gives,))
        self.formula.add("a device gives a signal", (-thing.presence, *given))

    def _makes(self, thing: Thing, signal: int, unless: tuple[int, ...]) -> None:
        """What a device must see to give a signal."""
        label = self.labels.signals[signal]
        every = sum(1 << row for row in self.rows)
        if thing.family == "inverter":
            for hangs, host in thing.hosts:
                if hangs != FALSE:
                    on = every & ~label.rows
                    self._sees([host], on, label.rows, label.tick - 1, (*unless, -hangs))
            return
        latest = label.tick - (2 * thing.delay - 1)
        self._sees(thing.backs, label.rows, every & ~label.rows, latest, unless)

    def _sees(
        self, codes: Iterable[int], on: int, off: int, latest: int, unless: tuple[int, ...]
    ) -> None:
        """In the rows ``on`` something known by ``latest`` is seen, in the rows ``off`` nothing."""
        seen = [code for code in codes if code != NOTHING]
        reasons: dict[int, list[int]] = {row: [] for row in plays_of(on)}
        for code in seen:
            for signal in plays_of(self.carried.value(HIGH, code)):
                if signal == self.unknown:
                    rows, tick = on | off, latest + 1
                else:
                    rows, tick = self.labels.signals[signal]
                literal = self.literal(code, signal)
                if rows & off or (tick > latest and off):
                    self.formula.add("nothing else is seen", (*unless, -literal))
                elif tick <= latest:
                    for row in plays_of(on & rows):
                        reasons[row].append(literal)
        for literals in reasons.values():
            self.formula.add("what is on is seen", (*unless, *literals))

    # Planes

    def planes(self) -> None:
        """State what carries what, for all that was asked for, until nothing new is asked for."""
        while self._ahead:
            number, signal = self._ahead.pop()
            thing = self.graph.things[number]
            if thing.family == "input":
                self._input(number, thing, signal)
            elif not thing.is_device:
                self._plane(number, thing, signal)

    def _input(self, number: int, thing: Thing, signal: int) -> None:
        literal = self.literal(2 * number, signal)
        pins = [pin for name, pin in thing.inputs.items() if self.inputs[name] == signal]
        self.formula.add("an input stands at its place", (-literal, *pins))
        for pin in pins:
            self.formula.add("an input stands at its place", (-pin, literal))

    def _plane(self, number: int, thing: Thing, signal: int) -> None:
        """A node carries a signal exactly where it is there and a cause carries it."""
        add, effect = self.formula.add, self.literal(2 * number, signal)
        reasons = []
        for cause in thing.causes:
            literal = self.literal(cause.code, signal)
            if literal != FALSE:
                add(
                    "carried: by what causes it",
                    (-thing.presence, -cause.condition, -literal, effect),
                )
                reasons.append(self._both(cause, literal, signal))
        for cause in thing.links:
            literal = self.literal(cause.code, signal)
            if literal != FALSE:
                add("carried: over links", (-thing.presence, -cause.condition, -literal, effect))
                reasons.append(self._given(number, cause, literal, signal, effect))
        if signal != self.unknown:
            add("carried: by what is there", (-effect, thing.presence))
            add("carried: not without a cause", (-effect, *reasons))

    def _both(self, cause: Cause, literal: int, signal: int) -> int:
        if signal == self.unknown or cause.condition == TRUE:
            return literal
        if literal == TRUE:
            return cause.condition
        name = ("both", cause, signal)
        both = self.formula.literal(*name)
        if both == FALSE:
            both = self.formula.fresh(*name)
            self.formula.add("carried: needs both", (-both, literal))
            self.formula.add("carried: needs both", (-both, cause.condition))
        return both

    def _given(self, number: int, cause: Cause, literal: int, signal: int, effect: int) -> int:
        if signal == self.unknown:
            return literal
        given = self.order.given(signal, number, cause)
        if given == TRUE:
            return literal
        self.formula.add("carried: a giver carries it", (-given, -effect, literal))
        return given
