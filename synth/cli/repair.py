"""``gatefit repair``: the fewest changed cells that make a layout right."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import product
from typing import TYPE_CHECKING

import click

from synth.cli.shared.arguments import DELAY, FUNCTION, LAYOUT, at_option, wanted
from synth.cli.shared.commands import Command
from synth.cli.shared.files import LayoutFile, json_line, of_layout, read_layout, read_rules
from synth.cli.shared.options import options
from synth.cli.shared.searching import require_time
from synth.errors import InputError
from synth.medium import Cell
from synth.words import filled

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers: commands load those when they run.
    from synth.repairing import Repaired

_CELLS = re.compile(r"(\d{1,4}),(\d{1,4}),(\d{1,4})(?:\.\.(\d{1,4}),(\d{1,4}),(\d{1,4}))?")

_OF_BOX = ("length", "width", "height", "volume", "floor")
"""Limits of a specification that a box may break."""

MOST_CELLS = 100_000
"""Most cells that one option may name."""


@click.command("repair", cls=Command, short_help="Mend a layout with the fewest changes.")
@LAYOUT
@FUNCTION
@DELAY
@options("repair")
def repair_command(
    layout: str,
    function: str | None,
    delay: int | None,
    window: tuple[str, ...],
    locks: tuple[str, ...],
    time_limit: float,
    rules: str | None,
    output: str | None,
    as_json: bool,
    quiet: bool,
) -> int:
    """Mend the layout in LAYOUT ('-': standard input) with as few changed cells as there can be.

    The layout may be wrong in any way: not legal, another function, too slow, a stack that does not
    work. Without --function it has to do what its file says it was made for, else what it does now
    where that is known. Any cell may change, unless --window or --lock say otherwise; a pin moves
    only if a rule of pins is broken. The solver counts from below: where two changes do, it has
    ruled out that one does. The simulator judges what it finds.

    \b
    Examples:
      gatefit repair broken.json --function "q = a ^ b" --delay 2 -o mended.json
      gatefit repair broken.json --lock 0,0,0..0,1,4 --lock 3,1,4
      gatefit repair broken.json --window 1,0,2..2,1,4 --time-limit 300
      gatefit repair broken.json --function xor2-stack --json

    \b
    Exit codes:
      0  found: it is mended, and fewer changes are ruled out
      1  impossible: no change of cells mends it, with its pins where they are
      2  the input cannot be used
      3  undecided: the time ran out; the best so far is shown
      4  refused: the simulator rejects what was found, a bug
    """
    from synth.repairing import Interrupted, repair

    require_time(time_limit)
    given = read_layout(layout)
    target = None if output is None else LayoutFile(output)
    inside = None if not window else cells_of(window, "--window")
    named = {"window": "--window", "lock": "--lock", "function": "--function"}
    named |= {f"limits.{name}": f"--function, limits.{name}" for name in _OF_BOX}
    with of_layout(layout), at_option(named):
        try:
            done = repair(
                given,
                wanted(function),
                delay=delay,
                window=inside,
                locked=cells_of(locks, "--lock"),
                time_limit_s=time_limit,
                rules=read_rules(rules),
                progress=None if quiet else _progress(),
            )
        except Interrupted as stop:
            if stop.repaired.layout is not None and target is not None:
                target.write(target.text(stop.repaired.layout))
                click.echo(f"gatefit: layout written to {target.path}, as far as it got", err=True)
            raise
    remarks = []
    if target is not None:
        if done.layout is None:
            remarks.append(f"no layout, so nothing is written to {target.path}")
        else:
            target.write(target.text(done.layout))
            remarks.append(f"layout written to {target.path}")
    if as_json:
        click.echo(json_line(done.document()))
    else:
        click.echo(_line(done) if quiet else _text(done))
    for remark in () if quiet else remarks:
        click.echo(f"gatefit: {remark}", err=True)
    return done.status.exit_code


def cells_of(texts: Sequence[str], option: str) -> frozenset[Cell]:
    """The cells that ``1,0,2`` and ``0,0,0..3,1,4`` name.

    Raises:
        InputError: naming the option and the text that names none.
    """
    found: set[Cell] = set()
    for text in texts:
        match = _CELLS.fullmatch(text.replace(" ", ""))
        if match is None:
            raise InputError(
                f"{text!r} names no cells",
                place=option,
                way_out="write a cell as 1,0,2, or two corners as 0,0,0..3,1,4",
            )
        one = [int(number) for number in match.groups()[:3]]
        other = one if match[4] is None else [int(number) for number in match.groups()[3:]]
        spans = [range(min(ends), max(ends) + 1) for ends in zip(one, other, strict=True)]
        x, y, z = spans
        if len(x) * len(y) * len(z) > MOST_CELLS:
            raise InputError(
                f"{text!r} names more than {MOST_CELLS:,} cells",
                place=option,
                way_out="name cells of the layout",
            )
        found.update(product(x, y, z))
    return frozenset(found)


def _progress() -> Callable[[str], None]:
    """Says on standard error how far it came, each thing once."""
    said: set[str] = set()

    def tell(text: str) -> None:
        if text not in said:
            said.add(text)
            click.echo(f"gatefit: {text} ...", err=True)

    return tell


def _line(done: Repaired) -> str:
    from synth.cli.shared.outcome_text import HEADLINES
    from synth.words import counted

    name = done.start.name or "layout"
    if done.layout is None:
        return f"{name}: {HEADLINES[done.status]}, {done.reason}"
    changes = counted(done.changes, "change")
    return f"{name}: {HEADLINES[done.status]}, {changes}: {'; '.join(done.words()) or 'none'}"


def _text(done: Repaired) -> str:
    from synth.cli.shared.outcome_text import HEADLINES
    from synth.views.text.layers import layout_text as drawn
    from synth.views.text.verdict import verdict_text
    from synth.words import counted

    sections = []
    if done.layout is not None:
        sections.append(drawn(done.layout))
        if done.verdict is not None:
            sections.append(verdict_text(done.verdict, done.layout, stack=done.layout.stack))
        head = f"Changes: {done.changes}" if done.changes else "Changes: none"
        sections.append("\n".join([head, *(f"  {words}" for words in done.words())]))
    name = done.start.name or "layout"
    answer = [f"{name}: {HEADLINES[done.status]}."]
    answer += [
        f"{label} {text}."
        for label, text in (("Claim:", done.claim), ("Reason:", done.reason))
        if text
    ]
    answer += [f"Assumed: {text}. Options say otherwise." for text in done.assumed]
    answer.append(
        f"{counted(len(done.verdict_before.faults), 'fault')} before; {done.seconds:.1f} s."
    )
    sections.append("\n".join(filled(line, "  ") for line in answer))
    return "\n\n".join(sections)
