"""The miter: a formula that has a model exactly when a layout differs from its circuit.

Variables are those of the circuit, then one for each inverter and buffer of the layout, then one
for each output of the circuit that says whether the two differ there. Clauses are those of G. S.
Tseitin, On the Complexity of Derivation in Propositional Calculus, 1968 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from synth.circuits.circuit import Circuit
from synth.simulator.acyclic import Network

Clauses = list[list[int]]


class Miter:
    """The formula.

    Args:
        circuit: what is wanted.
        network: what the layout is, its inputs and outputs by the names of pins.
        pins: the pin of each input and output of the circuit.

    Attributes:
        clauses: DIMACS literals.
        variables: how many there are.
    """

    def __init__(self, circuit: Circuit, network: Network, pins: Mapping[str, str]) -> None:
        self.clauses: Clauses = []
        self.variables = len(circuit.inputs) + len(circuit.ands)
        for index, pair in enumerate(circuit.ands):
            self._conjunction(circuit.first_and + index, [_dimacs(literal) for literal in pair])
        known: dict[int, int] = {}
        for variable, name in enumerate(circuit.inputs, start=1):
            known[network.inputs[pins[name]]] = variable
        for number in network.order:
            element = network.elements[number]
            self.variables += 1
            known[number] = self.variables
            sees = [known[other] for other in element.sees]
            # On unless one of them is, or on when one of them is.
            own = self.variables if element.inverts else -self.variables
            self._conjunction(own, [-other for other in sees])
        differences = []
        for name, literal in circuit.outputs.items():
            shown = [known[other] for other in network.outputs[pins[name]]]
            differences.append(self._difference(literal, shown))
        self.clauses.append(differences)

    def _conjunction(self, made: int, reads: Sequence[int]) -> None:
        """``made`` is true exactly when all of ``reads`` are."""
        for read in reads:
            self.clauses.append([-made, read])
        self.clauses.append([made, *(-read for read in reads)])

    def _difference(self, wanted: int, shown: Sequence[int]) -> int:
        """A variable that is true exactly when the OR of ``shown`` is not the wanted literal."""
        self.variables += 2
        power, differs = self.variables - 1, self.variables
        self._conjunction(-power, [-other for other in shown])
        if wanted <= 1:
            same = power if wanted else -power
            self.clauses += [[-differs, -same], [differs, same]]
            return differs
        want = _dimacs(wanted)
        self.clauses += [[-differs, power, want], [-differs, -power, -want]]
        self.clauses += [[differs, -power, want], [differs, power, -want]]
        return differs


def _dimacs(literal: int) -> int:
    """A literal of AIGER as one of DIMACS; the circuit's builder leaves no constant in an AND."""
    return -(literal >> 1) if literal & 1 else literal >> 1
