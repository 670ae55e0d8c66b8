"""The journal of a build: every better layout as it comes, so that nothing is lost to a kill.

One JSON object a line: first which circuit and how, then a layout a line. A line that a kill cut
short is passed over. What is read is judged anew by the simulator.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from synth import fields
from synth.circuits.aiger_text import aiger_text
from synth.circuits.circuit import Circuit
from synth.errors import InputError
from synth.layout import Layout
from synth.questions.journal import keep_lines, lines_of

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
        begun = False
        for place, document in lines_of(path, FORMAT, "a build"):
            try:
                if begun:
                    journal.layouts.append(Layout.from_document(document))
                else:
                    _require_heading(document, heading)
                    begun = True
            except InputError as error:
                raise InputError(
                    error.problem, file=str(path), place=place, way_out="name another file"
                ) from None
        if not begun:
            journal._append(heading)
        return journal

    def note(self, layout: Layout) -> None:
        """Keep a layout; with a path, it is on the disk when this returns."""
        self.layouts.append(layout)
        if self.path is not None:
            self._append(layout.document())

    def _append(self, document: dict[str, Any]) -> None:
        assert self.path is not None
        keep_lines(self.path, [document])


_UNSAID = {"pins": "free"}
"""What a heading means that does not say it."""


def _require_heading(document: Mapping[str, Any], heading: Mapping[str, Any]) -> None:
    for name, value in heading.items():
        own = document.get(name, _UNSAID.get(name))
        if own != value:
            told = "not said" if own is None else fields.shown(own)
            raise InputError(
                f"the journal is of another build: {name} is {told}, not {fields.shown(value)}"
            )
