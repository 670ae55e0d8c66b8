"""How to search: solvers, time, processes, and what is known already."""

from __future__ import annotations

import click

from synth import defaults
from synth.cli.shared.completing import accelerations, files, one_of, solvers
from synth.cli.shared.option import SEARCH, Option
from synth.cli.shared.rows.common import INSULATORS, SEARCHING

_AT_ONCE = "one for each processor"
_STORE = (
    "A store of answers: what is known there is not searched again, and new answers are kept there."
)

SEARCH_ROWS: tuple[Option, ...] = (
    Option(
        ("--time-limit",),
        ("build",),
        SEARCH,
        "Stop placing after this many seconds, with the best layout so far; it is then judged and "
        "proven.",
        "SECONDS",
        "60",
        60.0,
        kind=float,
    ),
    Option(
        ("--rounds",),
        ("build",),
        SEARCH,
        "Stop after this many placements in place of a time limit. Every run then gives the same "
        "layout.",
        "N",
        kind=int,
    ),
    Option(
        ("--seed",),
        ("build",),
        SEARCH,
        "Another seed begins with other placements.",
        "N",
        str(defaults.SEED),
        defaults.SEED,
        kind=int,
    ),
    Option(
        ("--resume",),
        ("build",),
        SEARCH,
        "Write every better layout to this file, and go on from the best that it holds.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".jsonl"),
    ),
    Option(
        ("--solver",),
        ("solve", "prove"),
        SEARCH,
        "The SAT solver, by its name in python-sat.",
        "NAME",
        f"{defaults.SOLVER}; {defaults.PROVING_SOLVER} with --certificate",
        complete=one_of(solvers),
    ),
    Option(
        ("--solver",),
        ("frontier", "census"),
        SEARCH,
        "The SAT solver, by its name in python-sat.",
        "NAME",
        defaults.SOLVER,
        complete=one_of(solvers),
    ),
    Option(
        ("--time-limit",),
        ("solve", "prove"),
        SEARCH,
        "Stop after this many seconds. The answer is then undecided, with the best layout so far.",
        "SECONDS",
        f"none; {defaults.ASSUMED_TIME_S:g} if sizes or the delay are left open",
        kind=float,
    ),
    Option(
        ("--time-limit",),
        ("frontier", "census"),
        SEARCH,
        "Stop after this many seconds. Whatever is open by then is shown as open.",
        "SECONDS",
        f"none; {defaults.ASSUMED_TIME_S:g} if sizes or the delay are left open",
        kind=float,
    ),
    Option(
        ("--time-limit",),
        ("library build",),
        SEARCH,
        "Stop after this many seconds. What is answered by then is kept.",
        "SECONDS",
        "none",
        kind=float,
    ),
    Option(
        ("--time-limit",),
        ("repair", "shrink"),
        SEARCH,
        "Stop after this many seconds, with the best layout so far.",
        "SECONDS",
        "60",
        60.0,
        kind=float,
    ),
    Option(
        ("--effort",),
        ("shrink",),
        SEARCH,
        "Stop after this many conflicts of the solver in place of a time limit. With one worker "
        "every run then gives the same layout.",
        "N",
        kind=click.IntRange(1),
    ),
    Option(
        ("--seed",),
        (*SEARCHING, "prove", "census", "shrink"),
        SEARCH,
        "The same seed gives the same layout; another one may give another of the same size.",
        "N",
        str(defaults.SEED),
        defaults.SEED,
        kind=int,
    ),
    Option(
        ("--prefer",),
        (*SEARCHING, "prove", "census"),
        SEARCH,
        "The part to use where any support would do: ledge, clear or solid.",
        "PART",
        defaults.PREFER,
        defaults.PREFER,
        complete=one_of(lambda: INSULATORS),
    ),
    Option(
        ("--workers",),
        (*SEARCHING, "prove", "census"),
        SEARCH,
        "How many processes search at the same time.",
        "N",
        f"{_AT_ONCE}, up to {defaults.MOST_WORKERS}",
        kind=click.IntRange(1, 64),
    ),
    Option(
        ("--workers",),
        ("shrink",),
        SEARCH,
        "How many windows are asked about at the same time; the first success wins.",
        "N",
        "1",
        1,
        kind=click.IntRange(1, 64),
    ),
    Option(
        ("--workers",),
        ("library build",),
        SEARCH,
        "How many questions are worked on at the same time, each in a process of its own.",
        "N",
        _AT_ONCE,
        kind=click.IntRange(1, 256),
    ),
    Option(
        ("--workers",),
        ("audit",),
        SEARCH,
        "How many proofs are checked at the same time.",
        "N",
        f"{_AT_ONCE}, up to {defaults.MOST_WORKERS}",
        kind=click.IntRange(1, 64),
    ),
    Option(
        ("--cluster",),
        ("library build",),
        SEARCH,
        "Work on the questions in a cluster: the address of its Dask scheduler, such as "
        "tcp://host:port.",
        "ADDRESS",
        parameter="address",
    ),
    Option(
        ("--advise",),
        ("solve",),
        SEARCH,
        "After the answer 'impossible', spend up to this many seconds finding out which limit "
        "makes it impossible. The answer is printed first; only --json waits for the advice.",
        "SECONDS",
        f"{defaults.ADVISE_S:g}; 0 with --json or --quiet",
        kind=click.FloatRange(min=0),
    ),
    Option(
        ("--store",),
        ("solve", "prove"),
        SEARCH,
        f"{_STORE} With --certificate, which wants proofs, answers are only kept.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".sqlite"),
        environment="GATEFIT_STORE",
    ),
    Option(
        ("--store",),
        ("frontier", "census"),
        SEARCH,
        _STORE,
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".sqlite"),
        environment="GATEFIT_STORE",
    ),
    Option(
        ("--resume",),
        ("solve", "prove"),
        SEARCH,
        "Write every step of the search to this file, and go on from the steps that it holds.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".jsonl"),
    ),
    Option(
        ("--resume",),
        ("census",),
        SEARCH,
        "Write every layout and every box that is complete to this file, and go on from those that "
        "it holds.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".jsonl"),
    ),
    Option(
        ("--resume",),
        ("shrink",),
        SEARCH,
        "Write every gain to this file, and go on from the best that it holds.",
        "FILE",
        kind=click.Path(dir_okay=False),
        complete=files(".jsonl"),
    ),
    Option(
        ("--without",),
        ("solve",),
        SEARCH,
        "Switch off something that makes the search quicker, to measure what it saves: symmetry, "
        "order, monotone, compared, sensitive, links, first-tick, last-tick, tallest, "
        "structure, above, least-delay. Repeat it, or separate them by commas.",
        "NAME",
        multiple=True,
        complete=one_of(accelerations, listed=True),
    ),
    Option(("--plain",), ("solve",), SEARCH, "Switch all of them off. The answers stay the same."),
)
