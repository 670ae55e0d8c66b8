"""Every benchmark: what it measures, the command that renews its record, and what that rests on."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

RECORDS = Path(__file__).parent / "records"

FORMULA = ("synth/encoding",)
SOLVING = (*FORMULA, "synth/search/workers", "benchmarks/asking.py", "benchmarks/suite.py")
WALK = (*FORMULA, "synth/questions", "synth/search/walk", "synth/search/workers")


@dataclass(frozen=True)
class Benchmark:
    """A benchmark with one record.

    Attributes:
        record: the file in ``benchmarks/records``, or None if none is kept.
        command: measures anew; with ``--record FILE`` it keeps the record.
        what: what is measured.
        takes: roughly how long on two idle cores, as earlier records tell or as its limits allow.
        rests_on: paths whose later changes make the record old.
        default_solver: whether questions are put to the default solver.
        beside: other files that the same command writes.
    """

    record: str | None
    command: str
    what: str
    takes: str
    rests_on: tuple[str, ...]
    default_solver: bool = True
    beside: tuple[str, ...] = ()

    @property
    def renew(self) -> str:
        """The command that writes the record where it is kept."""
        if self.record is None:
            return self.command
        return f"{self.command} --record benchmarks/records/{self.record}"


BENCHMARKS: tuple[Benchmark, ...] = (
    Benchmark(
        "from_above.json",
        "python -m benchmarks.from_above",
        "how soon there is a layout, how it shrinks from both sides, what a large window costs",
        "10 hours; `--rows` for some of them",
        (*WALK, "synth/composing", "synth/shrinking", "synth/encoding/windows"),
        beside=("small_full_adder_layout.json",),
    ),
    Benchmark(
        "met_from_above.json",
        "python -m benchmarks.met_from_above",
        "how many of the proven layouts of 3 and 4 ticks are met from above within 5 minutes each",
        "an hour",
        (*WALK, "synth/composing", "synth/search/above", "synth/search/placing", "synth/shrinking"),
    ),
    Benchmark(
        "build_circuits.json",
        "python -m benchmarks.build_circuits",
        "circuits built, judged and proven: volume as first routed and in the end, delay, seconds",
        "10 minutes",
        (
            *("synth/building", "synth/circuits", "synth/composing"),
            *("synth/shrinking", "synth/simulator"),
            "benchmarks/circuits",
        ),
        default_solver=False,
    ),
    Benchmark(
        "fuzz.json",
        "python -m benchmarks.fuzz",
        "ten thousand broken inputs to every command that reads files",
        "an hour",
        ("synth",),
        default_solver=False,
    ),
    Benchmark(
        "questions.json",
        "python -m benchmarks.questions",
        "ten whole questions against another checkout (`--against`): how many times sooner decided",
        "an hour",
        (*WALK, "synth/composing", "synth/search/above", "synth/search/placing", "synth/shrinking"),
    ),
    Benchmark(
        "suite.json",
        "python -m benchmarks.suite",
        "seven hard boxes, all accelerations against none",
        "20 minutes",
        SOLVING,
    ),
    Benchmark(
        "each.json",
        "python -m benchmarks.suite --each",
        "the same boxes, one acceleration left out at a time",
        "an hour",
        SOLVING,
    ),
    Benchmark(
        "formulas.json",
        "python -m benchmarks.formulas --against FOLDER",
        "nine boxes, the formula against that of another checkout, in pairs, three seeds",
        "20 minutes",
        SOLVING,
    ),
    Benchmark(
        "formulas_each.json",
        "python -m benchmarks.formulas",
        "the same boxes, each acceleration of the formula left out, in pairs",
        "2 hours",
        SOLVING,
    ),
    Benchmark(
        "solvers.json",
        "python -m benchmarks.suite --solvers",
        "the same boxes, solver against solver",
        "an hour",
        SOLVING,
        default_solver=False,
    ),
    Benchmark(
        "workers.json",
        "python -m benchmarks.suite --workers",
        "the same boxes all at once, one worker against two",
        "a minute",
        SOLVING,
    ),
    Benchmark(
        "exclusive_or_walk.json",
        "python -m benchmarks.suite --walk",
        "exclusive-or found and every smaller box ruled out, full against plain",
        "8 minutes",
        (*WALK, "benchmarks/suite.py"),
    ),
    Benchmark(
        "suite_audit.json",
        "python -m benchmarks.suite_audit --all",
        "the suite with certificates: search without, search with proofs, audit",
        "15 minutes",
        (*WALK, "synth/proofs", "benchmarks/suite.py", "benchmarks/certificate_cost.py"),
    ),
    Benchmark(
        None,
        "python -m benchmarks.certificate_cost",
        "one question: what proofs cost the search, their size, the audit",
        "5 minutes",
        (*WALK, "synth/proofs"),
    ),
    Benchmark(
        "census.json",
        "python -m benchmarks.census --against FOLDER",
        "the census of one box against its functions asked about one by one, by another checkout",
        "2 minutes",
        (*SOLVING, "synth/census", "benchmarks/census.py"),
    ),
    Benchmark(
        "atlas.json",
        "python -m benchmarks.census --atlas atlas",
        "every function of every stackable box up to a volume, with proofs and their audit",
        "hours",
        (*SOLVING, "synth/census", "synth/proofs", "benchmarks/census.py"),
    ),
    Benchmark(
        "census_kill.json",
        "python -m benchmarks.census_kill",
        "a census killed twenty times, against one left alone",
        "3 minutes",
        (*SOLVING, "synth/census", "synth/proofs"),
    ),
    Benchmark(
        "growth.json",
        "python -m benchmarks.growth",
        "how one question grows with the box, the delay and the inputs",
        "5 minutes",
        (*SOLVING, "benchmarks/growth.py"),
    ),
    Benchmark(
        "two_input_gates.json",
        "python -m benchmarks.two_input_gates",
        "the smallest stackable layout of every gate of two inputs, 1 to 4 ticks, both joints",
        "10 minutes",
        WALK,
    ),
    Benchmark(
        "three_inputs.json",
        "python -m benchmarks.three_inputs",
        "multiplexer, majority, half adder, exclusive-nor: smallest and proven, or bound and best",
        "half an hour",
        WALK,
    ),
    Benchmark(
        "exclusive_or_frontier.json",
        "python -m benchmarks.frontier",
        "the frontier of floor and delay of exclusive-or, complete and proven",
        "5 minutes",
        (*WALK, "synth/search/frontier"),
    ),
    Benchmark(
        "large.json",
        "python -m benchmarks.large --time-limit 1200 --layouts benchmarks/records",
        "full adder and three-input parity: layouts by structure first, nothing proven",
        "40 minutes",
        (*WALK, "synth/search/placing"),
        beside=("full_adder_layout.json", "parity_layout.json"),
    ),
    Benchmark(
        "library_build.json",
        "python -m benchmarks.library_build",
        "how busy a build keeps two cores, and what starting a job costs",
        "6 minutes",
        (*WALK, "synth/library"),
    ),
    Benchmark(
        "library_kill.json",
        "python -m benchmarks.library_kill",
        "a build killed twenty times, against one left alone",
        "3 minutes",
        (*WALK, "synth/library"),
    ),
    Benchmark(
        "store_speed.json",
        "python -m benchmarks.store_speed",
        "listing, finding and recalling in a store of ten thousand results",
        "a minute",
        ("synth/library", "synth/cli/library", "synth/spec", "synth/layout"),
        default_solver=False,
    ),
    Benchmark(
        "desk_edits.json",
        "python -m benchmarks.desk_edits",
        "how soon the desk shows power after an edit of 300 and of 1,000 parts, in a browser",
        "a minute",
        ("synth/desk", "synth/views/page", "synth/simulator"),
        default_solver=False,
    ),
    Benchmark(
        "catalogue_size.json",
        "python -m benchmarks.catalogue_size",
        "how large and quick a catalogue of 300 gates is in a browser",
        "5 minutes",
        ("synth/views/catalogue", "synth/views/page", "synth/views/drawing"),
        default_solver=False,
    ),
    Benchmark(
        "simulator_speed.json",
        "python -m benchmarks.simulator_speed",
        "how fast the simulator plays and settles, a small gate and 50 x 50 x 20 cells",
        "a minute",
        ("synth/simulator",),
        default_solver=False,
    ),
    Benchmark(
        "slices.json",
        "python -m benchmarks.slices",
        "slices of chains, buffer joints: smallest, or bound and best",
        "10 minutes",
        ("synth/encoding", "synth/search", "synth/composing", "synth/shrinking"),
        beside=(
            "adder_slice_layout.json",
            "adder_slice_link_3_layout.json",
            "two_rail_adder_slice_layout.json",
        ),
    ),
    Benchmark(
        "kept_slices.json",
        "python -m benchmarks.kept_slices",
        "the slices that are kept for rows: what was found, and what is kept",
        "half an hour",
        ("synth/encoding", "synth/search", "synth/composing", "synth/shrinking"),
    ),
    Benchmark(
        "rows.json",
        "python -m benchmarks.rows",
        "rows of 1 to 64 adder slices: assignments played, and how fast",
        "a minute",
        ("synth/simulator", "synth/composing"),
        default_solver=False,
    ),
    Benchmark(
        "repair_speed.json",
        "python -m benchmarks.repair_speed",
        "how long repair takes, and how many changes it needs, with one to three faults",
        "3 minutes",
        (*FORMULA, "synth/simulator", "synth/reviewing", "synth/repairing"),
    ),
    Benchmark(
        "review_speed.json",
        "python -m benchmarks.review_speed",
        "how long a review takes: layouts of 20 to 1,300 parts, right and with a fault",
        "a minute",
        ("synth/simulator", "synth/reviewing"),
        default_solver=False,
    ),
)
