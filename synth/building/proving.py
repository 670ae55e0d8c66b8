"""Proves that a layout computes its circuit, and keeps the proof where that is asked."""

from __future__ import annotations

import platform
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from synth.circuits.aiger_text import COMMENT, aiger_text
from synth.circuits.circuit import Circuit
from synth.circuits.judging import Judgement
from synth.circuits.miter import Miter
from synth.errors import InputError, reason_of
from synth.files import write_bytes, write_text
from synth.layout import Layout
from synth.layout.documents import layout_text
from synth.medium import DEFAULT_RULES, Rules
from synth.proofs.certificate_index import INDEX
from synth.proofs.circuit_index import (
    CIRCUIT,
    FILES,
    FORMULA,
    LAYOUT,
    PROOF,
    CircuitIndex,
    claim_words,
)
from synth.proofs.evidence import dimacs, to_the_empty_clause
from synth.proofs.index_entries import FileEntry
from synth.search.workers.solvers import DEFAULT_SOLVER, PROVING_SOLVER
from synth.versions import VERSION, package_version
from synth.words import counted

MOST_CONFLICTS = 2_000_000
"""Conflicts after which a proof is given up; circuits of the size that is built take some thousands
at the most (measured on multipliers)."""

_SLICE = 20_000


@dataclass(frozen=True)
class Proof:
    """Whether a layout and its circuit are equal.

    Attributes:
        equal: None if that was not found out.
        words: how it is known, or why not.
    """

    equal: bool | None
    words: str


FEW_CONFLICTS = 20_000
"""Conflicts after which a layout on the way counts as right until the end (``MOST_CONFLICTS``)."""


def difference(
    circuit: Circuit, judgement: Judgement, pins: Mapping[str, str], conflicts: int = FEW_CONFLICTS
) -> str:
    """Where a layout differs from its circuit, in a sentence; empty if nowhere was found.

    Layouts of many inputs may be right in thousands of random assignments and wrong in one: that of
    a wide AND may.

    Args:
        circuit: what is wanted.
        judgement: what the simulator found the layout to be.
        pins: the pin of each input and output of the circuit.
        conflicts: after so many it is given up.
    """
    from pysat.solvers import Solver

    if judgement.network is None:
        return ""
    miter = Miter(circuit, judgement.network, pins)
    with Solver(name=DEFAULT_SOLVER, bootstrap_with=miter.clauses) as solver:
        solver.conf_budget(conflicts)
        return _told(circuit, solver.get_model()) if solver.solve_limited() else ""


def _told(circuit: Circuit, model: Sequence[int]) -> str:
    held = set(model)
    values = " ".join(
        f"{name}={int(variable in held)}" for variable, name in enumerate(circuit.inputs, start=1)
    )
    return f"the layout differs from the circuit at {values}"


def prove(
    circuit: Circuit,
    layout: Layout,
    judgement: Judgement,
    pins: Mapping[str, str],
    certificate: Path | None = None,
    rules: Rules = DEFAULT_RULES,
) -> Proof:
    """Refute the miter of a layout and its circuit.

    Args:
        circuit: what is wanted.
        layout: the layout, judged and without faults.
        judgement: what the simulator found it to be.
        pins: the pin of each input and output of the circuit.
        certificate: a folder to keep the proof in.
        rules: the rule table.

    Raises:
        InputError: if the certificate cannot be written.
    """
    from pysat.solvers import Solver

    assert judgement.network is not None
    assert judgement.delay is not None
    folder = None if certificate is None else _prepared(certificate, circuit)
    miter = Miter(circuit, judgement.network, pins)
    count = counted(len(circuit.inputs), "input")
    with Solver(name=PROVING_SOLVER, bootstrap_with=miter.clauses, with_proof=True) as solver:
        spent = 0
        answer = None
        while answer is None and spent < MOST_CONFLICTS:
            solver.conf_budget(_SLICE)
            answer = solver.solve_limited()
            spent += _SLICE
        if answer:
            return Proof(False, _told(circuit, solver.get_model()))
        if answer is None:
            return Proof(None, f"equality is not proven within {MOST_CONFLICTS:,} conflicts")
        proof = "\n".join(to_the_empty_clause(solver.get_proof() or [])) + "\n"
    words = f"equal in every assignment of {count}, by a proof of {PROVING_SOLVER}"
    if judgement.played:
        words += ", and every assignment was played"
    if folder is not None:
        index = CircuitIndex(
            text=claim_words(circuit.name, judgement.delay),
            delay=judgement.delay,
            rules=rules,
            pins=pins,
            made={
                "gatefit": VERSION,
                "solver": PROVING_SOLVER,
                "python-sat": package_version("python-sat"),
                "python": platform.python_version(),
            },
            files=(),
        )
        _write(folder, index, circuit, layout, dimacs(miter.variables, miter.clauses), proof)
        words += f" (kept in {certificate})"
    return Proof(True, words)


def require_room(folder: Path, circuit: Circuit) -> None:
    """Refuse a folder for a certificate, before anything is built.

    Args:
        folder: may be new, empty, or hold an older certificate of the same circuit.
        circuit: what is to be built.

    Raises:
        InputError: if it holds anything else, or cannot be written to.
    """
    made = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        others = {entry.name for entry in folder.iterdir()} - {INDEX, *FILES}
        held = folder / CIRCUIT
        whole = (folder / INDEX).is_file() and held.is_file()
        strange = whole and not _same_circuit(held, circuit)
        with tempfile.TemporaryFile(dir=folder):
            pass
        if made:
            folder.rmdir()
    except OSError as error:
        raise _unwritable(folder, error) from None
    if others:
        raise InputError(
            f"holds {sorted(others)[0]!r}, which is of no such certificate",
            file=str(folder),
            way_out="name a new folder",
        )
    if strange:
        raise InputError(
            "holds the certificate of another circuit",
            file=str(folder),
            way_out="name another folder, or delete this one if it is not needed any more",
        )


def _same_circuit(held: Path, circuit: Circuit) -> bool:
    """Whether a file that ``aiger_text`` wrote holds this circuit, whatever it is called there."""
    text = held.read_text(encoding="utf-8", errors="replace")
    return text.partition(COMMENT)[0] == aiger_text(circuit).partition(COMMENT)[0]


def _prepared(folder: Path, circuit: Circuit) -> Path:
    """A folder that is there and may be written to."""
    require_room(folder, circuit)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _unwritable(folder, error) from None
    return folder


def _write(
    folder: Path,
    index: CircuitIndex,
    circuit: Circuit,
    layout: Layout,
    formula: bytes,
    proof: str,
) -> None:
    """All files, the index last: a folder with an index is whole."""
    try:
        (folder / INDEX).unlink(missing_ok=True)
        write_text(folder / CIRCUIT, aiger_text(circuit))
        write_text(folder / LAYOUT, layout_text(layout))
        write_bytes(folder / FORMULA, formula)
        write_text(folder / PROOF, proof)
        files = tuple(FileEntry.of(folder / name) for name in sorted(FILES))
        whole = CircuitIndex(index.text, index.delay, index.rules, index.pins, index.made, files)
        write_text(folder / INDEX, whole.render())
    except OSError as error:
        raise _unwritable(folder, error) from None


def _unwritable(folder: Path, error: OSError) -> InputError:
    return InputError(
        f"cannot be written: {reason_of(error)}",
        file=str(folder),
        way_out="name another folder",
    )
