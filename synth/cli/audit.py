"""``gatefit audit``: checks a certificate, trusting neither the solver nor who ran it."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import click

from synth.cli.shared.arguments import FOLDER
from synth.cli.shared.commands import Command
from synth.cli.shared.files import json_line
from synth.cli.shared.options import options
from synth.words import filled

if TYPE_CHECKING:
    from synth.proofs.audit_report import AuditReport

_MOST_PROBLEMS = 20


@click.command("audit", cls=Command, short_help="Check the certificate of an answer.")
@FOLDER
@click.option(
    "--checker",
    metavar="PROGRAM",
    type=click.Path(),
    help="Check the proofs with this drat-trim.  [default: the Python package dratify]",
)
@click.option(
    "--symmetry/--no-symmetry",
    default=True,
    help="Also check, on the clauses, that leaving out mirror images and the like loses no "
    "layout.  [default: --symmetry]",
)
@options("audit", grouped=False)
def audit_command(
    folder: str,
    checker: str | None,
    symmetry: bool,
    workers: int | None,
    as_json: bool,
    quiet: bool,
) -> int:
    """Check the certificate in FOLDER, which 'gatefit solve --certificate FOLDER' wrote, or
    'gatefit census' or 'gatefit build'.

    The audit works out which boxes the claim is about. It makes the formula of each box again
    from the specification and compares it byte by byte. It checks every proof with a program that
    is not the solver, and plays the layout in the simulator. Then it says what was claimed, what
    is certain now, and what that rests on; or which file is wrong, and how.

    \b
    Examples:
      gatefit solve "q = a & b" --delay 2 --certificate proof
      gatefit audit proof
      gatefit audit proof --checker ./drat-trim
      gatefit audit proof --json --quiet

    \b
    Exit codes:
      0  all that is claimed is certain     2  no certificate can be read there
      1  it is not
    """
    from synth.proofs.audit import audit

    report = audit(
        folder,
        checker=checker,
        symmetry=symmetry,
        progress=None if quiet else _progress,
        workers=workers,
    )
    if as_json:
        text = json_line(report.document())
    elif quiet:
        text = f"{folder}: {_answer(report)}"
    else:
        text = audit_text(report)
    click.echo(text)
    return 0 if report.passes else 1


def _progress(line: str) -> None:
    # A reader that is gone is no reason to stop the audit.
    with contextlib.suppress(OSError):
        click.echo(line, err=True)


def audit_text(report: AuditReport) -> str:
    """The report for a reader: what was claimed, what is certain or wrong, the answer last."""
    sections = [_paragraph("Claimed:", report.claimed)]
    if report.passes:
        sections.append(_items("Certain:", report.certain))
        sections.append(_items("This rests on:", report.rests_on))
    else:
        shown = [str(problem) for problem in report.problems[:_MOST_PROBLEMS]]
        if (more := len(report.problems) - len(shown)) > 0:
            shown.append(f"and {more} more")
        sections.append(_items("Wrong:", shown))
    sections.append(_paragraph("Audit:", _answer(report)))
    return "\n\n".join(sections)


def _answer(report: AuditReport) -> str:
    if report.passes:
        return f"all that is claimed is certain ({report.seconds:.1f} s)"
    return f"NOT certain: {report.problems[0]}"


def _items(head: str, texts: tuple[str, ...] | list[str]) -> str:
    return "\n".join([head, *(filled(f"- {text}", "  ") for text in texts)])


def _paragraph(label: str, text: str) -> str:
    return filled(f"{label} {text}", "  ")
