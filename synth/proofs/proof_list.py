"""The list of the proofs in a folder of evidence, from which a stopped search goes on.

Its first line says what was asked. Each further line is one proof, with sizes and hashes of its
files, and is on the disk before the search goes on. The next search for the same takes only proofs
whose files are as they were written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from synth import fields
from synth.errors import InputError, OutputError, reason_of
from synth.files import decoded, read_bytes
from synth.layout.documents import parse_json
from synth.proofs.evidence import SUFFIXES
from synth.proofs.index_entries import FileEntry
from synth.questions.journal import append_lines


class Listed(Protocol):
    """A proof as the index of a certificate has it."""

    @property
    def stem(self) -> str:
        """The name of its files, without suffix."""

    def document(self) -> dict[str, Any]:
        """Its entry in the index."""


Entry = TypeVar("Entry", bound=Listed)


class ProofList(Generic[Entry]):
    """The list of one folder, and the files that it speaks of.

    Args:
        folder: the folder into which the workers write. Files in it that are of no use are removed.
        name: the file name of the list.
        heading: what is asked. A list with another heading is begun anew.
        key: the name of an entry within its line.
        read: makes a proof of an entry; its second argument is the place that an error names.

    Attributes:
        found: the proofs that an earlier search left.

    Raises:
        OSError: if the folder cannot be written to.
    """

    def __init__(
        self,
        folder: Path,
        name: str,
        heading: Mapping[str, Any],
        key: str,
        read: Callable[[Mapping[str, Any], str], Entry],
    ) -> None:
        self.folder = folder
        self._path = folder / name
        self._key = key
        self.found = list(self._unchanged(heading, read))
        useful = {entry.stem + suffix for entry in self.found for suffix in SUFFIXES}
        for path in folder.iterdir():
            if path.name not in useful and not path.is_dir():
                path.unlink()
        append_lines(self._path, [dict(heading), *map(self._line, self.found)])

    def note(self, entry: Entry) -> None:
        """List a proof; it is on the disk when this returns.

        Raises:
            OutputError: if it cannot be written.
        """
        try:
            append_lines(self._path, [self._line(entry)])
        except OSError as error:
            raise OutputError(
                f"the certificate cannot be written ({reason_of(error)})",
                file=str(self.folder),
                way_out="make room, or name another folder",
            ) from None

    def _line(self, entry: Entry) -> dict[str, Any]:
        files = [FileEntry.of(self.folder / (entry.stem + suffix)) for suffix in SUFFIXES]
        hashes = [{"size": file.size, "sha256": file.sha256} for file in files]
        return {self._key: entry.document(), "files": hashes}

    def _unchanged(
        self, heading: Mapping[str, Any], read: Callable[[Mapping[str, Any], str], Entry]
    ) -> Iterable[Entry]:
        """The listed proofs whose files are unchanged; lines that cannot be read are left out."""
        try:
            lines = read_bytes(self._path).split(b"\n")
        except InputError:
            return
        for number, data in enumerate(filter(None, lines)):
            try:
                line = fields.table(parse_json(decoded(data)), None)
                if number == 0:
                    if line != heading:
                        return
                    continue
                entry = read(fields.table(line[self._key], self._key), self._key)
                unchanged = Path(entry.stem).name == entry.stem and self._line(entry) == line
            except (ValueError, KeyError, OSError):
                # If anything is wrong with a line or its files, the question is asked again.
                continue
            if unchanged:
                yield entry
