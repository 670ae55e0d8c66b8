"""Maps a circuit to NANDs of any number of signals: what the medium makes in one tick.

A NAND is a wire that several inverters power, one for each signal that it reads. So an AND of the
graph is had complemented with one NAND, and as it stands with one more, of a single signal. An
exclusive-or takes four NANDs, and costs nothing more when a signal is there in the other polarity:
``x ^ y == ~x ^ ~y``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from synth.circuits.circuit import FALSE, Circuit

MOST_READS = 5
"""Most signals that a NAND reads: beyond, its wire grows long."""


@dataclass(frozen=True)
class Gate:
    """A NAND.

    Attributes:
        name: of the signal it makes, unique among all signals.
        reads: names of the signals it reads, each once.
    """

    name: str
    reads: tuple[str, ...]


@dataclass(frozen=True)
class NandNetwork:
    """NANDs in an order in which each follows those it reads.

    Attributes:
        inputs: names of the inputs.
        gates: the NANDs.
        outputs: for each output the signal that it shows, each signal at most once, or a constant,
            ``None`` standing for 0 and an empty name for 1.
    """

    inputs: tuple[str, ...]
    gates: tuple[Gate, ...]
    outputs: Mapping[str, str | None]

    def readers(self) -> dict[str, list[str]]:
        """For each signal the gates that read it."""
        found: dict[str, list[str]] = {name: [] for name in self.inputs}
        for gate in self.gates:
            found[gate.name] = []
        for gate in self.gates:
            for read in gate.reads:
                found[read].append(gate.name)
        return found

    @property
    def depth(self) -> int:
        """Most NANDs on the way from an input to an output."""
        levels = dict.fromkeys(self.inputs, 0)
        for gate in self.gates:
            levels[gate.name] = 1 + max((levels[read] for read in gate.reads), default=0)
        return max((levels[shown] for shown in self.outputs.values() if shown), default=0)

    def evaluate(self, masks: Mapping[str, int], full: int) -> dict[str, int]:
        """What the outputs show in many assignments at once, a bit each."""
        values = self.values(masks, full) | {"": full}
        return {name: 0 if shown is None else values[shown] for name, shown in self.outputs.items()}

    def values(self, masks: Mapping[str, int], full: int) -> dict[str, int]:
        """The same for every signal, by its name."""
        values = dict(masks)
        for gate in self.gates:
            low = full
            for read in gate.reads:
                low &= values[read]
            values[gate.name] = full & ~low
        return values


def mapped(circuit: Circuit, *, by: str = "area", most_reads: int = MOST_READS) -> NandNetwork:
    """A circuit as NANDs.

    Args:
        circuit: what to map.
        by: ``area`` makes few NANDs; ``delay`` keeps ways short: exclusive-ors are left in two
            levels, and ANDs that several read are read through.
        most_reads: most signals that a NAND reads.
    """
    return _Mapper(circuit, by, max(2, most_reads)).network()


class _Mapper:
    """Makes the NANDs that are needed, once each."""

    def __init__(self, circuit: Circuit, by: str, most_reads: int) -> None:
        self.circuit = circuit
        self.by = by
        self.most_reads = most_reads
        self.gates: list[Gate] = []
        self.made: dict[tuple[str, ...], str] = {}
        self.signals: dict[int, str] = {
            2 * (index + 1): name for index, name in enumerate(circuit.inputs)
        }
        self.taken = set(circuit.inputs) | set(circuit.outputs)
        self.uses = Counter(
            literal for pair in (*circuit.ands, tuple(circuit.outputs.values())) for literal in pair
        )
        self.exclusive = {} if by == "delay" else _exclusive_ors(circuit)

    def network(self) -> NandNetwork:
        """All of it."""
        # Without recursion no chain is too long: in order, each AND finds what it reads made.
        for literal in self._needed():
            self.signal(literal)
        outputs: dict[str, str | None] = {}
        for name, literal in self.circuit.outputs.items():
            if literal >> 1 == FALSE:
                outputs[name] = "" if literal else None
                continue
            signal = self.signal(literal)
            if signal in outputs.values():
                signal = self._nand((self._nand((signal,)),), anew=True)
            outputs[name] = signal
        return NandNetwork(self.circuit.inputs, tuple(self._alive(outputs)), outputs)

    def _alive(self, outputs: Mapping[str, str | None]) -> list[Gate]:
        """The gates that some output needs."""
        alive = {shown for shown in outputs.values() if shown}
        kept = []
        for gate in reversed(self.gates):
            if gate.name in alive:
                alive.update(gate.reads)
                kept.append(gate)
        return kept[::-1]

    def _needed(self) -> list[int]:
        """Literals of ANDs that outputs and other ANDs read, the lowest first."""
        waiting = [literal for literal in self.circuit.outputs.values() if literal >> 1]
        seen: set[int] = set()
        while waiting:
            literal = waiting.pop()
            if literal in seen:
                continue
            seen.add(literal)
            waiting += self._reads_of(literal)
        return sorted(seen)

    def _reads_of(self, literal: int) -> list[int]:
        """The literals whose signals are needed to make that of a literal."""
        variable = literal >> 1
        if variable < self.circuit.first_and:
            return [literal ^ 1] if literal & 1 else []
        if variable in self.exclusive:
            return []  # Which polarity is wanted depends on what is there by then.
        if not literal & 1:
            return [literal ^ 1]
        return self._leaves(variable)

    def _leaves(self, variable: int) -> list[int]:
        """What a NAND reads that makes an AND's complement: positive edges are read through."""
        leaves = list(self._pair(variable))
        grown = True
        while grown:
            grown = False
            for place, literal in enumerate(leaves):
                inner = literal >> 1
                if literal & 1 or inner < self.circuit.first_and or inner in self.exclusive:
                    continue
                single = self.uses[literal] == 1 and not self.uses[literal ^ 1]
                if single or self.by == "delay":
                    longer = [*leaves[:place], *self._pair(inner), *leaves[place + 1 :]]
                    if len(dict.fromkeys(longer)) <= self.most_reads:
                        leaves, grown = list(dict.fromkeys(longer)), True
                        break
        return leaves

    def _pair(self, variable: int) -> tuple[int, int]:
        return self.circuit.ands[variable - self.circuit.first_and]

    def signal(self, literal: int) -> str:
        """The name of a signal that is a literal, made if need be."""
        if literal in self.signals:
            return self.signals[literal]
        order = [literal]
        while order:
            top = order[-1]
            if top in self.signals:
                order.pop()
                continue
            missing = [read for read in self._wanted(top) if read not in self.signals]
            if missing:
                order += missing
                continue
            self._make(top)
        return self.signals[literal]

    def _wanted(self, literal: int) -> list[int]:
        variable = literal >> 1
        if variable in self.exclusive:
            return [self._either(operand) for operand in self.exclusive[variable]]
        return self._reads_of(literal)

    def _either(self, literal: int) -> int:
        """A literal or its complement, whichever is there or is cheaper."""
        literal &= ~1
        if literal in self.signals or literal >> 1 < self.circuit.first_and:
            return literal
        return literal ^ 1 if literal >> 1 not in self.exclusive else literal

    def _make(self, literal: int) -> None:
        variable = literal >> 1
        if variable in self.exclusive:
            self._make_exclusive(variable)
            if literal not in self.signals:
                self.signals[literal] = self._nand((self.signals[literal ^ 1],))
            return
        if variable < self.circuit.first_and or not literal & 1:
            self.signals[literal] = self._nand((self.signals[literal ^ 1],))
            return
        self.signals[literal] = self._nand(
            tuple(self.signals[leaf] for leaf in self._leaves(variable))
        )

    def _make_exclusive(self, variable: int) -> None:
        """Four NANDs; the AND itself is ``x ^ y`` or its complement, by the polarities read."""
        operands = self.exclusive[variable]
        read = [self._either(operand) for operand in operands]
        one, other = (self.signals[literal] for literal in read)
        both = self._nand((one, other))
        made = self._nand((self._nand((one, both)), self._nand((other, both))))
        turned = sum(literal != operand for literal, operand in zip(read, operands, strict=True))
        self.signals[2 * variable + turned % 2] = made

    def _nand(self, reads: tuple[str, ...], *, anew: bool = False) -> str:
        """The signal of a NAND, made once."""
        key = tuple(sorted(dict.fromkeys(reads)))
        if key in self.made and not anew:
            return self.made[key]
        number = len(self.gates)
        name = f"n{number}"
        while name in self.taken:
            name += "_"
        self.taken.add(name)
        self.gates.append(Gate(name, key))
        self.made.setdefault(key, name)
        return name


def _exclusive_ors(circuit: Circuit) -> dict[int, tuple[int, int]]:
    """ANDs that are an exclusive-or of two literals, by variable.

    An AND of ``~(p & q)`` and ``~(~p & ~q)`` is ``p ^ q``.
    """
    found = {}
    first = circuit.first_and
    for index, (one, other) in enumerate(circuit.ands):
        if not (one & 1 and other & 1) or min(one, other) >> 1 < first:
            continue
        left = circuit.ands[(one >> 1) - first]
        right = circuit.ands[(other >> 1) - first]
        if {literal ^ 1 for literal in left} == set(right):
            found[first + index] = left
    return found
