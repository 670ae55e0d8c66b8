"""``gatefit check``: the simulator's verdict on a layout."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import click

from synth.cli.shared.arguments import (
    CIRCUIT_FILES,
    DELAY,
    FUNCTION,
    LAYOUT,
    LINK_DELAY,
    RULES,
    TOP,
    at_option,
    wanted,
)
from synth.cli.shared.commands import Command
from synth.cli.shared.files import json_line, of_layout, read_layout, read_rules
from synth.cli.shared.watching import watchable
from synth.errors import InputError
from synth.words import listed

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers: commands load those when they run.
    from synth.circuits import Circuit
    from synth.layout import Layout
    from synth.medium import Rules


@click.command("check", cls=Command, short_help="Judge a layout in the simulator.")
@LAYOUT
@FUNCTION
@click.option("--spec", metavar="SPEC", hidden=True, help="An older name of --function.")
@click.option(
    "--circuit",
    metavar="CIRCUIT",
    shell_complete=CIRCUIT_FILES,
    help="The circuit that the layout should compute, in a file as 'gatefit build' takes it.",
)
@TOP
@DELAY
@LINK_DELAY
@click.option(
    "--copies",
    type=click.IntRange(1),
    metavar="N",
    help="Play a whole row of N copies as well, as one layout.",
)
@click.option(
    "--samples",
    type=click.IntRange(1),
    metavar="N",
    help="With --copies: play at least this many assignments at random.  [default: every one, or "
    "10,000 beyond 20 inputs]",
)
@RULES
@click.option(
    "--review",
    "whole",
    is_flag=True,
    help="Tell the whole review: notes, every remedy, the rules; with --json, as a document.",
)
@click.option("--brief", is_flag=True, help="Leave the review out: only the verdict.")
@watchable
@click.option("--json", "as_json", is_flag=True, help="Print only the verdict as a JSON document.")
def check_command(
    layout: str,
    function: str | None,
    spec: str | None,
    circuit: str | None,
    top: str | None,
    delay: int | None,
    link_delay: int | None,
    copies: int | None,
    samples: int | None,
    rules: str | None,
    whole: bool,
    brief: bool,
    as_json: bool,
) -> int:
    """Let the simulator judge the layout in the file LAYOUT ('-': standard input).

    It says whether the layout is legal in the medium, what it computes and how fast, whether it
    can be stacked, and every fault with its rule and cell. With --function or --delay the layout
    has to do that. Without them it has to do what its file says it was made for; gatefit writes
    that there. If the file does not say, you learn what the layout computes.

    Below the verdict stands a review: for every fault a single change that mends it, where there
    is one, and what does it in which copy of a stack; then outputs that glitch, wires one step
    from too weak, parts that do nothing, oscillation and memory; with --review also what would
    break with another joint or in a stack. Only faults change the exit code.

    With --circuit the layout has to compute a circuit. Of up to 8 inputs every assignment is played
    as ever. A layout of more, up to 32, has to stand alone: the simulator reads it as a netlist, a
    solver proves that no assignment tells it from the circuit, and there is no review. Without
    --circuit a layout of more than 16 inputs passes if it is legal and settles.

    With --copies a row of that many copies is played too, as one layout: every copy has to do what
    it should, and a chain has to hand its signals on in time.

    \b
    Examples:
      gatefit check xor.json
      gatefit check xor.json --function "q = a ^ b" --delay 2
      gatefit check xor.json --function xor2 --review
      gatefit check xor.drawing --watch
      gatefit check xor.json --json
      gatefit check adder.json --copies 8
      gatefit check unit.json --circuit unit.v --delay 30
      gatefit solve "q = a & b" --json | gatefit check - --brief

    \b
    Exit codes:
      0  the layout passes     2  the input cannot be used
      1  it does not pass
    """
    from synth.circuits.pins import spec_of
    from synth.cli.shared.outcome_text import asked_columns
    from synth.reviewing import review
    from synth.simulator import check
    from synth.simulator.demands import demanded_stack
    from synth.simulator.made_for import spec_made_for
    from synth.simulator.rows import row_verdict
    from synth.views.text.layers import measures_text
    from synth.views.text.review import review_text
    from synth.views.text.verdict import verdict_text

    given = read_layout(layout)
    asking = {"--function": function, "--spec": spec, "--circuit": circuit}
    said = [option for option, value in asking.items() if value is not None]
    if len(said) > 1:
        raise InputError(
            "a function is given twice", place=listed(said), way_out="give one of them"
        )
    if whole and brief:
        raise InputError(
            "the review is asked for and left out",
            place="--review and --brief",
            way_out="give one of them",
        )
    if samples is not None and copies is None:
        raise InputError(
            "there is no row to play", place="--samples", way_out="give --copies as well"
        )
    if top is not None and circuit is None:
        raise InputError(
            "there is no circuit to choose a module of",
            place="--top",
            way_out="give --circuit as well",
        )
    table = read_rules(rules)
    compared = None if circuit is None else _read(circuit, top)
    if _is_beyond_play(given, compared, asks=bool(said)):
        _refuse_beyond_play({"--copies": copies, "--link-delay": link_delay, "--review": whole})
        return _checked_as_netlist(given, compared, delay, table, as_json=as_json)
    named = wanted(spec if function is None else function)
    asked = named if compared is None else spec_of(compared)
    judged_by = spec_made_for(given) if asked is None else asked
    chained = given.chain or (judged_by is not None and judged_by.chain)
    if link_delay is not None and not chained:
        raise InputError(
            f"a link delay of at most {link_delay}, but neither the layout nor what is asked of "
            "it has a chain",
            place="--link-delay",
            way_out="leave it out, or name a layout or a specification that has one",
        )
    with of_layout(layout):
        if brief or (as_json and not whole):
            reviewed = None
            verdict = check(given, judged_by, delay=delay, link_delay=link_delay, rules=table)
        else:
            reviewed = review(given, judged_by, delay=delay, link_delay=link_delay, rules=table)
            verdict = reviewed.verdict
    row = None
    if copies is not None and verdict.passes:
        stated = given
        if given.stack is None and judged_by is not None:
            stated = given.replace(stack=demanded_stack(given, judged_by))
        asks = (delay, link_delay)
        with at_option("--copies"):
            row = row_verdict(
                stated, verdict, judged_by, copies, asks, samples=samples, rules=table
            )
    passes = verdict.passes and (row is None or row.passes)
    if as_json:
        document = (reviewed or verdict).document()
        click.echo(json_line(document if row is None else {**document, "row": row.document()}))
        return 0 if passes else 1
    click.echo(measures_text(given))
    click.echo()
    click.echo(
        verdict_text(
            verdict,
            given,
            asked=None if judged_by is None else asked_columns(judged_by, given),
            stack=given.stack or (None if judged_by is None else demanded_stack(given, judged_by)),
            made_for=given.made_for if asked is None else None,
        )
    )
    if copies is not None:
        click.echo()
        click.echo("Row: not played, as the layout is not right" if row is None else row.text())
    if reviewed is not None:
        click.echo()
        click.echo(review_text(reviewed, everything=whole))
    return 0 if passes else 1


def _read(circuit: str, top: str | None) -> Circuit:
    from synth.circuits.reading.read import read_circuit

    return read_circuit(circuit, top=top)


def _is_beyond_play(layout: Layout, circuit: Circuit | None, *, asks: bool) -> bool:
    """Whether a layout is judged as a netlist, because not every assignment is played.

    Args:
        layout: the layout.
        circuit: what it is held against, if anything.
        asks: whether something was asked by an option.
    """
    from synth.circuits.judging import MOST_PLAYED_INPUTS
    from synth.simulator.settling import MAX_SETTLED_INPUTS

    if circuit is not None:
        return len(circuit.inputs) > MOST_PLAYED_INPUTS
    alone = not asks and layout.made_for is None and layout.stack is None
    return alone and len(layout.inputs) > MAX_SETTLED_INPUTS


def _refuse_beyond_play(options: Mapping[str, object]) -> None:
    """Refuse options that need a play of every assignment."""
    for option, value in options.items():
        if value not in (None, False):
            raise InputError(
                "the layout has too many inputs to play every assignment, which this needs",
                place=option,
                way_out="leave it out",
            )


def _checked_as_netlist(
    layout: Layout, circuit: Circuit | None, delay: int | None, rules: Rules, *, as_json: bool
) -> int:
    """Judge a layout of many inputs, show what was found, and give the exit code."""
    from synth.building.checking import check_circuit
    from synth.views.text.layers import measures_text

    found = check_circuit(layout, circuit, delay=delay, rules=rules)
    if as_json:
        click.echo(json_line(found.document()))
    else:
        click.echo(f"{measures_text(layout)}\n\n{found.text()}")
    return 0 if found.passes else 1
