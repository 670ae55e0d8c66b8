"""Signals that are defined in any order: put in order, cycles found, circuits made of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

from synth.circuits.circuit import MOST_ANDS, MOST_INPUTS, Circuit, CircuitBuilder
from synth.errors import InputError
from synth.fields import shown

Maker = Callable[[list[int]], int]
"""Makes the literal of a signal out of the literals of those it reads."""


def error_at(line: int, problem: str, way_out: str) -> InputError:
    """An error in a line of the text, counted from 1."""
    return InputError(problem, place=f"line {line}", way_out=way_out)


def refuse_input_as_output(name: str, is_input: bool, line: int) -> None:
    """Refuse an output that is called like an input: a layout has a pin for each.

    Args:
        name: of the output.
        is_input: whether an input is called so.
        line: that names the output.

    Raises:
        InputError: if one is.
    """
    if is_input:
        raise error_at(
            line, f"{shown(name)} is an input and an output", "give the output a name of its own"
        )


@dataclass
class _Definition:
    line: int
    reads: Sequence[str]
    make: Maker


def _cyclic(definitions: Mapping[str, _Definition], cycle: Sequence[str]) -> InputError:
    """An error in the line of the first signal of a cycle, which is its last as well."""
    return error_at(
        definitions[cycle[0]].line,
        f"{shown(cycle[0])} depends on itself: {' <- '.join(map(shown, cycle))}",
        "break the cycle: layouts are made of combinational circuits only",
    )


class Signals:
    """Named signals of a circuit that is being read.

    Args:
        builder: what makes the ANDs.
    """

    def __init__(self, builder: CircuitBuilder) -> None:
        self._builder = builder
        self._literals: dict[str, int] = {}
        self._lines: dict[str, int] = {}
        self._definitions: dict[str, _Definition] = {}

    def input(self, name: str, line: int) -> None:
        """An input.

        Raises:
            InputError: if it is defined already, or there are too many.
        """
        self._require_new(name, line)
        if len(self._literals) == MOST_INPUTS:
            raise error_at(
                line,
                f"more than {MOST_INPUTS} inputs",
                f"give a circuit of at most {MOST_INPUTS} inputs, or cut it into pieces",
            )
        self._lines[name] = line
        self._literals[name] = self._builder.input(len(self._literals))

    def _require_new(self, name: str, line: int) -> None:
        if name in self._lines:
            raise error_at(
                line,
                f"{shown(name)} is defined a second time (first in line {self._lines[name]})",
                "give each signal one source",
            )

    def define(self, name: str, line: int, reads: Sequence[str], make: Maker) -> None:
        """A signal, and how it is made of others.

        Raises:
            InputError: if it is defined already.
        """
        self._require_new(name, line)
        self._lines[name] = line
        self._definitions[name] = _Definition(line, reads, make)

    def circuit(self, name: str, outputs: Mapping[str, int], *, in_order: bool = False) -> Circuit:
        """The circuit that shows these signals.

        Args:
            name: its name.
            outputs: for each output the line that lists it.
            in_order: whether ANDs come in the order of the definitions, as far as that can be;
                else in the order in which outputs need them.

        Raises:
            InputError: for a signal without a definition, a cycle (of signals that no output needs,
                too), an output that is an input, or too large a circuit.
        """
        for output, line in outputs.items():
            refuse_input_as_output(output, output in self._literals, line)
        if not outputs:
            # Where each signal is used by another, none is left to be an output.
            self._refuse_cycles()
            raise InputError("the circuit has no outputs", way_out="name at least one output")
        if in_order:
            for signal, definition in self._definitions.items():
                self._make(signal, definition.line)
        for output, line in outputs.items():
            self._make(output, line)
        self._refuse_cycles()
        shown_by = {output: self._literals[output] for output in outputs}
        circuit = self._builder.circuit(name, shown_by)
        if len(circuit.ands) > MOST_ANDS:
            raise InputError(
                f"{len(circuit.ands)} ANDs are too many",
                way_out=f"give a circuit of at most {MOST_ANDS}, or cut it into pieces",
            )
        return circuit

    def _refuse_cycles(self) -> None:
        """Refuse a cycle among the signals that were not made."""
        left = {name: one for name, one in self._definitions.items() if name not in self._literals}
        reads = {name: [read for read in one.reads if read in left] for name, one in left.items()}
        try:
            TopologicalSorter(reads).prepare()
        except CycleError as error:
            # Each stands before those that read it.
            cycle = error.args[1][:0:-1]
            first = min(range(len(cycle)), key=lambda index: left[cycle[index]].line)
            raise _cyclic(left, [*cycle[first:], *cycle[: first + 1]]) from None

    def _make(self, wanted: str, line: int) -> None:
        """Make a signal after all that it reads; without recursion, so no chain is too long."""
        waiting: list[tuple[str, int, bool]] = [(wanted, line, False)]
        open_now: dict[str, None] = {}
        while waiting:
            name, asked_in, ready = waiting.pop()
            if name in self._literals:
                continue
            if name not in self._definitions:
                raise error_at(
                    asked_in,
                    f"{shown(name)} is used, but nothing defines it",
                    "define it, or list it among the inputs",
                )
            definition = self._definitions[name]
            if ready:
                del open_now[name]
                reads = [self._literals[read] for read in definition.reads]
                self._literals[name] = definition.make(reads)
                continue
            if name in open_now:
                names = list(open_now)
                raise _cyclic(self._definitions, [*names[names.index(name) :], name])
            open_now[name] = None
            waiting.append((name, asked_in, True))
            waiting += [(read, definition.line, False) for read in reversed(definition.reads)]
