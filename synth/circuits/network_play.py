"""The three-valued play of a layout without feedback, on the network that was read off it.

It is the play of the fabric (``synth.simulator.settling``), tick by tick, not only where that ends.
Power only adds up (section 4 of the medium): at one instant what an inverter, a buffer or an output
looks at surely has power where one of the emitters whose strength gets there is surely on, and
possibly where one of those from which links lead there is possibly on. A layout has a network only
if both sets are the same wherever something looks, no buffer can be held, and nothing comes back to
the lead of an input (``synth.simulator.acyclic``). Then wires and solids need no values of their
own: what is seen is an OR of emitters, sure ones and possible ones, and the next tick follows from
that by the rules of section 5, which are taken from where the fabric takes them.

It is much quicker, as a layout has far fewer emitters than cells, and since what is known stays
known: an inverter or buffer that is known in every assignment is not asked again.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from synth.simulator.acyclic import Network
from synth.simulator.settling import saw_ever, saw_throughout


@dataclass(frozen=True, slots=True)
class Emitted:
    """One tick of the play: where each emitter is on, by its number, as masks of assignments."""

    sure: tuple[int, ...]
    possible: tuple[int, ...]

    def seen(self, group: Iterable[int]) -> tuple[int, int]:
        """Where one of some emitters is surely on, and where one possibly is."""
        numbers = tuple(group)
        return _union(self.sure, numbers), _union(self.possible, numbers)


def play_network(network: Network, masks: Mapping[str, int], full: int) -> Iterator[Emitted]:
    """The three-valued play, tick by tick from 0, up to the first at which everything is known.

    Args:
        network: what the simulator read off a layout.
        masks: for each input pin the assignments in which it is on.
        full: the mask of all assignments.
    """
    elements = network.elements
    sure = [0] * len(elements) + [0] * len(network.inputs)
    possible = [full] * len(elements) + [0] * len(network.inputs)
    for name, emitter in network.inputs.items():
        sure[emitter] = possible[emitter] = masks[name]
    # No buffer looks back further than the longest window.
    longest = max((2 * one.delay - 1 for one in elements), default=1)
    saw_sure: deque[list[int]] = deque(maxlen=longest)
    saw_possible: deque[list[int]] = deque(maxlen=longest)
    unknown = list(range(len(elements)))
    while True:
        yield Emitted(tuple(sure), tuple(possible))
        if not unknown:
            return
        # Entries of what is known stay 0: nothing looks back at them.
        sees_sure, sees_possible = [0] * len(elements), [0] * len(elements)
        for number in unknown:
            sees_sure[number] = _union(sure, elements[number].sees)
            sees_possible[number] = _union(possible, elements[number].sees)
        saw_sure.append(sees_sure)
        saw_possible.append(sees_possible)
        # All have seen this tick by now, so it may be overwritten by the next one.
        for number in unknown:
            delay = elements[number].delay
            if elements[number].inverts:
                sure[number] = full & ~sees_possible[number]
                possible[number] = full & ~sees_sure[number]
            else:
                sure[number] = saw_throughout(saw_sure, number, delay)
                possible[number] = saw_ever(saw_possible, number, 2 * delay - 1, full)
        unknown = [number for number in unknown if sure[number] != possible[number]]


def _union(values: Sequence[int], numbers: Iterable[int]) -> int:
    found = 0
    for number in numbers:
        found |= values[number]
    return found
