"""``gatefit census``: every function that boxes can hold."""

from __future__ import annotations

import re
import shlex
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from synth.cli.shared.arguments import at_option, split_list
from synth.cli.shared.commands import Command
from synth.cli.shared.ending import NOT_WRITTEN, say
from synth.cli.shared.files import OutputFile, json_line, picture_file, read_rules
from synth.cli.shared.kept import Answer
from synth.cli.shared.options import options
from synth.cli.shared.searching import reporter_of, require_one_place, require_search
from synth.cli.shared.specifying import specified, with_joints
from synth.cli.solve import keep_for_report
from synth.errors import InputError, OutputError
from synth.medium import Size
from synth.words import counted

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers and graphs: commands load those when they run.
    from synth.census.journal import CensusJournal
    from synth.library import Store
    from synth.questions.census_ledger import Ledger

_BOX = re.compile(r"(\d+)\s*x\s*(\d+)\s*x\s*(\d+)")


@click.command("census", cls=Command, short_help="Find every function that boxes can hold.")
@options("census")
def census_command(
    box: str | None,
    inputs: int,
    outputs: int,
    functions: str | None,
    idle_inputs: bool,
    minimize: tuple[str, ...],
    solver: str | None,
    time_limit: float | None,
    seed: int,
    prefer: str,
    workers: int | None,
    address: str | None,
    rules: str | None,
    resume: str | None,
    store: str | None,
    certificate: str | None,
    output: str | None,
    posters: tuple[str, ...],
    as_json: bool,
    quiet: bool,
    **overrides: Any,
) -> int:
    """Find every function that fits, with a layout of each; all others are ruled out.

    Without --box, boxes are taken from the smallest up, and each function gets its smallest
    layout. With --box you learn what just that box can hold. Functions that turn into each other
    by exchanging inputs, or outputs, are one class and need one layout. Functions that ignore an
    input are left out: they belong among those of fewer inputs.

    All functions of a box are looked for at once, so a census is quicker than to ask about each.
    It can be stopped at any time: what was found by then is shown, and --resume goes on from it.

    \b
    Examples:
      gatefit census --length 3 --width 2 --height 4 --delay 2 --stack y
      gatefit census --box 3x2x4 --inputs 3 --delay 2 --stack y --joint buffer
      gatefit census --box 2x2x3 --outputs 2 --delay 2 --json
      gatefit census --inputs 3 --functions wanted.txt --time-limit 60
      gatefit census --inputs 3 --width 2 --resume atlas.jsonl -o atlas.json
      gatefit census --box 2x2x4 --delay 2 --certificate proof
      gatefit census --inputs 3 --delay 2 --cluster tcp://127.0.0.1:8786

    \b
    Exit codes:
      0  complete: nothing is open      3  undecided: something is open
      2  the input cannot be used       4  refused by the simulator, a bug
    """
    from synth.census.asking import require_proofs_here, require_proofs_of_a_census
    from synth.census.in_cluster import in_cluster
    from synth.census.journal import CensusJournal
    from synth.census.taking import run_census
    from synth.exports.pictures import drawn
    from synth.library import Store
    from synth.library.census import keep_census, recall_census
    from synth.proofs.census_certificate import CensusFolder
    from synth.proofs.certificate import how_made
    from synth.questions.candidates import assumed_time
    from synth.questions.census import CensusQuestion, free_spec
    from synth.questions.measures import parse_measures
    from synth.questions.outcome import Status
    from synth.search.workers.settings import Settings
    from synth.search.workers.solvers import solver_for
    from synth.spec.function_list import read_function_list
    from synth.views.drawing.poster import poster_picture, poster_title
    from synth.views.text.census import census_line, census_text

    with at_option("--minimize"):
        measures = parse_measures(split_list(minimize) or ("volume",))
    solver = solver_for(solver)
    require_search(solver, prefer, time_limit)
    require_one_place(workers, address)
    if certificate is not None:
        with at_option("--certificate"):
            require_proofs_here(address)
        with at_option("--solver"):
            require_proofs_of_a_census(solver)
    with at_option({"inputs": "--inputs", "outputs": "--outputs"}):
        free = free_spec(inputs, outputs)
    spec, joints = with_joints(specified(free, overrides | {"chain": ()}))
    sought = () if functions is None else read_function_list(functions, spec.function)
    with at_option({"minimize": "--minimize", "box": "--box"}):
        asked, assumed = CensusQuestion.of(
            spec,
            box=None if box is None else read_box(box),
            measures=measures,
            rules=read_rules(rules),
            sought=sought,
            every_input_matters=not idle_inputs,
        )
    time_limit, assumed = assumed_time(time_limit, assumed)
    target = None if output is None else OutputFile(output)
    pictures = [picture_file(path, "--poster") for path in posters]
    settings = Settings.checked(solver, seed, prefer, workers)
    journal = CensusJournal(asked, None if resume is None else Path(resume))
    answer = Answer()
    with ExitStack() as stack:
        with at_option("--cluster"):
            places = None if address is None else stack.enter_context(in_cluster(address))
        memory = None if store is None else stack.enter_context(Store(store))
        if memory is not None:
            recall_census(memory, journal.ledger, boxes=certificate is None)
        folder = None if certificate is None else stack.enter_context(CensusFolder(certificate))
        proofs = None if folder is None else folder.proofs(asked)
        try:
            census = run_census(
                asked,
                settings,
                time_limit_s=time_limit,
                reporter=reporter_of(quiet),
                journal=journal,
                proofs=proofs,
                places=places,
            )
        except KeyboardInterrupt:
            _say_kept(journal, certificate)
            if memory is not None and keep_census(memory, journal.ledger, solver, seed):
                say(f"gatefit: what was found so far is kept in {store}; the same command goes on")
            raise
        if memory is not None and census.status is not Status.REFUSED:
            _keep(memory, journal.ledger, solver, seed, answer)
        if folder is not None and proofs is not None and census.status is not Status.REFUSED:
            folder.finish(journal.ledger, proofs, how_made(solver, seed))
            answer.remarks.append(
                f"certificate written to {certificate}; check it with: "
                f"{shlex.join(['gatefit', 'audit', str(certificate)])}"
            )
    line = json_line(census.document())
    written = target is not None and answer.write(target.path, line + "\n")
    if written and target is not None:
        answer.remarks.append(f"census written to {target.path}")
    for kind, file in pictures:
        if answer.write(file.path, drawn(poster_picture(census), poster_title(census), kind)):
            answer.remarks.append(f"poster written to {file.path}")
    if census.status is Status.REFUSED:
        answer.remarks += keep_for_report(census.refused, None)
    if as_json:
        text = line
    elif quiet:
        text = census_line(census)
    else:
        text = census_text(census, (*assumed, *joints))
    answer.show(text, {} if written else {"census.json": line + "\n"})
    if not quiet or answer.failed or census.status is Status.REFUSED:
        answer.say()
    return NOT_WRITTEN if answer.failed else census.status.exit_code


def _keep(memory: Store, ledger: Ledger, solver: str, seed: int, answer: Answer) -> None:
    """Keep a census in a store; remarks on it, for it is shown whatever happens."""
    from synth.library.census import keep_census

    try:
        new = keep_census(memory, ledger, solver, seed)
    except (InputError, OutputError, OSError) as error:
        answer.failed = True
        answer.remarks.append(f"not kept in the store: {error}")
        return
    answer.remarks.append(f"kept in the store {memory.path}: {counted(new, 'new answer')}")


def read_box(text: str) -> Size:
    """The box that ``3x2x4`` names.

    Raises:
        InputError: if it names none.
    """
    from synth.spec.spec import MAX_SIZE

    found = _BOX.fullmatch(text.strip())
    sides = tuple(map(int, found.groups())) if found else ()
    if len(sides) != 3 or not all(1 <= side <= MAX_SIZE for side in sides):
        raise InputError(
            f"no box {text!r}",
            place="box",
            way_out=f"write length, width and height as 3x2x4, each 1 to {MAX_SIZE}",
        )
    return sides


def _say_kept(journal: CensusJournal, certificate: str | None) -> None:
    """Say where the layouts and proofs are that were found until it was stopped."""
    ledger = journal.ledger
    found = len(ledger.places())
    if journal.path is not None:
        say(f"gatefit: {found} functions kept; go on with --resume {journal.path}")
    elif found:
        say("gatefit: with --resume FILE a census that is stopped can go on")
    if certificate is not None:
        say(
            f"gatefit: the proofs so far are kept in {certificate}; the same command goes on from "
            "there"
        )
