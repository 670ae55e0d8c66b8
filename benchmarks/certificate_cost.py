"""What a certificate costs: proofs against none, its size, and the audit against the search.

Run from the top of the project: ``python -m benchmarks.certificate_cost``. The same question is
searched without and with a certificate, one after the other in one run, then audited. Prints one
table; ``--record FILE`` keeps it.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

import synth
from benchmarks.record import keep
from synth.search.workers.solvers import solver_for


def measure(spec: synth.Spec, solver: str | None, workers: int) -> dict[str, Any]:
    """Search without, search with, audit; seconds and bytes of each."""
    began = time.perf_counter()
    plain = synth.solve(spec, solver=solver, workers=workers, fewest_parts=False)
    without = time.perf_counter() - began
    with tempfile.TemporaryDirectory() as folder:
        began = time.perf_counter()
        kept = synth.solve(
            spec, solver=solver, workers=workers, certificate=folder, fewest_parts=False
        )
        along = time.perf_counter() - began
        assert kept.status is plain.status
        report = synth.audit(folder, workers=workers)
        assert report.passes, report.problems
        sizes: dict[str, int] = defaultdict(int)
        for entry in Path(folder).iterdir():
            sizes["".join(entry.suffixes[-2:])] += entry.stat().st_size
        sizes["all"] = sum(sizes.values())
    layout = kept.layout
    return {
        "status": str(kept.status),
        "size": None if layout is None else list(layout.size),
        "questions": len(report.questions),
        "seconds": {
            "search, no proofs": without,
            "search, with certificate": along,
            "audit": report.seconds,
            "audit: encode, compare": sum(q.encode_seconds for q in report.questions),
            "audit: check proofs": sum(q.check_seconds for q in report.questions),
            "audit: check symmetry": sum(q.symmetry_seconds for q in report.questions),
        },
        "solve_seconds": {
            "no proofs": plain.stats.solve_seconds,
            "with certificate": kept.stats.solve_seconds,
        },
        "bytes": dict(sizes),
        "steps": sum(question.steps for question in report.questions),
        "checker": report.checker,
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--function", default="q = a ^ b")
    parser.add_argument("--size", type=int, nargs=3, default=(5, 2, 5), metavar="CELLS")
    parser.add_argument("--delay", type=int, default=2)
    parser.add_argument("--stack", default="y")
    parser.add_argument("--joint", default="wire")
    parser.add_argument("--solver", help="the same for both; unsaid, each the one that suits")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--record", type=Path)
    given = parser.parse_args()
    length, width, height = given.size
    spec = synth.Spec.parse(
        given.function,
        length=length,
        width=width,
        height=height,
        delay=given.delay,
        stack=given.stack,
        joint=given.joint,
    )
    found = measure(spec, given.solver, given.workers)
    print(f"{given.function}: {found['status']}, {found['size']}; {found['questions']} proofs")
    for name, seconds in found["seconds"].items():
        print(f"  {name:<28}{seconds:>10.1f} s")
    for name, seconds in found["solve_seconds"].items():
        print(f"  {'solvers, ' + name:<28}{seconds:>10.1f} s")
    for name, size in found["bytes"].items():
        print(f"  {name:<28}{size / 1e6:>10.2f} MB")
    print(f"  {'steps of all proofs':<28}{found['steps']:>10,}")
    asked = {name: value for name, value in vars(given).items() if name != "record"}
    named = {
        "solver": solver_for(given.solver),
        "proving_solver": solver_for(given.solver, proving=True),
    }
    keep(given.record, **named, question=asked, **found)


if __name__ == "__main__":
    main()
