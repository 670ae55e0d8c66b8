"""The clauses of a window: one plane of them for each rail, tick and play, as far as needed.

They are those of ``possibly``, ``surely`` and ``givers``, said of the nodes of the graph: a cause
possibly on makes its effect possibly on, and what is surely on has a cause that is. Constants are
written in, and an effect that is a constant needs no clause: it is what it is whatever the
free cells hold (``bounds``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from synth.encoding.formula import FALSE, TRUE
from synth.encoding.geometry import Slot
from synth.encoding.question import Question
from synth.encoding.windows.bounds import HIGH, LOW, POSSIBLE, SURE, Bounds
from synth.encoding.windows.graph import Cause, Graph, Thing
from synth.encoding.windows.known import KnownFormula
from synth.encoding.windows.needs import Demand, Needs

RAILS = ("surely", "possibly")


def plays_of(mask: int) -> Iterator[int]:
    """The indices of the plays in a mask."""
    while mask:
        lowest = mask & -mask
        yield lowest.bit_length() - 1
        mask ^= lowest


class Planes:
    """States what is surely and possibly on.

    Args:
        longest_run: most wires that give strength to one another in a row through links that may
            close a loop; None for no bound.
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
        self._loops = loops_of(graph)
        self._longest_run = longest_run
        self._places: dict[tuple[int, int], list[int]] = {}
        self._given: dict[tuple[int, int, int], int] = {}

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
        """A literal that says that a wire is lit through a link, from one that comes earlier."""
        source = self.literal(SURE, tick, cause.code, play)
        if source == FALSE:
            return FALSE
        giver = cause.code >> 1
        key = (play, number, giver)
        given = self._given.get(key)
        if given is None:
            loop = self._loops.get(number)
            if loop is None or loop != self._loops.get(giver):
                # No way back: nothing that this wire lights can have lit the giver.
                given = cause.condition
                if given != TRUE:
                    given = self.formula.fresh("given", *key)
                    self.formula.add("surely: a giver is linked", (-given, cause.condition))
            else:
                given = self._earlier(cause, key)
            self._given[key] = given
        if given == TRUE:
            return source
        self.formula.add("surely: a giver is lit", (-given, -effect, source))
        return given

    def _earlier(self, cause: Cause, key: tuple[int, int, int]) -> int:
        """The giver's place in the order of a play comes before the wire's (``givers``)."""
        play, number, giver = key
        rule = "surely: a giver comes first"
        own, its = self._place(play, number), self._place(play, giver)
        given = self.formula.fresh("given", *key)
        self.formula.add("surely: a giver is linked", (-given, cause.condition))
        if not own:
            self.formula.add(rule, (-given,))
            return given
        self.formula.add(rule, (-given, -own[0]))
        for mine, one_earlier in zip(own[1:], its, strict=False):
            self.formula.add(rule, (-given, -mine, one_earlier))
        self.formula.add(rule, (-given, its[-1]))
        return given

    def _place(self, play: int, number: int) -> list[int]:
        """Literals that say that a wire is at place ``n`` of the order of its play, or before."""
        key = (play, number)
        if key not in self._places:
            last = self._last_place(self._loops[number])
            places = [self.formula.fresh("place", play, number, n) for n in range(last)]
            for earlier, later in pairwise(places):
                self.formula.add("surely: places are in order", (-earlier, later))
            self._places[key] = places
        return self._places[key]

    def _last_place(self, loop: int) -> int:
        """One less than the most wires of a loop of links that can be there together.

        No wire stands on a wire: of a column at most every other cell that may hold one does.
        """
        columns: dict[tuple[int, int], list[int]] = {}
        others = 0
        for number, own in self._loops.items():
            if own != loop:
                continue
            places = self.graph.things[number].places
            first = places[0]
            if len(places) > 1 or isinstance(first, Slot):
                others += 1
            else:
                x, y, z = first
                columns.setdefault((x, y), []).append(z)
        most = others + sum(_apart(sorted(heights)) for heights in columns.values())
        bound = most if self._longest_run is None else min(most, self._longest_run)
        return max(0, bound - 1)

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
        """Section 5: what is sure is possible and stays so; what is impossible stays so."""
        ticks = self.question.ticks
        sure, possible = self._variables
        imply = self._imply
        for tick in ticks:
            for key, literal in sure[tick].items():
                imply("what is sure is possible", literal, possible[tick].get(key))
                if tick + 1 in ticks:
                    imply("what is sure stays sure", literal, sure[tick + 1].get(key))
                    if key not in possible[tick]:
                        imply("what is sure is possible", literal, possible[tick + 1].get(key))
                if tick > 0 and key not in possible[tick]:
                    imply("what is sure is possible", literal, possible[tick - 1].get(key))
            if tick > 0:
                for key, literal in possible[tick].items():
                    imply("what is impossible stays so", literal, possible[tick - 1].get(key))

    def _neighbour_knows_less(self) -> None:
        """Whoever knows less is sure of less and thinks more possible (``Implied``)."""
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
                        self._imply("the neighbour is sure of less", other, literal)
                    else:
                        self._imply("the neighbour thinks more possible", literal, other)

    def _imply(self, rule: str, cause: int | None, effect: int | None) -> None:
        if cause is not None and effect is not None and cause != effect:
            self.formula.add(rule, (-cause, effect))


def _apart(heights: list[int]) -> int:
    """Most of some heights of which no two follow one another."""
    count, last = 0, -2
    for height in heights:
        if height > last + 1:
            count, last = count + 1, height
    return count


def loops_of(graph: Graph) -> dict[int, int]:
    """For each wire that links may lead back to, the number of its loop (R. Tarjan, Depth-First
    Search and Linear Graph Algorithms, SIAM J. Comput. 1972).
    """
    index: dict[int, int] = {}
    lowest: dict[int, int] = {}
    waiting: list[int] = []
    on_stack: set[int] = set()
    found: dict[int, int] = {}
    into = {
        number: [code >> 1 for condition, code in graph.things[number].links if condition != FALSE]
        for number in graph.wires
    }
    for root in graph.wires:
        if root in index:
            continue
        path = [(root, iter(into[root]))]
        index[root] = lowest[root] = len(index)
        waiting.append(root)
        on_stack.add(root)
        while path:
            number, rest = path[-1]
            for other in rest:
                if other not in index:
                    index[other] = lowest[other] = len(index)
                    waiting.append(other)
                    on_stack.add(other)
                    path.append((other, iter(into[other])))
                    break
                if other in on_stack:
                    lowest[number] = min(lowest[number], index[other])
            else:
                path.pop()
                if path:
                    parent = path[-1][0]
                    lowest[parent] = min(lowest[parent], lowest[number])
                if lowest[number] == index[number]:
                    members = []
                    while True:
                        member = waiting.pop()
                        on_stack.discard(member)
                        members.append(member)
                        if member == number:
                            break
                    if len(members) > 1:
                        found.update(dict.fromkeys(members, number))
    return found
