"""Which wire gives which its strength: two linked wires must not vouch for each other.

As in ``givers``: in each plane (a play, or a signal) every wire that may be part of a loop of links
has a place in an order, and whatever gives it strength comes before it. Links that no loop goes
through need no order.
"""

from __future__ import annotations

from itertools import pairwise

from synth.encoding.formula import FALSE, TRUE
from synth.encoding.geometry import Slot
from synth.encoding.windows.graph import Cause, Graph
from synth.encoding.windows.known import KnownFormula


class Order:
    """Declares givers and places as they are asked for.

    Args:
        formula: takes variables and clauses.
        graph: the wires and their links.
        longest_run: most wires that give strength to one another in a row through links that may
            close a loop; None for no bound.
    """

    def __init__(self, formula: KnownFormula, graph: Graph, longest_run: int | None) -> None:
        self._formula = formula
        self._graph = graph
        self._longest_run = longest_run
        self._loops = loops_of(graph)
        self._last: dict[int, int] = {}
        self._places: dict[tuple[int, int], list[int]] = {}
        self._given: dict[tuple[int, int, Cause], int] = {}

    def given(self, plane: int, number: int, cause: Cause) -> int:
        """The literal that says that a wire takes its strength through a link; perhaps true."""
        key = (plane, number, cause)
        given = self._given.get(key)
        if given is None:
            giver = cause.code >> 1
            loop = self._loops.get(number)
            if loop is not None and loop == self._loops.get(giver):
                given = self._earlier(plane, number, cause)
            elif cause.condition == TRUE:
                given = TRUE
            else:
                # No way back: nothing that this wire powers can have powered the giver.
                given = self._formula.fresh("given", *key)
                self._formula.add("surely: a giver is linked", (-given, cause.condition))
            self._given[key] = given
        return given

    def _earlier(self, plane: int, number: int, cause: Cause) -> int:
        """The giver's place in the order of the plane comes before the wire's."""
        add, rule = self._formula.add, "surely: a giver comes first"
        own, its = self._place(plane, number), self._place(plane, cause.code >> 1)
        given = self._formula.fresh("given", plane, number, cause)
        add("surely: a giver is linked", (-given, cause.condition))
        if not own:
            add(rule, (-given,))
            return given
        add(rule, (-given, -own[0]))
        for mine, one_earlier in zip(own[1:], its, strict=False):
            add(rule, (-given, -mine, one_earlier))
        add(rule, (-given, its[-1]))
        return given

    def _place(self, plane: int, number: int) -> list[int]:
        """Literals that say that a wire is at place ``n`` of the order, or before."""
        key = (plane, number)
        if key not in self._places:
            last = self._last_place(self._loops[number])
            places = [self._formula.fresh("place", plane, number, n) for n in range(last)]
            for earlier, later in pairwise(places):
                self._formula.add("surely: places are in order", (-earlier, later))
            self._places[key] = places
        return self._places[key]

    def _last_place(self, loop: int) -> int:
        """One less than the most wires of a loop of links that can be there together.

        No wire stands on a wire: of a column at most every other cell that may hold one does.
        """
        if loop not in self._last:
            columns: dict[tuple[int, int], list[int]] = {}
            others = 0
            for number in (number for number, own in self._loops.items() if own == loop):
                places = self._graph.things[number].places
                first = places[0]
                if len(places) > 1 or isinstance(first, Slot):
                    others += 1
                else:
                    x, y, z = first
                    columns.setdefault((x, y), []).append(z)
            most = others + sum(_apart(sorted(heights)) for heights in columns.values())
            bound = most if self._longest_run is None else min(most, self._longest_run)
            self._last[loop] = max(0, bound - 1)
        return self._last[loop]


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
