"""The command ``gatefit``: its commands, and how it ends.

Exit codes: 0 done, found or passed; 1 impossible, or a check that fails; 2 input that cannot be
used; 3 undecided; 4 refused; 130 stopped from the keyboard; 143 stopped by a signal; for what is
none of these see ``synth.cli.shared.ending``.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
from collections.abc import Sequence
from types import FrameType

import click
from click.shell_completion import shell_complete

from synth.cli.audit import audit_command
from synth.cli.build import build_command
from synth.cli.census import census_command
from synth.cli.check import check_command
from synth.cli.compare import compare_command
from synth.cli.completion import VARIABLE, completion_command
from synth.cli.desk import desk_command
from synth.cli.explain import explain_command
from synth.cli.export import export_command
from synth.cli.frontier import frontier_command
from synth.cli.import_ import import_command
from synth.cli.library.group import library_command
from synth.cli.plan import plan_command
from synth.cli.prove import prove_command
from synth.cli.repair import repair_command
from synth.cli.row import row_command
from synth.cli.shared.commands import Commands
from synth.cli.shared.ending import BAD_INPUT, NOT_WRITTEN, ending, let_go, refuse, say
from synth.cli.shared.usage import usage_text
from synth.cli.show import show_command
from synth.cli.shrink import shrink_command
from synth.cli.solve import solve_command
from synth.cli.targets import targets_command
from synth.cli.trace import trace_command
from synth.cli.view import view_command
from synth.errors import InputError, OutputError
from synth.machine import look_for_garbage_seldom
from synth.versions import VERSION

INTERRUPTED = 130
TERMINATED = 143

FIRST_STEPS = """\
gatefit finds the smallest layout of a boolean function. Try first:

  gatefit solve "q = a & ~b" -o gate.json   find the smallest layout
  gatefit view gate.json -o gate.html       make a page, to look at and play
  gatefit plan gate.json -o plan.html       make a plan to build it by hand

For help: 'gatefit --help' lists commands, 'gatefit solve --help' explains one."""
"""What a bare ``gatefit`` says."""


@click.group(cls=Commands, invoke_without_command=True)
@click.version_option(VERSION, prog_name="gatefit", message="%(prog)s %(version)s")
@click.pass_context
def cli(ctx: click.Context) -> None:
    """Find the smallest layout of a boolean function, and check it.

    A layout is a box of blocks that computes the function: solids, wires, inverters, buffers.
    gatefit searches for one within the limits that you give, from the smallest up. A simulator
    that had no part in the search judges what is found.

    \b
    Examples:
      gatefit solve "q = a & ~b"
      gatefit solve "q = a ^ b" --width 2 --delay 2 --stack y -o xor.json
      gatefit show xor.json
      gatefit view xor.json -o xor.html
      gatefit plan xor.json -o xor-plan.html
      gatefit check xor.json --function "q = a ^ b"
      gatefit export xor.json -o xor.svg
      gatefit targets

    \b
    Exit codes:
      0  done: found, or the check passes      3  undecided
      1  impossible, or the check fails        4  refused by the simulator (a bug)
      2  the input cannot be used
      70  a bug: please report it             74  something cannot be written
      71  no memory is left, or the like      141  the output's reader went away
    """
    if ctx.invoked_subcommand is None:
        click.echo(FIRST_STEPS)


cli.add_command(solve_command)
cli.add_command(shrink_command)
cli.add_command(build_command)
cli.add_command(prove_command)
cli.add_command(repair_command)
cli.add_command(frontier_command)
cli.add_command(census_command)
cli.add_command(check_command)
cli.add_command(compare_command)
cli.add_command(trace_command)
cli.add_command(show_command)
cli.add_command(row_command)
cli.add_command(desk_command)
cli.add_command(view_command)
cli.add_command(plan_command)
cli.add_command(explain_command)
cli.add_command(export_command)
cli.add_command(import_command)
cli.add_command(library_command)
cli.add_command(targets_command)
cli.add_command(audit_command)
cli.add_command(completion_command)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code; every error is one line on standard error
    (and, where it is in the text of a function or a drawing, that text with a caret below it).

    Args:
        arguments: what stands after ``gatefit``; None: what the process was started with.
    """
    given = list(sys.argv[1:] if arguments is None else arguments)
    look_for_garbage_seldom()
    # A search has children, which only an orderly end takes along. Off the main thread (a
    # ValueError) whoever runs us minds the signals.
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGTERM, _terminate)
    if sys.stderr is None:
        # Closed. What is opened next would get its number, and then whatever we say.
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    if sys.stdout is None:
        say("gatefit: standard output is closed, so there is nowhere to write an answer")
        return NOT_WRITTEN
    try:
        return _ended(given)
    finally:
        let_go(sys.stdout)
        let_go(sys.stderr)


def _ended(arguments: list[str]) -> int:
    """Run the command; its exit code, or that of the error that it ended in."""
    try:
        code = _run(arguments)
        sys.stdout.flush()
    except OutputError as error:
        say(f"gatefit: {error}")
        return NOT_WRITTEN
    except InputError as error:
        return _fail(str(error))
    except click.UsageError as error:
        return _fail(usage_text(error))
    except click.ClickException as error:
        return _fail(error.format_message())
    except (click.Abort, KeyboardInterrupt):
        say("")
        say("gatefit: stopped")
        return INTERRUPTED
    except Exception as error:
        code, line = ending(error, arguments)
        say(f"gatefit: {line}")
        return code
    return code if isinstance(code, int) else 0


def _run(arguments: list[str]) -> object:
    """What ``cli.main`` does, but for its end: there a reader gone is code 1, "impossible"."""
    instruction = os.environ.get(VARIABLE)
    if instruction:
        return shell_complete(cli, {}, "gatefit", VARIABLE, instruction)
    try:
        with cli.make_context("gatefit", arguments) as ctx:
            return cli.invoke(ctx)
    except click.exceptions.Exit as end:
        return end.exit_code


def _fail(message: str) -> int:
    refuse(message)
    return BAD_INPUT


def _terminate(number: int, frame: FrameType | None) -> None:
    raise SystemExit(TERMINATED)


if __name__ == "__main__":
    sys.exit(main())
