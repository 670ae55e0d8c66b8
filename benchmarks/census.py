"""A census of one box against its functions asked about one by one; or every box up to a volume.

python -m benchmarks.census [--sample N] [--seed N] [--against FOLDER] [--record FILE]
python -m benchmarks.census --atlas FOLDER [--time-limit SECONDS] [--record FILE]

The first takes the census of 3 x 2 x 4 cells, 2 wide, stackable, buffer joints, 2 ticks, three
inputs, then asks about each class by itself (``solve_box``): processor seconds of both, workers
included. With ``--sample`` only so many classes are asked about, and the rest is reckoned from
them; with ``--against FOLDER`` another checkout is asked; with ``--without NAME`` the census is
also taken without an acceleration.

The second takes the census of every box up to volume 32 (three inputs) and 24 (pairs of outputs of
two inputs), both joints, 1 and 2 ticks, with certificates, and audits them. It can be stopped: what
is known stays in FOLDER, and the same command goes on.
"""

from __future__ import annotations

import argparse
import random
import time
from pathlib import Path
from typing import Any

from benchmarks.record import ROOT, git, keep
from benchmarks.singly import asked_with, processor_seconds
from synth.census.journal import CensusJournal
from synth.census.running import Ended, Model, Task, run
from synth.census.taking import run_census
from synth.cli.shared.progress import Progress
from synth.medium import Size
from synth.proofs.audit import audit
from synth.proofs.census_certificate import CensusFolder
from synth.proofs.certificate import how_made
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion, free_spec, shown
from synth.search.workers.settings import Settings
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.spec.classes import Columns
from synth.spec.demands import with_limits

BOX, DELAY = (3, 2, 4), 2

ATLAS = [
    # inputs, outputs, volume, joint, ticks
    *((3, 1, 32, joint, delay) for delay in (1, 2) for joint in ("buffer", "wire")),
    *((2, 2, 24, joint, delay) for delay in (1, 2) for joint in ("buffer", "wire")),
]
"""The censuses of the atlas, the quick ones first."""


def question(
    inputs: int, outputs: int, joint: str, box: Size | None = None, **limits: Any
) -> CensusQuestion:
    """What a census asks of stackable boxes 2 wide at most, or of one."""
    spec = with_limits(free_spec(inputs, outputs), joint=joint, stack="y", width=2, **limits)
    return CensusQuestion.of(spec, box=box)[0]


def census_of_box(
    asked: CensusQuestion, seed: int, without: tuple[str, ...] = ()
) -> tuple[list[tuple[Columns, float]], Ended]:
    """Each class found in the box with its processor seconds, and how it ended.

    Args:
        asked: what is asked.
        seed: of the solver.
        without: accelerations to leave out.
    """
    box = BoxQuestion(BOX, DELAY)
    began = time.process_time()
    found: list[tuple[Columns, float]] = []
    for told in run(Task(asked.formula(box).without(without), DEFAULT_SOLVER, seed)):
        if isinstance(told, Model):
            found.append((asked.class_of(told.columns), time.process_time() - began))
        else:
            return found, told
    raise AssertionError("a census that never ended")


def against_single_questions(options: argparse.Namespace) -> None:
    """Measure the census of a box against its classes one by one, and print."""
    asked = question(3, 1, "buffer", box=BOX, delay=DELAY)
    found, ended = census_of_box(asked, options.seed)
    fitting = {shown(columns) for columns, _ in found}
    last = found[-1][1]
    print(
        f"census: {len(found)} classes, the last after {last:.1f} s, "
        f"complete after {ended.seconds:.1f} s (processor time)",
        flush=True,
    )
    began = processor_seconds()
    assert run_census(asked, Settings(seed=options.seed, workers=1)).complete
    census_s = processor_seconds() - began
    print(f"with its worker: {census_s:.1f} s", flush=True)
    left_out = {}
    for name in options.without:
        _, other = census_of_box(asked, options.seed, (name,))
        left_out[name] = other.seconds
        print(f"  without {name}: {other.seconds:.1f} s", flush=True)
    tables = [shown(columns) for columns in asked.counted or ()]
    random.Random(0).shuffle(tables)
    sample = tables[: options.sample]
    rows = []
    for row in asked_with(options.against, BOX, DELAY, options.seed, sample):
        assert (row["answer"] == "found") == (row["table"] in fitting), row
        rows.append(row)
    assert len(rows) == len(sample)
    singly_s = sum(row["seconds"] for row in rows) / len(rows) * len(tables)
    ratio = singly_s / census_s
    print(f"one by one: {singly_s:.1f} s, {ratio:.1f} times as long", flush=True)
    against = git("rev-parse", "--verify", "HEAD", root=options.against)
    keep(
        options.record,
        solver=DEFAULT_SOLVER,
        box=list(BOX),
        delay=DELAY,
        seed=options.seed,
        classes=len(tables),
        found=len(found),
        census_seconds=round(census_s, 2),
        without_worker_seconds=round(ended.seconds, 2),
        last_found_seconds=round(last, 2),
        without=left_out,
        asked_singly=len(sample),
        singly_seconds=round(singly_s, 1),
        ratio=round(ratio, 2),
        against=against,
        rows=rows,
    )


def atlas(options: argparse.Namespace) -> None:
    """Take, certify and audit every census, and print."""
    folder: Path = options.atlas
    folder.mkdir(parents=True, exist_ok=True)
    rows = []
    for inputs, outputs, volume, joint, delay in ATLAS:
        sides = {"length": volume, "height": volume, "volume": volume}
        asked = question(inputs, outputs, joint, delay=delay, **sides)
        stem = f"{inputs}-{outputs}-{joint}-{delay}"
        if options.only and stem not in options.only:
            continue
        print(stem, flush=True)
        journal = CensusJournal(asked, folder / f"{stem}.jsonl")
        settings = Settings(workers=options.workers)
        with CensusFolder(folder / stem) as certificate:
            proofs = certificate.proofs(asked)
            census = run_census(
                asked,
                settings,
                time_limit_s=options.time_limit,
                reporter=Progress(),
                journal=journal,
                proofs=proofs,
            )
            certificate.finish(journal.ledger, proofs, how_made(settings.solver, 0))
        report = audit(folder / stem, workers=options.workers)
        rows.append(
            {
                "inputs": inputs,
                "outputs": outputs,
                "volume": volume,
                "joint": joint,
                "delay": delay,
                "complete": census.complete,
                "audited": report.passes,
                "counted": len(asked.counted or ()),
                "found": len(census.classes),
                "open": sum(box.open for box in census.boxes),
                "seconds": round(census.seconds, 1),
                "audit_seconds": round(report.seconds, 1),
            }
        )
        print(rows[-1], flush=True)
        keep(options.record, solver=DEFAULT_SOLVER, rows=rows)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measure the census.")
    parser.add_argument("--sample", type=int, help="ask only so many classes one by one")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--against", type=Path, default=ROOT, help="another checkout")
    parser.add_argument("--without", nargs="*", default=[], metavar="NAME")
    parser.add_argument("--atlas", type=Path, metavar="FOLDER", help="every box up to a volume")
    parser.add_argument("--only", nargs="*", default=[], metavar="NAME", help="such as 2-2-wire-1")
    parser.add_argument("--time-limit", type=float, help="seconds a census of the atlas")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    if options.atlas is not None:
        atlas(options)
    else:
        against_single_questions(options)


if __name__ == "__main__":
    main()
