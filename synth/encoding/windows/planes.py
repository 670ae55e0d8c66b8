"""The clauses of a window: one plane of them for each rail, tick and play, as far as needed.

They are those of ``possibly``, ``surely`` and ``givers``, said of the nodes of the graph: a cause
possibly on makes its effect possibly on, and what is surely on has a cause that is. Constants are
written in, and an effect that is a constant needs no clause: its value does not depend on the free
cells (``bounds``).
"""

from __future__ import annotations

from collections.abc import Iterable

from synth.encoding.formula import FALSE, TRUE
from synth.encoding.question import Question
from synth.encoding.windows.bounds import HIGH, LOW, POSSIBLE, SURE, Bounds
from synth.encoding.windows.graph import Cause, Graph, Thing, plays_of
from synth.encoding.windows.known import KnownFormula
from synth.encoding.windows.needs import Demand, Needs
from synth.encoding.windows.order import Order

RAILS = ("surely", "possibly")


class Planes:
    """States what is surely and possibly on.

    Args:
        longest_run: see ``Order``.
    """

    def __init__(
        self,
        formula: KnownFormula,
        question: Question,
        graph: Graph,
        bounds: Bounds,
        needs: Needs,
        longest_run: int | None,
    ) -> None:
        self.formula = formula
        self.question = question
        self.graph = graph
        self.bounds = bounds
        self.needs = needs
        self.neighbour = -1 if bounds.neighbour is None else bounds.neighbour
        self._variables: list[list[dict[int, int]]] = [
            [{} for _ in question.ticks] for _ in (SURE, POSSIBLE)
        ]
        self._plays = len(question.all_plays) + 1 + max(p.index for p in question.all_plays)
        self.order = Order(formula, graph, longest_run)

    def state(self, demands: Iterable[Demand], compared: bool) -> None:
        """State all of it."""
        self._input_literals()
        for tick in self.question.ticks:
            for number, thing in enumerate(self.graph.things):
                if thing.family == "input":
                    continue
                for play in plays_of(self.needs.masks[POSSIBLE][tick][number]):
                    self._possible(number, thing, tick, play)
                for play in plays_of(self.needs.masks[SURE][tick][number]):
                    self._sure(number, thing, tick, play)
        for demand in demands:
            self._demand(demand)
        self._in_time()
        if compared:
            self._neighbour_knows_less()

    # Literals

    def literal(self, rail: int, tick: int, code: int, play: int) -> int:
        """The literal of a cause at a tick of a play: a constant where it is known."""
        if code & 1:
            if rail == SURE:
                return FALSE
            play = self.neighbour
        number = code >> 1
        key = number * self._plays + play
        variable = self._variables[rail][tick].get(key)
        if variable is not None:
            return variable
        masks = self.bounds.masks[rail]
        if not masks[HIGH][tick][number] >> play & 1:
            return FALSE
        if masks[LOW][tick][number] >> play & 1:
            return TRUE
        if rail == POSSIBLE and self._is_unknown(number, tick):
            variable = self.graph.things[number].presence
        else:
            variable = self.formula.fresh(RAILS[rail], tick, number, play)
        self._variables[rail][tick][key] = variable
        return variable

    def _is_unknown(self, number: int, tick: int) -> bool:
        """Section 5: whether a device looks back at ticks before 0, and so is possibly on."""
        thing = self.graph.things[number]
        return thing.is_device and tick < (2 * thing.delay - 1 if thing.delay else 1)

    def _input_literals(self) -> None:
        """An input is on exactly where the pin of one that is on stands at the place."""
        known: dict[tuple[int, frozenset[str]], int] = {}
        for number in self.graph.inputs:
            inputs = self.graph.things[number].inputs
            for rail in (SURE, POSSIBLE):
                for play in self.question.all_plays:
                    on = play.on if rail == SURE else play.possibly
                    names = frozenset(name for name in inputs if name in on)
                    if (number, names) not in known:
                        known[number, names] = self.formula.define_or(
                            "an input that is on stands at its place",
                            ("input on", number, names),
                            [inputs[name] for name in sorted(names)],
                        )
                    literal = known[number, names]
                    if literal not in (TRUE, FALSE):
                        for tick in self.question.ticks:
                            key = number * self._plays + play.index
                            self._variables[rail][tick][key] = literal

    # The possible rail

    def _possible(self, number: int, thing: Thing, tick: int, play: int) -> None:
        """Sections 4 and 5: every cause that is possibly on has its effect."""
        add, effect = self.formula.add, self.literal(POSSIBLE, tick, 2 * number, play)
        absent = -thing.presence
        if self._is_unknown(number, tick):
            return
        if thing.family == "inverter":
            for hangs, host in thing.hosts:
                charged = self.literal(SURE, tick - 1, host, play)
                add("possibly: an inverter may follow its host", (-hangs, charged, effect))
            return
        if thing.is_device:
            for at in range(tick - (2 * thing.delay - 1), tick):
                for code in thing.backs:
                    seen = self.literal(POSSIBLE, at, code, play)
                    add("possibly: a buffer may follow its back", (absent, -seen, effect))
            return
        rule = f"possibly: what makes things {thing.family}"
        for condition, code in (*thing.causes, *thing.links):
            cause = self.literal(POSSIBLE, tick, code, play)
            if cause != FALSE:
                add(rule, (absent, -condition, -cause, effect))

    # The sure rail

    def _sure(self, number: int, thing: Thing, tick: int, play: int) -> None:
        """Sections 4 and 5: nothing is surely on without a reason."""
        add, effect = self.formula.add, self.literal(SURE, tick, 2 * number, play)
        add("surely: what is on is there", (-effect, thing.presence))
        if thing.family == "inverter":
            for hangs, host in thing.hosts:
                charged = self.literal(POSSIBLE, tick - 1, host, play)
                add("surely: an inverter follows its host", (-effect, -hangs, -charged))
            return
        if thing.family == "buffer":
            for at in range(tick - thing.delay, tick):
                seen = [self.literal(SURE, at, code, play) for code in thing.backs]
                add("surely: a buffer follows its back", (-effect, *seen))
            return
        reasons = [-effect]
        for cause in thing.causes:
            reasons.append(self._reason(cause, number, tick, play))
        for cause in thing.links:
            reasons.append(self._giver(cause, number, tick, play, effect))
        add(f"surely: what makes things {thing.family}", reasons)

    def _reason(self, cause: Cause, number: int, tick: int, play: int) -> int:
        """A literal that needs a cause and its condition."""
        literal = self.literal(SURE, tick, cause.code, play)
        if cause.condition == TRUE or literal == FALSE:
            return literal
        if literal == TRUE:
            return cause.condition
        key = ("both", tick, play, cause)
        both = self.formula.literal(*key)
        if both == FALSE:
            both = self.formula.fresh(*key)
            self.formula.add("surely: a reason needs both", (-both, literal))
            self.formula.add("surely: a reason needs both", (-both, cause.condition))
        return both

    def _giver(self, cause: Cause, number: int, tick: int, play: int, effect: int) -> int:
        """A literal that says that a wire gets power through a link from an earlier one."""
        source = self.literal(SURE, tick, cause.code, play)
        if source == FALSE:
            return FALSE
        given = self.order.given(play, number, cause)
        if given == TRUE:
            return source
        self.formula.add("surely: a giver has power", (-given, -effect, source))
        return given

    # What must hold, and what follows

    def _demand(self, demand: Demand) -> None:
        for play in plays_of(demand.mask):
            literals = [self.literal(demand.rail, demand.tick, code, play) for code in demand.codes]
            if demand.rail == SURE:
                self.formula.add("what must be on", (*demand.unless, *literals))
            else:
                for literal in literals:
                    self.formula.add("what must be off", (*demand.unless, -literal))

    def _in_time(self) -> None:
        """Section 5: what is surely on is possibly on too; both verdicts stay as they are."""
        ticks = self.question.ticks
        sure, possible = self._variables
        imply = self._imply
        for tick in ticks:
            for key, literal in sure[tick].items():
                imply("surely on implies possibly on", literal, possible[tick].get(key))
                if tick + 1 in ticks:
                    imply("surely on stays surely on", literal, sure[tick + 1].get(key))
                    if key not in possible[tick]:
                        imply("surely on implies possibly on", literal, possible[tick + 1].get(key))
                if tick > 0 and key not in possible[tick]:
                    imply("surely on implies possibly on", literal, possible[tick - 1].get(key))
            if tick > 0:
                for key, literal in possible[tick].items():
                    imply("not possibly on stays so", literal, possible[tick - 1].get(key))

    def _neighbour_knows_less(self) -> None:
        """With fewer inputs known, less is surely on and more is possibly on (``Implied``)."""
        if self.bounds.neighbour is None:
            return
        for tick in self.question.ticks:
            for rail in (SURE, POSSIBLE):
                variables = self._variables[rail][tick]
                for key, literal in variables.items():
                    number, play = divmod(key, self._plays)
                    if play == self.neighbour:
                        continue
                    other = variables.get(number * self._plays + self.neighbour)
                    if rail == SURE:
                        self._imply("the neighbour has less surely on", other, literal)
                    else:
                        self._imply("the neighbour has more possibly on", literal, other)

    def _imply(self, rule: str, cause: int | None, effect: int | None) -> None:
        if cause is not None and effect is not None and cause != effect:
            self.formula.add(rule, (-cause, effect))
