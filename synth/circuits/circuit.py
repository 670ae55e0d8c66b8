"""A combinational circuit as a graph of two-input ANDs whose edges may be inverted.

Literals are numbered as in AIGER (A. Biere, The AIGER And-Inverter Graph Format, 2007; from
memory): ``2 * v`` is variable ``v``, ``2 * v + 1`` its complement. Variable 0 is the constant 0;
then come the inputs, then the ANDs, each after what it reads.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

FALSE, TRUE = 0, 1
"""The literals of the two constants."""

MOST_INPUTS = 32
"""Most inputs of a circuit that is built."""

MOST_ANDS = 4096
"""Most ANDs of a circuit that is read; far more than what can be laid out."""


@dataclass(frozen=True)
class Circuit:
    """An and-inverter graph with named inputs and outputs.

    Attributes:
        name: what it is called.
        inputs: names, in order; the first is the most significant bit of an assignment.
        ands: the two literals that each AND reads; AND ``i`` is variable
            ``len(inputs) + 1 + i`` and reads smaller variables only.
        outputs: for each name, in order, the literal that it shows. Read-only.
    """

    name: str
    inputs: tuple[str, ...]
    ands: tuple[tuple[int, int], ...]
    outputs: Mapping[str, int]

    def __post_init__(self) -> None:
        object.__setattr__(self, "outputs", MappingProxyType(dict(self.outputs)))
        first = len(self.inputs) + 1
        for index, pair in enumerate(self.ands):
            if not all(0 <= literal < 2 * (first + index) for literal in pair):
                raise ValueError(f"AND {index} reads {pair}, not what comes before it")
        for name, literal in self.outputs.items():
            if not 0 <= literal < 2 * (first + len(self.ands)):
                raise ValueError(f"output {name!r} shows literal {literal}, which there is not")

    def __reduce__(self) -> tuple[object, ...]:
        return (Circuit, (self.name, self.inputs, self.ands, dict(self.outputs)))

    @property
    def first_and(self) -> int:
        """The variable of the first AND."""
        return len(self.inputs) + 1

    @cached_property
    def depth(self) -> int:
        """Most ANDs on the way from an input to an output."""
        levels = [0] * self.first_and
        for one, other in self.ands:
            levels.append(1 + max(levels[one >> 1], levels[other >> 1]))
        return max((levels[literal >> 1] for literal in self.outputs.values()), default=0)

    def evaluate(self, masks: Sequence[int], full: int) -> dict[str, int]:
        """What the outputs show in many assignments at once, a bit each.

        Args:
            masks: for each input the assignments in which it is 1.
            full: all assignments.
        """
        values = [0, *masks]

        def value(literal: int) -> int:
            return values[literal >> 1] ^ (full if literal & 1 else 0)

        for one, other in self.ands:
            values.append(value(one) & value(other))
        return {name: value(literal) for name, literal in self.outputs.items()}


class CircuitBuilder:
    """Makes a circuit, AND by AND; equal ANDs are made once, trivial ones not at all.

    Args:
        inputs: names of the inputs.
    """

    def __init__(self, inputs: Iterable[str]) -> None:
        self.inputs = tuple(inputs)
        self._ands: list[tuple[int, int]] = []
        self._known: dict[tuple[int, int], int] = {}

    def input(self, index: int) -> int:
        """The literal of an input."""
        return 2 * (index + 1)

    def conjunction(self, one: int, other: int) -> int:
        """The literal of ``one & other``."""
        low, high = sorted((one, other))
        if low == FALSE or low ^ 1 == high:
            return FALSE
        if low in (TRUE, high):
            return high
        pair = (low, high)
        if pair not in self._known:
            self._ands.append(pair)
            self._known[pair] = 2 * (len(self.inputs) + len(self._ands))
        return self._known[pair]

    def disjunction(self, one: int, other: int) -> int:
        """The literal of ``one | other``."""
        return self.conjunction(one ^ 1, other ^ 1) ^ 1

    def exclusive_or(self, one: int, other: int) -> int:
        """The literal of ``one ^ other``."""
        return self.disjunction(self.conjunction(one, other ^ 1), self.conjunction(one ^ 1, other))

    def choice(self, condition: int, then: int, otherwise: int) -> int:
        """The literal of ``condition ? then : otherwise``."""
        return self.disjunction(
            self.conjunction(condition, then), self.conjunction(condition ^ 1, otherwise)
        )

    def circuit(self, name: str, outputs: Mapping[str, int]) -> Circuit:
        """The circuit, without the ANDs that no output needs."""
        first = len(self.inputs) + 1
        needed: set[int] = set()
        waiting = [literal >> 1 for literal in outputs.values()]
        while waiting:
            variable = waiting.pop()
            if variable >= first and variable not in needed:
                needed.add(variable)
                waiting += [literal >> 1 for literal in self._ands[variable - first]]
        place = {variable: variable for variable in range(first)}
        for variable in sorted(needed):
            place[variable] = len(place)

        def moved(literal: int) -> int:
            return 2 * place[literal >> 1] + (literal & 1)

        ands = []
        for variable in sorted(needed):
            one, other = self._ands[variable - first]
            ands.append((moved(one), moved(other)))
        shown = {name: moved(literal) for name, literal in outputs.items()}
        return Circuit(name, self.inputs, tuple(ands), shown)
