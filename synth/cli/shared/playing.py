"""A layout played as ``--drive`` and ``--ticks`` say."""

from __future__ import annotations

from typing import Any

import click

from synth.cli.shared.arguments import at_option, read_words
from synth.layout import Layout
from synth.medium import Rules

MAX_TICKS = 1_000_000
"""Most ticks that one run plays: a slip of the keyboard should not fill a disk."""

LEAST_TICKS = 12
"""Ticks that are played where no number is given and the words need no more."""

AFTERWARDS = 4
"""Ticks that are played after the last change where no number is given."""

TICKS = click.option(
    "--ticks",
    type=click.IntRange(1, MAX_TICKS),
    metavar="N",
    help=f"How many ticks to play.  [default: {LEAST_TICKS}, or as many as --drive needs]",
)


def played(
    layout: Layout, drives: tuple[str, ...], ticks: int | None, rules: Rules
) -> dict[str, Any]:
    """The trace document of a layout.

    Args:
        layout: what to play.
        drives: the values of ``--drive``; without any, every assignment in turn.
        ticks: how many to play; None: as many as the words need.
        rules: the rule table.

    Raises:
        InputError: if a word cannot be read or the layout cannot be played.
    """
    from synth.exports.vcd import all_assignments
    from synth.simulator import trace

    words = read_words(drives) if drives else all_assignments(layout, rules)
    if ticks is None:
        after = AFTERWARDS if drives else 0
        ticks = max([LEAST_TICKS, *(len(word) + after for word in words.values())])
    with at_option({"drive": "--drive"}):
        return trace(layout, words, min(ticks, MAX_TICKS), rules=rules)
