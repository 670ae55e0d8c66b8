"""How to search, as options say it: what cannot be used is refused before anything is done."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from synth import fields
from synth.cli.shared.arguments import at_option
from synth.cli.shared.rows.common import INSULATORS
from synth.errors import InputError

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers and graphs: commands load those when they run.
    from synth.questions.events import Reporter

QUIET = click.option("--quiet", is_flag=True, help="Show no progress on standard error.")


def require_time(seconds: float | None) -> None:
    """Refuse a ``--time-limit`` that is none.

    Raises:
        InputError: unless it is a number of seconds above 0, or was not given.
    """
    if seconds is not None and not 0 < seconds < float("inf"):
        raise InputError(
            f"a time limit of {seconds:g} seconds cannot be kept",
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


def require_one_place(workers: int | None, address: str | None) -> None:
    """Refuse ``--workers`` beside ``--cluster``, which has as many as it has.

    Raises:
        InputError: if both were given.
    """
    if workers is not None and address is not None:
        raise InputError(
            "--workers has no effect with --cluster",
            place="--workers",
            way_out="leave one of the two out",
        )
