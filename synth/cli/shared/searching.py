"""Options that say how to search, shared by the commands that do."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from synth import fields
from synth.cli.shared.arguments import at_option
from synth.errors import InputError

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers and graphs: commands load those when they run.
    from synth.questions.events import Reporter

INSULATORS = ("solid", "ledge", "clear")


def _complete_solver(ctx: Any, parameter: Any, incomplete: str) -> list[str]:
    from synth.search.workers.solvers import SOLVERS

    return [name for name in SOLVERS if name.startswith(incomplete)]


SOLVER = click.option(
    "--solver",
    default=None,
    metavar="NAME",
    shell_complete=_complete_solver,
    help="A SAT solver of python-sat.  [default: glucose42; where proofs are kept cadical195]",
)

SEED = click.option(
    "--seed", type=int, default=0, show_default=True, metavar="N", help="Same seed, same layout."
)

PREFER = click.option(
    "--prefer",
    default="solid",
    show_default=True,
    metavar="PART",
    help="What cells become that only hold a part up: ledge, clear or solid.",
)

WORKERS = click.option(
    "--workers",
    type=click.IntRange(1, 64),
    metavar="N",
    help="Boxes asked about at the same time; one for each core, up to 4, if unsaid.",
)

QUIET = click.option("--quiet", is_flag=True, help="Show no progress on standard error.")


def require_time(seconds: float | None) -> None:
    """Refuse a ``--time-limit`` that is none.

    Raises:
        InputError: unless it is a number of seconds above 0, or was not given.
    """
    if seconds is not None and not 0 < seconds < float("inf"):
        raise InputError(
            f"a time limit of {seconds:g} seconds",
            place="--time-limit",
            way_out="use a number of seconds above 0",
        )


def require_search(solver: str, prefer: str, time_limit: float | None) -> None:
    """Refuse options that no search can be made of, before anything is done.

    Raises:
        InputError: naming the option.
    """
    from synth.search.workers.solvers import require_solver

    with at_option("--solver"):
        require_solver(solver)
    fields.choice(prefer, INSULATORS, "--prefer", "part to prefer")
    require_time(time_limit)


def reporter_of(quiet: bool) -> Reporter:
    """What shows how a search goes on."""
    from synth.cli.shared.progress import Progress
    from synth.questions.events import Silent

    return Silent() if quiet else Progress()
