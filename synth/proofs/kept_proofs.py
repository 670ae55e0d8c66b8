"""Proofs of a search that was stopped, from which the next one continues.

With the evidence in a certificate's ``unfinished/`` is a list: first what was asked, then one line
for each question whose evidence is complete, with sizes and hashes of its files. Each line is on
the disk before the search goes on. The next search for the same question takes only files that are
as they were written.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from synth import fields
from synth.errors import InputError, OutputError
from synth.files import decoded, read_bytes
from synth.layout.documents import parse_json
from synth.proofs.certificate_index import FileEntry, Proven, encoder_version, read_question
from synth.proofs.evidence import SUFFIXES
from synth.questions.journal import Journal, append_lines
from synth.questions.problem import Problem

LIST = "proofs.jsonl"


class KeptProofs:
    """The proofs in a folder, for one question and one way to ask it.

    Args:
        folder: the folder into which the workers write; files of no use in it are removed.
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
            if entry.name not in useful and not entry.is_dir():
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
            raise OutputError(
                f"the certificate cannot be written ({error.strerror or error})",
                file=str(self.folder),
                way_out="make room, or name another folder",
            ) from None

    def _line(self, proven: Proven) -> dict[str, Any]:
        files = [FileEntry.of(self.folder / (proven.stem + suffix)) for suffix in SUFFIXES]
        hashes = [{"size": entry.size, "sha256": entry.sha256} for entry in files]
        return {"proven": proven.document(), "files": hashes}

    def _read(self) -> list[Proven]:
        """The listed proofs whose files are unchanged; a line cut short ends the list."""
        found: list[Proven] = []
        try:
            lines = read_bytes(self.folder / LIST).split(b"\n")
        except InputError:
            return found
        for number, data in enumerate(filter(None, lines)):
            try:
                line = fields.table(parse_json(decoded(data)), None)
                if number == 0:
                    if line != self._heading:
                        return found
                    continue
                proven = read_question(fields.table(line["proven"], "proven"), "proven")
                if Path(proven.stem).name == proven.stem and self._line(proven) == line:
                    found.append(proven)
            except (ValueError, KeyError, OSError):
                # If anything is wrong with a line or its files, the question is asked again.
                continue
        return found
