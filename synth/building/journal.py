"""The journal of a build: every better layout as it comes, so that nothing is lost to a kill.

One JSON object a line: first which circuit and how, then a layout a line. A line that a kill cut
short is passed over. What is read is judged anew by the simulator.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from synth import fields
from synth.circuits.aiger_text import aiger_text
from synth.circuits.circuit import Circuit
from synth.errors import InputError
from synth.files import read_text
from synth.layout import Layout
from synth.questions.journal import keep_lines

FORMAT = "gatefit-building"
VERSION = 1


@dataclass
class Journal:
    """The layouts of one circuit, in memory and, with a path, in a file.

    Attributes:
        path: the file, or None.
        layouts: in the order in which they were found.
    """

    path: Path | None = None
    layouts: list[Layout] = field(default_factory=list)

    @staticmethod
    def of(circuit: Circuit, asked: Mapping[str, str], path: Path | None) -> Journal:
        """The journal of a circuit, read from ``path`` where that exists.

        Args:
            circuit: what is built.
            asked: how.
            path: the file, or None.

        Raises:
            InputError: if the file is no such journal, is of another circuit, or cannot be used.
        """
        journal = Journal(path)
        if path is None:
            return journal
        text = aiger_text(circuit)
        heading: dict[str, Any] = {
            "format": FORMAT,
            "version": VERSION,
            "circuit": hashlib.sha256(text.encode()).hexdigest(),
            **asked,
        }
        lines = [] if not path.exists() else read_text(path).split("\n")
        whole = [line for line in lines[:-1] if line]
        if not whole:
            journal._append(heading)
            return journal
        for number, line in enumerate(whole, start=1):
            try:
                document = json.loads(line)
                if number == 1:
                    _require_heading(document, heading)
                else:
                    journal.layouts.append(Layout.from_document(document))
            except (json.JSONDecodeError, RecursionError):
                raise _refusal(path, number, "is no JSON object") from None
            except InputError as error:
                raise _refusal(path, number, error.problem) from None
        return journal

    def note(self, layout: Layout) -> None:
        """Keep a layout; with a path, it is on the disk when this returns."""
        self.layouts.append(layout)
        if self.path is not None:
            self._append(layout.document())

    def _append(self, document: dict[str, Any]) -> None:
        assert self.path is not None
        keep_lines(self.path, [document])


def _refusal(path: Path, number: int, problem: str) -> InputError:
    return InputError(problem, file=str(path), place=f"line {number}", way_out="name another file")


def _require_heading(document: object, heading: Mapping[str, Any]) -> None:
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise InputError(f"is no journal of the format {FORMAT}")
    for name, value in heading.items():
        if document.get(name) != value:
            raise InputError(
                f"the journal is of another build: {name} is {fields.shown(document.get(name))}, "
                f"not {fields.shown(value)}"
            )
