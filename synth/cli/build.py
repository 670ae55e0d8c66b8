"""``gatefit build``: a circuit as one layout."""

from __future__ import annotations

import shlex
import sys
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from synth.cli.shared.arguments import CIRCUIT_FILES, at_option
from synth.cli.shared.commands import Command
from synth.cli.shared.ending import NOT_WRITTEN
from synth.cli.shared.files import LayoutFile, json_line, read_rules
from synth.cli.shared.kept import Answer
from synth.cli.shared.options import options
from synth.cli.shared.rows.common import JOINTS
from synth.cli.shared.searching import require_time
from synth.cli.solve import keep_for_report
from synth.errors import InputError
from synth.words import counted, filled, ticks

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers: commands load those when they run.
    from synth.building import Built


@click.command("build", cls=Command, short_help="Build a whole circuit as one layout.")
@click.argument("circuit", metavar="CIRCUIT", shell_complete=CIRCUIT_FILES)
@options("build")
def build_command(
    circuit: str,
    top: str | None,
    joint: str,
    rules: str | None,
    by: str,
    time_limit: float,
    rounds: int | None,
    effort: int | None,
    seed: int,
    workers: int | None,
    balance: bool,
    pins: str,
    store: str | None,
    resume: str | None,
    certificate: str | None,
    output: str | None,
    as_json: bool,
    quiet: bool,
    **limits: int | None,
) -> int:
    """Build the combinational circuit in the file CIRCUIT as one layout.

    The file's ending says how it is written: .v Verilog (IEEE 1364; needs 'pip install
    gatefit[verilog]'), .blif BLIF, .aag and .aig AIGER, .eqn equations, a line each, such as
    't = a & b', whose names may be used in others. Up to 32 inputs and some 200 gates.

    The circuit is made smaller, turned into NANDs, and placed and routed many times over; the best
    layout is shrunk as 'gatefit shrink' does it, judged by the simulator, and proven equal to the
    circuit. Of up to 8 inputs layouts of two levels compete, made by construction; the answer says
    what the layout came from. It is not claimed to be the smallest: for functions of few inputs
    'gatefit solve' finds far smaller layouts. A pin is called after its signal, a[3] too; x.y
    becomes x_y.

    Adders, comparators, parities and the like are rows of equal slices, each of which hands one
    or two signals on. Such a row competes too. Made of slices that are kept with the program it
    is several times smaller than what is placed, and slower; of other slices it may be larger,
    and where none is found the answer says so. Its inputs and outputs lie along it; with --pins
    ends, inputs are on the side -x and outputs on the side +x, as they are in all other layouts,
    and no row is made.

    Several processes place and shrink at once, as many as --workers says. Ctrl-C ends them, and
    gives the best layout so far; --resume goes on from it, also after a kill.

    With --balance every output waits for the last one behind buffers, so that all settle at the
    same tick; constants are excepted. Ways within the circuit are not made equal: until then an
    output may change more than once.

    \b
    Examples:
      gatefit build adder.eqn -o adder.json
      gatefit build adder.v --top adder --time-limit 300 -o adder.json
      gatefit build decoder.blif --length 40 --by delay --certificate proof
      gatefit build adder.eqn --pins ends --balance -o adder.json
      gatefit build adder.eqn --rounds 500 --effort 100000 --json

    \b
    Exit codes:
      0  found: judged and proven       3  undecided: a limit or the balance
                                           is not kept
      2  the input cannot be used       4  refused by the simulator, a bug
    """
    from synth.building import BuildLimits, build
    from synth.circuits.reading.read import read_circuit
    from synth.library import Store
    from synth.medium import Joint
    from synth.questions.outcome import Status

    require_time(time_limit)
    if joint not in JOINTS:
        raise InputError(f"no joint {joint!r}", place="--joint", way_out="use wire or buffer")
    if rounds is not None and rounds < 0:
        raise InputError(f"{rounds} placements", place="--rounds", way_out="use 0 or more")
    with at_option({f"limits.{name}": f"--{name}" for name in limits}):
        kept = BuildLimits(**limits)
    table = read_rules(rules)
    given = read_circuit(circuit, top=top)
    target = None if output is None else LayoutFile(output)
    with at_option({"by": "--by"}), ExitStack() as stack:
        held = None
        if store is not None and (_is_named("store") or Path(store).exists()):
            held = stack.enter_context(Store.for_reading(store))
        try:
            built = build(
                given,
                limits=kept,
                by=by,
                joint=Joint(joint),
                time_limit_s=time_limit,
                rounds=rounds,
                effort=effort,
                seed=seed,
                workers=workers,
                balance=balance,
                pins=pins,
                store=held,
                rules=table,
                resume=resume,
                certificate=certificate,
                watcher=None if quiet else _Progress(),
            )
        except InputError as error:
            raise error if error.file or error.place else error.in_file(circuit) from None
    answer = Answer()
    refused = built.status is Status.REFUSED
    written = False
    if refused:
        answer.remarks += keep_for_report(built.layout, target)
    elif built.layout is not None and target is not None:
        written = answer.write(target.path, target.text(built.layout))
        if written:
            answer.remarks.append(f"layout written to {target.path}")
    if certificate is not None and built.claim:
        command = shlex.join(["gatefit", "audit", certificate])
        answer.remarks.append(f"certificate written to {certificate}; check it with: {command}")
    line = json_line(built.document())
    text = line if as_json else build_text(given.name, built, quiet=quiet)
    answer.show(text, {} if written else {"build.json": line + "\n"})
    if not quiet or answer.failed or refused:
        answer.say()
    return NOT_WRITTEN if answer.failed else built.status.exit_code


def _is_named(option: str) -> bool:
    """Whether an option is on the command line: a store of the environment need not exist yet."""
    source = click.get_current_context().get_parameter_source(option)
    return source is ParameterSource.COMMANDLINE


def build_text(name: str, built: Built, *, quiet: bool = False) -> str:
    """The answer for a reader; its last line alone where ``quiet``."""
    end = f"{name}: {built.status}"
    if built.layout is None:
        return f"{end}; {built.reason}."
    layout = built.layout
    size = f"{layout.length} x {layout.width} x {layout.height}"
    delay = _delay_words(built)
    if quiet:
        reason = f"; {built.reason}" if built.reason else ""
        return f"{end}: {size}, {layout.volume} cells, {delay}{reason}."
    from synth.views.text.pieces import critical_text, pieces_text, totals_words

    lines = [
        f"Circuit   {counted(len(built.pins), 'pin')}; {counted(built.ands, 'AND')}, depth "
        f"{built.depth}; {counted(built.gates, 'gate')}",
        f"Size      {size} cells (length x width x height), volume {layout.volume}",
        f"Routed    volume {built.routed} at first; {built.tried} placements tried",
        f"From      {'' if built.origin is None else built.origin.words}",
        f"Parts     {layout.part_count}: {100 * (built.utilisation or 0):.0f} % of the box; "
        + totals_words(layout.pieces),
        f"Delay     {delay}",
        filled(f"Outputs   {_outputs_words(built)}", "          "),
    ]
    tables = []
    if built.pieces is not None and built.pieces.pieces:
        tables = [pieces_text(built.pieces), critical_text(built.pieces)]
    last = [f"{end}{'; ' + built.reason if built.reason else ''}."]
    if built.claim:
        last.append(f"Claim: {built.claim}")
    if built.remark:
        last.append(f"Remark: {built.remark}.")
    return "\n\n".join(["\n".join(lines), *tables, "\n".join(filled(line, "  ") for line in last)])


def _delay_words(built: Built) -> str:
    if built.delay is None:
        return "not known"
    return ticks(built.delay) if built.exact_delay else f"at most {ticks(built.delay)}"


def _outputs_words(built: Built) -> str:
    """From which tick each is right."""
    if not built.outputs:
        return "not known"
    return "from tick " + ", ".join(
        f"{found.words()} ({name})" for name, found in built.outputs.items()
    )


class _Progress:
    """Shows stages and gains, a line each, on standard error."""

    def event(self, event: Any) -> None:
        """Show one event; a stream that is gone is no reason to stop."""
        from synth.building.events import Improved

        if isinstance(event, Improved):
            length, width, height = event.size
            delay = "" if event.delay is None else f", at most {ticks(event.delay)}"
            words = f"{length} x {width} x {height}, {event.volume} cells{delay}"
        else:
            words = f"{event.stage}: {event.words}"
        try:
            print(f"{event.seconds:7.1f} s: {words}", file=sys.stderr, flush=True)
        except (OSError, ValueError):
            return
