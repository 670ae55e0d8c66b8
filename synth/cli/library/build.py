"""``gatefit library build``: a recipe's questions answered into the store."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING

import click

from synth.cli.shared.arguments import STORE, at_option, split_list
from synth.cli.shared.commands import Command
from synth.cli.shared.completing import files
from synth.cli.shared.options import options
from synth.cli.shared.searching import require_one_place, require_time
from synth.errors import InputError
from synth.words import counted

if TYPE_CHECKING:
    from synth.library.events import Summary

UNDECIDED = 3
REFUSED = 4


@click.command("build", cls=Command, short_help="Answer a recipe's questions into the store.")
@click.argument("recipe", metavar="RECIPE", type=click.Path(), shell_complete=files(".toml"))
@STORE
@click.option(
    "--only-beyond",
    is_flag=True,
    help="Ask nothing; only seek layouts beyond the limits of open questions without one.",
)
@options("library build", grouped=False)
def build_command(
    recipe: str,
    store: str,
    only_beyond: bool,
    workers: int | None,
    address: str | None,
    time_limit: float | None,
    without: Sequence[str],
    as_json: bool,
    quiet: bool,
) -> int:
    """Answer the questions of RECIPE, a TOML file, into the store.

    A recipe says which functions, which limits and delays, and how much time for each question.
    Easy questions come first. Questions that stay open are tried again with four times as much
    time. For one without a layout, the best beyond its limits of length, width and height is
    sought as well, which answers nothing. What the store knows is not searched again. Stop the
    build whenever you like, even with kill; the same command goes on from there. Several builds
    may share a store and divide the work between them.

    \b
    A recipe:
      minimize = ["volume"]
      [functions]
      all_of = [2]          # every function of two inputs, in one order
      classes_of = [3]      # of three inputs, one function of each P-class
      targets = ["half-adder"]
      tables = ["00010111"] # truth tables, or a file with one a line
      [time]
      first = 10            # seconds for each question at first
      most = 160            # and at most
      [[asks]]
      stack = "y"
      joints = ["wire", "buffer"]
      delays = [1, 2, 3, 4]
      length = 5
      width = 2
      height = 5

    \b
    Examples:
      gatefit library build gates.toml
      gatefit library build gates.toml --store gates.sqlite --time-limit 3600
      gatefit library build gates.toml --cluster tcp://127.0.0.1:8786
      gatefit library build gates.toml --json --workers 1
      gatefit library build gates.toml --without above
      gatefit library build gates.toml --only-beyond --time-limit 600

    \b
    Exit codes:
      0  all is decided               3  some questions are undecided
      2  the input cannot be used     4  the simulator refused a layout, a bug
    """
    from synth.cli.library.progress import BuildEvents, BuildProgress
    from synth.library import Store
    from synth.library.build import Build
    from synth.library.chains import chains_of
    from synth.library.events import QuestionsPrepared, Unwatched
    from synth.library.jobs import dismiss
    from synth.library.recipe import load_recipe
    from synth.search.workers.cluster import cluster
    from synth.search.workers.settings import Settings

    require_time(time_limit)
    require_one_place(workers, address)
    read = load_recipe(recipe)
    with at_option("--without"):
        settings = Settings.checked(read.solver, read.seed, workers=1, without=split_list(without))
    progress = BuildProgress(sys.stderr)
    watcher = BuildEvents(sys.stdout) if as_json else Unwatched() if quiet else progress
    # All questions before the store is opened: one that cannot be asked leaves nothing behind.
    with in_file(recipe):
        chains = chains_of(read, lambda count: watcher.event(QuestionsPrepared(count)))
    with ExitStack() as stack:
        hired = None
        if address is not None:
            with at_option("--cluster"):
                hired = stack.enter_context(cluster(address, dismiss))
        opened = stack.enter_context(Store(store))
        build = Build(
            read,
            opened,
            executor=hired.executor if hired else None,
            slots=hired.slots if hired else workers or os.cpu_count() or 1,
            watcher=watcher,
            time_limit_s=time_limit,
            end_jobs=hired.end_jobs if hired else None,
            chains=chains,
            settings=settings,
            only_beyond=only_beyond,
        )
        with _told_how_to_go_on(store, progress.clear):
            summary = build.run()
    progress.clear()
    if not as_json:
        lines = _summary_lines(summary, store)
        # A refused layout is told in any case.
        click.echo("\n".join(lines[:1] if quiet and not summary.refused else lines))
    return REFUSED if summary.refused else UNDECIDED if summary.undecided else 0


@contextmanager
def in_file(file: str) -> Iterator[None]:
    """Let errors name the file that they come of."""
    try:
        yield
    except InputError as error:
        raise error if error.file else error.in_file(file) from None


@contextmanager
def _told_how_to_go_on(store: str, clear: Callable[[], None]) -> Iterator[None]:
    """When a key or a signal stops a build, say that nothing is lost."""
    try:
        yield
    except (KeyboardInterrupt, SystemExit):
        clear()
        click.echo(
            f"gatefit: the answers so far are in {store}; the same command goes on from there",
            err=True,
        )
        raise


def _summary_lines(summary: Summary, store: str) -> list[str]:
    lines = [
        f"{store}: {summary.found} found, {summary.impossible} impossible, "
        f"{summary.undecided} undecided"
        + (
            f", {summary.beyond} of them with a layout beyond their limits"
            if summary.beyond
            else ""
        )
        + (f", {summary.without_layout} without any layout" if summary.without_layout else ""),
        f"{counted(summary.jobs, 'job')} in {summary.seconds:.1f} s, "
        f"{counted(summary.recalled, 'answer')} known before",
    ]
    if summary.failed:
        lines.append(
            f"{summary.failed} left out, for their workers failed; the same command tries again"
        )
    if summary.refused:
        lines.append(
            f"REFUSED: the simulator rejects {counted(summary.refused, 'layout')} that the search "
            "found. This is a bug in gatefit: please report it with the recipe."
        )
    if summary.stopped:
        lines.append(f"stopped: {summary.stopped}; the same command goes on from there")
    elif summary.undecided > summary.failed + summary.refused:
        lines.append("the undecided ones had all the time of the recipe; raise time.most to go on")
    return lines
