"""The audit of a built circuit: the layout judged, the miter derived again, its proof checked.

What must be true: the layout is legal and without feedback, so that it is a netlist of NORs and ORs
(``synth.simulator.acyclic``); the miter of that netlist and the circuit is the formula in the
folder, to the byte; and the proof refutes it. Then no assignment of the inputs tells the two apart.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from synth.circuits.aiger_text import name_in
from synth.circuits.circuit import Circuit
from synth.circuits.judging import MOST_TRIED_INPUTS, Judgement, judge
from synth.circuits.miter import Miter
from synth.circuits.reading.aiger import parse_aiger
from synth.circuits.ticks import tried
from synth.errors import InputError
from synth.files import read_bytes
from synth.layout import Layout
from synth.proofs.audit_bounds import MOST_BYTES
from synth.proofs.audit_files import file_problems
from synth.proofs.auditing import Auditing
from synth.proofs.certificate_index import INDEX
from synth.proofs.circuit_index import (
    CIRCUIT,
    FILES,
    FORMULA,
    LAYOUT,
    PROOF,
    claim_words,
    read_circuit_index,
)
from synth.proofs.drat import Checker
from synth.proofs.evidence import dimacs
from synth.words import counted, ticks


class CircuitAudit(Auditing):
    """One audit of a circuit."""

    def __init__(
        self,
        folder: Path,
        checker: Checker,
        symmetry: bool,
        progress: Callable[[str], None],
        workers: int,
    ) -> None:
        super().__init__(folder, checker, symmetry, progress, workers)
        self.index, unchanged = read_circuit_index(folder)
        self.circuit: Circuit | None = None
        self.steps = 0
        self._has_read(self.index.text, unchanged=unchanged)

    def run(self) -> None:
        """Every step in turn; what cannot be read ends it."""
        self.problems += file_problems(self.folder, self.index.files, set(FILES))
        if self.problems:
            return
        try:
            data = read_bytes(self.folder / CIRCUIT, MOST_BYTES)
            circuit = parse_aiger(data)
        except InputError as error:
            self._blame(CIRCUIT, f"it cannot be read: {error.problem}")
            return
        missing = {*circuit.inputs, *circuit.outputs} ^ set(self.index.pins)
        if missing:
            self._blame(INDEX, f"its pins are not those of {CIRCUIT}: {sorted(missing)[0]!r}")
            return
        judgement = self._judged(circuit)
        if judgement is not None:
            self.circuit = circuit
            self._proof(circuit, judgement)
        if self.index.text != claim_words(name_in(data), self.index.delay):
            self._blame(INDEX, self._other_words(name_in(data)))

    def _other_words(self, name: str) -> str:
        """What is wrong with a claim whose words are not those of its data."""
        if self.index.text == f"the layout computes {name} within {ticks(self.index.delay)}":
            return (
                "the claim in words has the name of the circuit without quotes, as an older "
                "version wrote it, so it could be read as part of the claim: make it anew"
            )
        return "the claim in words is not the claim in data"

    def _judged(self, circuit: Circuit) -> Judgement | None:
        """The layout as the simulator finds it; None if something is wrong with it."""
        self.progress("the layout")
        try:
            layout = Layout.load(self.folder / LAYOUT)
            rules = self.index.rules
            judgement = judge(layout, circuit, self.index.pins, rules=rules)
            late = judgement.delay is not None and judgement.delay > self.index.delay
            if late and len(circuit.inputs) <= MOST_TRIED_INPUTS:
                # Of more than 8 inputs that was an upper bound. Played cell by cell here: that does
                # not lean on the network that the builder plays on.
                played = tried(layout, circuit, self.index.pins, rules)
                judgement = replace(judgement, delay=played.delay)
        except InputError as error:
            self._blame(LAYOUT, f"it cannot be judged: {error.problem}")
            return None
        for fault in judgement.faults:
            self._blame(LAYOUT, f"the simulator rejects it: {fault}")
        if judgement.delay is None or judgement.delay > self.index.delay:
            own = "none" if judgement.delay is None else ticks(judgement.delay)
            self._blame(LAYOUT, f"its delay is {own}, not at most {ticks(self.index.delay)}")
        return None if self.problems else judgement

    def _proof(self, circuit: Circuit, judgement: Judgement) -> None:
        """The formula is the miter, and the proof refutes it."""
        self.progress("the miter and its proof")
        if judgement.network is None:
            self._blame(LAYOUT, "it has feedback, so there is no miter of it")
            return
        miter = Miter(circuit, judgement.network, self.index.pins)
        formula = dimacs(miter.variables, miter.clauses)
        if read_bytes(self.folder / FORMULA, MOST_BYTES) != formula:
            self._blame(FORMULA, "it is not the miter of the circuit and the layout")
            return
        checked = self.checker.check(formula, read_bytes(self.folder / PROOF, MOST_BYTES))
        self.steps = checked.steps
        if not checked.verified:
            self._blame(PROOF, f"the proof is wrong: {checked.reason}")

    def _rests_on(self) -> tuple[str, ...]:
        return _RESTS_ON

    def _certain(self) -> list[str]:
        assert self.circuit is not None
        return [
            f"The layout computes {CIRCUIT} in every assignment of "
            f"{counted(len(self.circuit.inputs), 'input')}: a proof of "
            f"{counted(self.steps, 'step')}, checked by {self.checker.name}.",
            f"Its outputs are right within {ticks(self.index.delay)}.",
        ]


_RESTS_ON = (
    "That a layout without feedback is the netlist that the simulator reads off it: an argument "
    "(synth/simulator/acyclic.py), which the tests hold against the three-valued play.",
    f"That {CIRCUIT} is the circuit that was meant.",
)
