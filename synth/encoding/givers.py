"""Why a wire is surely powered: a source beside it, or strength from a wire through a link.

Two linked wires must not vouch for each other. There are two ways to say so.

**In order** (``Ordered``). Each wire has, in each play, a fixed place in an order, and whatever
gives it strength comes before it. The same givers serve at every tick, so order and givers are said
once a play. *Nothing is lost by that:* what is sure stays sure (section 5), so a wire may keep the
giver it had at the first tick at which it was powered through a link; a wire first powered by a
source beside it keeps that source. Order wires by that tick, then by their distance from a source
at it: every giver comes earlier, and no chain of givers is longer than the wires that fit the box
are many. *What is gained too much:* a chain of givers may be longer than the reach. In a box that
holds no more wires than the reach that cannot be, and the formula is exact. In a larger one a
formula without a model still proves that there is no layout, and a model may, rarely, describe a
layout whose signal fades; then the question is asked again, counting links.

**Counting links** (``Counted``). At every tick a powered wire says how many links away its source
is at most, up to the reach; its giver is one nearer. Always exact, and two to three times slower.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from itertools import pairwise

from synth.encoding.formula import FALSE, Formula
from synth.encoding.question import Play
from synth.encoding.rails import Rails
from synth.encoding.shape import Node, Shape

RULE = "4 along links"

Sources = Callable[[Play, Node, int], list[int]]
"""What may give a wire or lead its full strength at a tick of a play."""


class Ordered:
    """Givers come first in an order of their play."""

    def __init__(self, formula: Formula, shape: Shape, rails: Rails, sources: Sources) -> None:
        self.formula = formula
        self.shape = shape
        self.rails = rails
        self.sources = sources
        self._chosen: dict[int, list[list[int]]] = {}

    def state(self, play: Play, tick: int) -> None:
        """State the order once a play, and at every tick that powered wires have powered givers."""
        if play.index not in self._chosen:
            self._chosen[play.index] = self.givers_come_first(play)
        self.powered_wires_have_a_giver(play, tick)

    def givers_come_first(self, play: Play) -> list[list[int]]:
        """Section 4: choose givers and places in the order, for all ticks of a play.

        ``("place", play, node, n)`` says that the node is at place ``n`` or before.

        Returns:
            For each node, for each link into it, that it gives.

        Medium: 4 along links.
        """
        nodes, last = self.shape.nodes(), self.rails.most_links
        places: dict[Node, list[int]] = {}
        for node in nodes:
            own = [self.formula.declare("place", play.index, node, n) for n in range(last)]
            for earlier, later in pairwise(own):
                self.formula.add(RULE, [-earlier, later])
            places[node] = own
        chosen = []
        for node in nodes:
            givers = []
            for number, link in enumerate(self.shape.into[node]):
                given = self.formula.declare("given", play.index, node, number)
                self.formula.add(RULE, [-given, link.literal])
                comes_earlier(self.formula, RULE, given, places[node], places[link.source])
                givers.append(given)
            chosen.append(givers)
        return chosen

    def powered_wires_have_a_giver(self, play: Play, tick: int) -> None:
        """Section 4: a wire is powered by a source beside it or through a link.

        Medium: 4 along links.
        """
        now, chosen = self.rails.at("surely", play, tick), self._chosen[play.index]
        for (node, place, presence, sources), givers in zip(self._nodes, chosen, strict=True):
            powered = now[place]
            for given, source in zip(givers, sources, strict=True):
                self.formula.add(RULE, [-given, -powered, now[source]])
            self.formula.add(RULE, [-powered, presence])
            self.formula.add(RULE, [-powered, *self.sources(play, node, tick), *givers])

    @cached_property
    def _nodes(self) -> list[tuple[Node, int, int, list[int]]]:
        """Of each node: itself, its wire powered, that it is there, and its givers powered."""
        wire, shape = self.rails.places["surely"].wire, self.shape
        return [
            (
                node,
                wire(node),
                shape.presence(node),
                [wire(link.source) for link in shape.into[node]],
            )
            for node in shape.nodes()
        ]


def comes_earlier(formula: Formula, rule: str, given: int, own: list[int], its: list[int]) -> None:
    """If ``given``, the giver's place comes before the own one in an order.

    Args:
        own, its: for each place but the last, that it is there or before.
    """
    if not own:
        formula.add(rule, [-given])
        return
    formula.add(rule, [-given, -own[0]])
    for mine, one_earlier in zip(own[1:], its, strict=False):
        formula.add(rule, [-given, -mine, one_earlier])
    formula.add(rule, [-given, its[-1]])


class Counted:
    """Givers are one link nearer to a source, tick by tick, within the reach."""

    def __init__(self, formula: Formula, shape: Shape, rails: Rails, sources: Sources) -> None:
        self.formula = formula
        self.shape = shape
        self.rails = rails
        self.sources = sources

    def state(self, play: Play, tick: int) -> None:
        """Section 4: a wire is powered by a source beside it or through a link, within reach.

        ``("surely within", play, node, tick, n)`` says that a source is at most ``n`` links away.

        Medium: 4 along links.
        """
        longest = self.rails.longest_run
        for node in self.shape.nodes():
            powered = [self.rails.within(play, node, tick, steps) for steps in range(longest + 1)]
            sources = self.sources(play, node, tick)
            self._add(powered[longest], [self.shape.presence(node)])
            self._add(powered[0], sources)
            for fewer, more in pairwise(powered):
                self._add(fewer, [more])
            if longest > 0:
                givers = self._givers(play, node, tick, powered)
                self._add(powered[longest], [*sources, *givers])

    def _add(self, effect: int, reasons: list[int]) -> None:
        if effect != FALSE:
            self.formula.add(RULE, [-effect, *reasons])

    def _givers(self, play: Play, node: Node, tick: int, powered: list[int]) -> list[int]:
        """One literal a link: strength comes through it, from one link nearer to a source."""
        givers = []
        for number, link in enumerate(self.shape.into[node]):
            given = self.formula.declare("given", play.index, node, tick, number)
            self._add(given, [link.literal])
            for steps in range(1, len(powered)):
                nearer = self.rails.within(play, link.source, tick, steps - 1)
                self._add(given, [-powered[steps], nearer])
            givers.append(given)
        return givers
