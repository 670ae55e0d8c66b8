"""What a shell may complete as the value of an option or argument."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click
from click.shell_completion import CompletionItem

Complete = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def one_of(names: Callable[[], Sequence[str]], *, listed: bool = False) -> Complete:
    """Completes one of several names.

    Args:
        names: gives them; called only when somebody completes, for it may load a lot.
        listed: whether the value may be a list with commas, of which the last item is completed.
    """

    def complete(ctx: click.Context, parameter: click.Parameter, incomplete: str) -> Any:
        before, comma, last = incomplete.rpartition(",") if listed else ("", "", incomplete)
        given = before.split(",")
        return [
            CompletionItem(f"{before}{comma}{name}")
            for name in names()
            if name.startswith(last) and name not in given
        ]

    return complete


def files(*endings: str) -> Complete:
    """Completes names of files with one of these endings, and folders on the way to them.

    Where no file here has such an ending, all files are offered.
    """

    def complete(ctx: click.Context, parameter: click.Parameter, incomplete: str) -> Any:
        found = list(_files(incomplete, endings))
        return found or [CompletionItem(incomplete, type="file")]

    return complete


def folders() -> Complete:
    """Completes names of folders."""

    def complete(ctx: click.Context, parameter: click.Parameter, incomplete: str) -> Any:
        return [CompletionItem(incomplete, type="dir")]

    return complete


def _files(incomplete: str, endings: Sequence[str]) -> list[CompletionItem]:
    head, _, start = incomplete.rpartition("/")
    folder = Path(head) if head else Path("/" if incomplete.startswith("/") else ".")
    before = incomplete[: len(incomplete) - len(start)]
    files, inner = [], []
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if not entry.name.startswith(start) or (
                    entry.name.startswith(".") and not start.startswith(".")
                ):
                    continue
                if entry.is_dir():
                    inner.append(f"{before}{entry.name}/")
                elif entry.name.lower().endswith(tuple(endings)):
                    files.append(f"{before}{entry.name}")
    except OSError:
        return []
    # Folders alone are no reason to keep other files back.
    return [CompletionItem(name) for name in (*sorted(files), *sorted(inner))] if files else []


def complete_spec(
    ctx: click.Context, parameter: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    """Names of targets, and specification files."""
    from synth.spec.targets import target_names

    names = [CompletionItem(name) for name in target_names() if name.startswith(incomplete)]
    specs = _files(incomplete, (".toml",))
    return [*names, *specs] or [CompletionItem(incomplete, type="file")]


def measures() -> Sequence[str]:
    """What a layout is measured by."""
    from synth.questions.measures import MEASURES

    return MEASURES


def solvers() -> Sequence[str]:
    """The SAT solvers."""
    from synth.search.workers.solvers import SOLVERS

    return list(SOLVERS)


def accelerations() -> Sequence[str]:
    """What makes the search quicker."""
    from synth.encoding import ACCELERATIONS

    return list(ACCELERATIONS)
