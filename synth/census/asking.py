"""A census in one call: what to look for, how to search, where to keep the answer."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from synth import defaults
from synth.census.in_cluster import in_cluster
from synth.census.journal import CensusJournal
from synth.census.result import Census
from synth.census.running import PROVING_SOLVERS
from synth.census.taking import run_census
from synth.errors import InputError
from synth.medium import DEFAULT_RULES, Rules, Size
from synth.proofs.census_certificate import CensusFolder
from synth.proofs.certificate import how_made
from synth.questions.candidates import assumed_time
from synth.questions.census import CensusQuestion, free_spec
from synth.questions.events import Reporter
from synth.questions.measures import parse_measures
from synth.questions.outcome import Status
from synth.search.workers.settings import Settings
from synth.spec.demands import with_limits
from synth.spec.function_list import columns_from


def take_census(
    *,
    inputs: int = 2,
    outputs: int = 1,
    box: Size | None = None,
    functions: Iterable[str] = (),
    idle_inputs: bool = False,
    minimize: Iterable[str] = defaults.MEASURES,
    solver: str | None = None,
    time_limit_s: float | None = None,
    seed: int = defaults.SEED,
    prefer: str = defaults.PREFER,
    rules: Rules = DEFAULT_RULES,
    reporter: Reporter | None = None,
    workers: int | None = None,
    resume: str | Path | None = None,
    certificate: str | Path | None = None,
    cluster: str | None = None,
    **limits: Any,
) -> Census:
    """Find every function that fits, with a layout of each; all others are ruled out.

    Args:
        inputs, outputs: how many the functions have, 1 to 4.
        box: length, width and height of the one box to look into; None: every box under the
            limits, from the smallest up.
        functions: look for these only: truth tables (``"0110"``; ``-`` is a don't care; columns of
            several outputs with spaces between) or text (``"q = a & b"``).
        idle_inputs: count functions, too, that ignore some of their inputs.
        minimize: the measures by which boxes come in order.
        solver: a name of ``synth.search.workers.solvers.SOLVERS``.
        time_limit_s: seconds after which it stops, with what is known by then.
        seed: another order of variables and clauses.
        prefer: ``solid``, ``clear`` or ``ledge`` for cells that only hold a part up.
        rules: the rule table.
        reporter: told of every box and function (``synth.questions.events``).
        workers: boxes at the same time; None: as many as there are processors, up to 4.
        resume: a file to go on from, where what is found out is kept.
        certificate: a folder for the proofs, which ``synth.audit`` checks.
        cluster: the address of a Dask scheduler whose workers work on the boxes, in place of
            ``workers``.
        limits: ``length``, ``width``, ``height``, ``volume``, ``floor`` (cells), ``delay`` (ticks),
            ``stack``, ``pitch``, ``joint``, ``ground``, ``input_faces``, ``output_faces``.

    Returns:
        The census, complete or not.

    Raises:
        InputError: for what cannot be used.
    """
    spec = with_limits(free_spec(inputs, outputs), **limits)
    asked, assumed = CensusQuestion.of(
        spec,
        box=box,
        measures=parse_measures(minimize),
        rules=rules,
        sought=tuple(columns_from(text, spec.function) for text in functions),
        every_input_matters=not idle_inputs,
    )
    time_limit_s, _ = assumed_time(time_limit_s, assumed)
    settings = Settings.checked(solver, seed, prefer, workers)
    if certificate is not None:
        require_proofs_here(cluster)
        require_proofs_of_a_census(settings.solver)
    journal = CensusJournal(asked, None if resume is None else Path(resume))
    with ExitStack() as stack:
        places = None if cluster is None else stack.enter_context(in_cluster(cluster))
        folder = None if certificate is None else stack.enter_context(CensusFolder(certificate))
        proofs = None if folder is None else folder.proofs(asked)
        census = run_census(
            asked,
            settings,
            time_limit_s=time_limit_s,
            reporter=reporter,
            journal=journal,
            proofs=proofs,
            places=places,
        )
        if folder is not None and proofs is not None and census.status is not Status.REFUSED:
            folder.finish(journal.ledger, proofs, how_made(settings.solver, seed))
    return census


def require_proofs_of_a_census(solver: str) -> None:
    """Refuse a solver whose proofs do not hold where clauses are added on the way.

    Raises:
        InputError: naming those whose proofs do.
    """
    if solver not in PROVING_SOLVERS:
        raise InputError(
            f"{solver} writes no proofs that hold for a census",
            way_out=f"use {' or '.join(PROVING_SOLVERS)}",
        )


def require_proofs_here(cluster: str | None) -> None:
    """Refuse to keep proofs of a census that a cluster takes.

    Raises:
        InputError: if there is a cluster.
    """
    if cluster is not None:
        raise InputError(
            "the proofs would be written on the machines of the cluster, not into this folder",
            way_out="take the census without a certificate, or without a cluster",
        )
