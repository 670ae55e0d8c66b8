"""``gatefit prove``: whether anything smaller keeps what a layout keeps."""

from __future__ import annotations

from typing import Any

import click

from synth.cli.shared.arguments import FUNCTION, LAYOUT, at_option, split_list, wanted
from synth.cli.shared.commands import Command
from synth.cli.shared.files import of_layout, read_layout, read_rules
from synth.cli.shared.options import options
from synth.cli.shared.specifying import specified
from synth.cli.solve import search_for
from synth.spec import Spec


@click.command("prove", cls=Command, short_help="Find out whether a layout is the smallest.")
@LAYOUT
@FUNCTION
@options("prove")
def prove_command(
    layout: str,
    function: str | None,
    loosen: tuple[str, ...],
    rules: str | None,
    **how: Any,
) -> int:
    """Find out whether anything is smaller than the layout in LAYOUT ('-': standard input).

    The layout must be right. What is asked is what it keeps: its function, its delay, the faces and
    joints of its pins, its stacking, and no side of the box longer than it is now. Options ask for
    something else, or for less. Then every smaller box is tried, as by 'gatefit solve': either one
    has a layout, or all are ruled out and this layout is the smallest. With --certificate the
    proofs are kept, for 'gatefit audit'.

    \b
    Examples:
      gatefit prove xor.json
      gatefit prove xor.json --certificate xor-proof
      gatefit prove xor.json --length 8 --height 3 --loosen faces
      gatefit prove adder.json --minimize parts --time-limit 600 --resume a.jsonl

    \b
    Exit codes:
      0  found: this layout is the smallest, or the smallest is shown
      2  the input cannot be used
      3  undecided: the time ran out, the best so far is shown
      4  refused: the simulator rejects what was found, a bug
    """
    from synth.proving import kept_spec

    given = read_layout(layout)
    table = read_rules(rules)
    of_search = {name: how.pop(name) for name in _OF_SEARCH}

    def asked() -> Spec:
        kept = kept_spec(given, wanted(function), loosen=split_list(loosen), rules=table)
        return specified(kept, how)

    with of_layout(layout), at_option({"loosen": "--loosen"}):
        return search_for(
            asked, given.name or layout, start=given, rules=rules, advise=0, without=(), **of_search
        )


_OF_SEARCH = (
    "minimize",
    "solver",
    "time_limit",
    "seed",
    "prefer",
    "workers",
    "certificate",
    "store",
    "resume",
    "output",
    "plots",
    "as_json",
    "quiet",
)
"""Options of the search; all others say what is asked."""
