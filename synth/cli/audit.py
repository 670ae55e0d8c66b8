"""``gatefit audit``: checks a certificate, trusting neither the solver nor who ran it."""

from __future__ import annotations

import contextlib
import textwrap
from typing import TYPE_CHECKING

import click

from synth.cli.shared.files import json_line
from synth.cli.shared.searching import QUIET

if TYPE_CHECKING:
    from synth.proofs.audit_report import AuditReport

_WIDTH = 79
_MOST_PROBLEMS = 20


@click.command("audit", short_help="Check a certificate of a search.")
@click.argument("folder", metavar="DIR", type=click.Path())
@click.option(
    "--checker",
    metavar="PROGRAM",
    help="Check the proofs with this drat-trim instead of the package dratify.",
)
@click.option(
    "--symmetry/--no-symmetry",
    default=True,
    show_default=True,
    help="Check on the clauses, too, that leaving out mirror images and the like is right.",
)
@click.option(
    "--workers",
    type=click.IntRange(1, 64),
    metavar="N",
    help="Proofs checked at the same time; one for each core, up to 4, if unsaid.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the audit document only.")
@QUIET
def audit_command(
    folder: str,
    checker: str | None,
    symmetry: bool,
    workers: int | None,
    as_json: bool,
    quiet: bool,
) -> int:
    """Check the certificate in DIR, which 'gatefit solve --certificate DIR' wrote.

    Every formula is derived again from the specification and compared byte by byte; every proof
    goes through a checker that is not the solver; the boxes that the claim needs are worked out
    anew; the layout is played in the simulator. It says what was claimed, what is certain now, and
    on what that rests; or which file is wrong, and how.

    Exit code 0: all that is claimed is certain; 1: it is not; 2: there is no certificate that could
    be read.

    \b
    Examples:
      gatefit solve "q = a & b" --delay 2 --certificate proof
      gatefit audit proof
      gatefit audit proof --checker ./drat-trim
      gatefit audit proof --json --quiet
    """
    from synth.proofs.audit import audit

    report = audit(
        folder,
        checker=checker,
        symmetry=symmetry,
        progress=None if quiet else _progress,
        workers=workers,
    )
    click.echo(json_line(report.document()) if as_json else audit_text(report))
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
        answer = f"all that is claimed is certain ({report.seconds:.1f} s)"
    else:
        shown = [str(problem) for problem in report.problems[:_MOST_PROBLEMS]]
        if (more := len(report.problems) - len(shown)) > 0:
            shown.append(f"and {more} more")
        sections.append(_items("Wrong:", shown))
        answer = f"NOT certain: {shown[0]}"
    sections.append(_paragraph("Audit:", answer))
    return "\n\n".join(sections)


def _items(head: str, texts: tuple[str, ...] | list[str]) -> str:
    return "\n".join([head, *(_filled(f"- {text}", "  ") for text in texts)])


def _paragraph(label: str, text: str) -> str:
    return _filled(f"{label} {text}", "  ")


def _filled(text: str, indent: str) -> str:
    return textwrap.fill(
        text,
        _WIDTH,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
