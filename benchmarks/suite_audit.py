"""The suite's refuted boxes with certificates, each audited: cost of a proof, cost of its check.

    python -m benchmarks.suite_audit                    # the quicker ones
    python -m benchmarks.suite_audit --all              # every question of the suite

The box of a question is the limit: every box within it is ruled out and audited, too. Questions
that have a layout are audited with it. A certificate that fails its audit ends the run.
``--record FILE`` keeps the rows with what they were measured on.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from benchmarks.certificate_cost import measure
from benchmarks.record import keep
from benchmarks.suite import QUESTIONS
from synth.layout.pins import show_size
from synth.search.workers.solvers import DEFAULT_SOLVER, PROVING_SOLVER
from synth.spec import Spec

QUICK = (0, 1)
"""Numbers of the questions that take seconds and not minutes."""


def audited(number: int, workers: int) -> dict[str, Any]:
    """Search within the box of a question, audit, and print a row."""
    name, text, joint, (length, width, height), delay = QUESTIONS[number]
    limits = {"length": length, "width": width, "height": height, "delay": delay}
    row = measure(Spec.parse(text, joint=joint, stack="y", **limits), None, workers)
    asked = f"{name}, {joint} joints, within {show_size((length, width, height))}, {delay} ticks"
    seconds = row["seconds"]
    print(
        f"{asked:<60} {row['status']:<10} {row['questions']:>3} proofs "
        f"{seconds['search, no proofs']:>8.1f} {seconds['search, with certificate']:>8.1f} "
        f"{seconds['audit']:>8.1f} s",
        flush=True,
    )
    return {"question": asked, "workers": workers, **row}


def main() -> None:
    """Measure, print, record."""
    parser = argparse.ArgumentParser(description="Audit what the suite refutes.")
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    numbers = range(len(QUESTIONS)) if options.all else QUICK
    print(f"{'':<82} {'search':>8} {'proving':>8} {'audit':>8}")
    rows = []
    for number in numbers:
        rows.append(audited(number, options.workers))
        keep(options.record, solver=DEFAULT_SOLVER, proving_solver=PROVING_SOLVER, rows=rows)


if __name__ == "__main__":
    main()
