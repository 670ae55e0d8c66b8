"""Which signals a node carries whatever the free cells hold, and which it may carry.

As ``bounds``, but of signals (``labels``) in the place of plays, and of one instant: bit ``i`` of a
mask is signal ``i``, the bit beyond the last is what is not known. Whatever comes from another copy
of a stack is not known here.
"""

from __future__ import annotations

from collections.abc import Mapping

from synth.encoding.formula import FALSE, TRUE
from synth.encoding.windows.bounds import HIGH, LOW
from synth.encoding.windows.graph import Graph


class Carried:
    """Both bounds of what each node carries.

    Args:
        graph: the nodes.
        inputs: the number of the signal of each input.
        kept: masks of fixed devices, and of wires that the free cells cannot change.
        made: for each free device the mask of the signals that it may give.
        unknown: the bit of what is not known.
    """

    def __init__(
        self,
        graph: Graph,
        inputs: Mapping[str, int],
        kept: Mapping[int, int],
        made: Mapping[int, int],
        unknown: int,
    ) -> None:
        self.graph = graph
        self.kept = kept
        self.unknown = unknown
        self.masks = [[0] * len(graph.things) for _ in (LOW, HIGH)]
        for number in graph.inputs:
            for name, pin in graph.things[number].inputs.items():
                bit = 1 << inputs[name]
                self.masks[LOW][number] |= bit if pin == TRUE else 0
                self.masks[HIGH][number] |= bit if pin != FALSE else 0
        for number in graph.devices:
            if number not in kept:
                self.masks[HIGH][number] = made.get(number, 0)
        for number, mask in kept.items():
            self.masks[LOW][number] = self.masks[HIGH][number] = mask
        for number in graph.driven:
            self._sum(number)
        for number in graph.wires:
            if number not in kept:
                self._sum(number)
        self._pass_on(LOW)
        self._pass_on(HIGH)
        for number in graph.charged:
            self._sum(number)

    def value(self, bound: int, code: int) -> int:
        """The mask of a cause; of one in another copy, the bit of what is not known."""
        mask = self.masks[bound][code >> 1]
        if code & 1:
            return self.unknown if mask else 0
        return mask

    def open(self, number: int) -> int:
        """The signals of which the free cells decide whether a node carries them."""
        return self.masks[HIGH][number] & ~self.masks[LOW][number]

    def _sum(self, number: int) -> None:
        thing = self.graph.things[number]
        for condition, code in thing.causes:
            self.masks[HIGH][number] |= self.value(HIGH, code)
            if condition == TRUE and thing.presence == TRUE:
                self.masks[LOW][number] |= self.value(LOW, code)

    def _pass_on(self, bound: int) -> None:
        things, masks = self.graph.things, self.masks[bound]
        passed: dict[int, list[int]] = {}
        for number in self.graph.wires:
            if number in self.kept or (bound == LOW and things[number].presence != TRUE):
                continue
            for condition, code in things[number].links:
                if condition == TRUE or (bound == HIGH and condition != FALSE):
                    passed.setdefault(code >> 1, []).append(number)
        ahead = [number for number in passed if masks[number]]
        while ahead:
            number = ahead.pop()
            for target in passed.get(number, ()):
                if masks[number] & ~masks[target]:
                    masks[target] |= masks[number]
                    ahead.append(target)
