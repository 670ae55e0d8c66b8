"""Proofs of a search that was stopped, so that the next one goes on from them.

Beside the evidence in a certificate's ``unfinished/`` lies a list: what was asked, then a line for
each question whose evidence is whole, with sizes and hashes of its files, each on the disk before
the search goes on. The next search for the same takes what is as it was written, and nothing else.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.proofs.certificate_index import FileEntry, Proven, encoder_version, read_question
from synth.proofs.evidence import SUFFIXES
from synth.questions.journal import Journal, append_lines
from synth.questions.problem import Problem

LIST = "proofs.jsonl"


class KeptProofs:
    """The proofs in a folder, for one question and one way to ask it.

    Args:
        folder: where the workers write their evidence; whatever there is of no use is removed.
        problem, solver, seed: what is asked; limits on sizes and delay may differ.

    Attributes:
        found: the proofs that an earlier search left.
    """

    def __init__(self, folder: Path, problem: Problem, solver: str, seed: int) -> None:
        self.folder = folder
        asked = Journal.of(problem, solver, seed).heading
        self._heading = {**asked, "format": "gatefit-proofs", "encoder": encoder_version()}
        self.found = self._read()
        useful = {proven.stem + suffix for proven in self.found for suffix in SUFFIXES}
        for entry in folder.iterdir():
            if entry.name not in useful:
                entry.unlink()
        append_lines(folder / LIST, [self._heading, *map(self._line, self.found)])

    def note(self, proven: Proven) -> None:
        """List a proof; it is on the disk when this returns.

        Raises:
            InputError: if it cannot be written.
        """
        try:
            append_lines(self.folder / LIST, [self._line(proven)])
        except OSError as error:
            raise InputError(
                f"the certificate cannot be written ({error.strerror or error})",
                file=str(self.folder),
                way_out="make room, or name another folder",
            ) from None

    def _line(self, proven: Proven) -> dict[str, Any]:
        files = [FileEntry.of(self.folder / (proven.stem + suffix)) for suffix in SUFFIXES]
        hashes = [{"size": entry.size, "sha256": entry.sha256} for entry in files]
        return {"proven": proven.document(), "files": hashes}

    def _read(self) -> list[Proven]:
        """The proofs listed whose files are as they were; a line cut short ends the list."""
        found: list[Proven] = []
        try:
            lines = (self.folder / LIST).read_text(encoding="utf-8").splitlines()
        except (OSError, UnicodeDecodeError):
            return found
        for number, text in enumerate(lines):
            try:
                line = json.loads(text)
                if number == 0:
                    if line != self._heading:
                        return found
                    continue
                proven = read_question(fields.table(line["proven"], "proven"), "proven")
                if Path(proven.stem).name == proven.stem and self._line(proven) == line:
                    found.append(proven)
            except (ValueError, KeyError, TypeError, InputError, OSError):
                # Whatever is wrong with a line or its files: the question is asked again.
                continue
        return found
