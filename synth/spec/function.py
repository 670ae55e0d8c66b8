"""A boolean function with any number of outputs, as truth tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

MAX_INPUTS = 8
"""Most inputs a specification may have: the search asks about all 2**inputs assignments."""


@dataclass(frozen=True, slots=True)
class BooleanFunction:
    """Truth tables over named inputs.

    Attributes:
        inputs: names, in order; the first is the most significant bit of an assignment.
        outputs: for each output name, in order, one character for every input assignment in
            counting order: ``0``, ``1`` or ``-`` (don't care). Read-only.
    """

    inputs: tuple[str, ...]
    outputs: Mapping[str, str]

    def __post_init__(self) -> None:
        rows = 1 << len(self.inputs)
        for name, column in self.outputs.items():
            if len(column) != rows or set(column) - set("01-"):
                raise ValueError(f"output {name!r} needs {rows} characters of 0, 1 and -")
        object.__setattr__(self, "inputs", tuple(self.inputs))
        object.__setattr__(self, "outputs", MappingProxyType(dict(self.outputs)))

    def __hash__(self) -> int:
        return hash((self.inputs, tuple(self.outputs.items())))

    def __reduce__(self) -> tuple[object, ...]:
        return (BooleanFunction, (self.inputs, dict(self.outputs)))

    @property
    def rows(self) -> int:
        """The number of input assignments."""
        return 1 << len(self.inputs)

    def assignments(self) -> Iterator[tuple[int, ...]]:
        """Every input assignment in counting order, as one 0 or 1 an input."""
        count = len(self.inputs)
        for row in range(self.rows):
            yield tuple(row >> (count - 1 - index) & 1 for index in range(count))

    def permuted(self, order: tuple[int, ...]) -> BooleanFunction:
        """The function whose input ``i`` acts as input ``order[i]`` of this one.

        Names of inputs stay where they are: only the columns change. The function is
        unchanged by the permutation exactly when the result equals it.
        """
        count = len(self.inputs)
        columns = {}
        for name, column in self.outputs.items():
            picked = []
            for bits in self.assignments():
                row = 0
                for index in range(count):
                    row |= bits[index] << (count - 1 - order[index])
                picked.append(column[row])
            columns[name] = "".join(picked)
        return BooleanFunction(self.inputs, columns)

    def arranged(self, inputs: Sequence[str], outputs: Sequence[str]) -> BooleanFunction:
        """The same function of the same names, in another order.

        Args:
            inputs, outputs: all names of this one, in the order wanted.
        """
        places = [inputs.index(name) for name in self.inputs]
        columns = dict.fromkeys(outputs, "")
        for bits in self.assignments():
            row = int("0" + "".join(str(bits[place]) for place in places), 2)
            for name in outputs:
                columns[name] += self.outputs[name][row]
        return BooleanFunction(tuple(inputs), columns)
