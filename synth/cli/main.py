"""The command ``gatefit``: its commands, and how it ends.

Exit codes: 0 done, found or passed; 1 impossible, or a check that fails; 2 input that cannot be
used; 3 undecided; 4 refused; 130 stopped from the keyboard; 143 stopped by a signal.
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

from synth import __version__
from synth.cli.audit import audit_command
from synth.cli.check import check_command
from synth.cli.commands import Commands
from synth.cli.completion import VARIABLE, completion_command
from synth.cli.explain import explain_command
from synth.cli.export import export_command
from synth.cli.frontier import frontier_command
from synth.cli.library import library_command
from synth.cli.plan import plan_command
from synth.cli.show import show_command
from synth.cli.shrink import shrink_command
from synth.cli.solve import solve_command
from synth.cli.targets import targets_command
from synth.cli.trace import trace_command
from synth.cli.view import view_command
from synth.errors import InputError

BAD_INPUT = 2
INTERRUPTED = 130
TERMINATED = 143
BROKEN_PIPE = 141


@click.group(cls=Commands, invoke_without_command=True)
@click.version_option(__version__, prog_name="gatefit", message="%(prog)s %(version)s")
@click.pass_context
def cli(ctx: click.Context) -> None:
    """Find the smallest layout of a boolean function, and check it.

    A layout is a box of blocks that computes the function: solids, wires, inverters, buffers.
    gatefit searches for one that keeps the limits you give, smallest first, and lets a
    simulator that had no part in the search judge it.

    \b
    Examples:
      gatefit solve "q = a & ~b"
      gatefit solve "q = a ^ b" --width 2 --delay 2 --stack y --output xor.json
      gatefit show xor.json
      gatefit view xor.json -o xor.html
      gatefit plan xor.json -o xor-plan.html
      gatefit check xor.json --function "q = a ^ b"
      gatefit trace xor.json --drive a=0011 --drive b=0101 --ticks 8
      gatefit targets

    \b
    Exit codes:
      0  done: found, or the check passes      3  undecided
      1  impossible, or the check fails        4  refused by the simulator (a bug)
      2  the input cannot be used
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


cli.add_command(solve_command)
cli.add_command(shrink_command)
cli.add_command(frontier_command)
cli.add_command(check_command)
cli.add_command(trace_command)
cli.add_command(show_command)
cli.add_command(view_command)
cli.add_command(plan_command)
cli.add_command(explain_command)
cli.add_command(export_command)
cli.add_command(library_command)
cli.add_command(targets_command)
cli.add_command(audit_command)
cli.add_command(completion_command)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code; every error is one line on standard error
    (and, where it is in the text of a function, that text with a caret below it).

    Args:
        arguments: what stands after ``gatefit``; None: what the process was started with.
    """
    # A search has children, which only an orderly end takes along. Off the main thread (a
    # ValueError) whoever runs us minds the signals.
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGTERM, _terminate)
    try:
        code = _run(list(sys.argv[1:] if arguments is None else arguments))
        sys.stdout.flush()
    except InputError as error:
        return _fail(str(error))
    except click.UsageError as error:
        hint = f"; try '{error.ctx.command_path} --help'" if error.ctx else ""
        return _fail(" ".join(error.format_message().split()).rstrip(".") + hint)
    except click.ClickException as error:
        return _fail(error.format_message())
    except (click.Abort, KeyboardInterrupt):
        _say("\ngatefit: stopped")
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever read us has seen enough; the interpreter must not complain at its end either.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return BROKEN_PIPE
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
    """Say what is wrong in one line; the text of a function follows, with a caret below it."""
    line, *excerpt = message.split("\n")
    _say("\n".join([f"gatefit: {line}", *(f"  {below}" for below in excerpt)]))
    return BAD_INPUT


def _say(line: str) -> None:
    with contextlib.suppress(OSError):
        click.echo(line, err=True)


def _terminate(number: int, frame: FrameType | None) -> None:
    raise SystemExit(TERMINATED)


if __name__ == "__main__":
    sys.exit(main())
