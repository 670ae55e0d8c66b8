"""The folder that a desk works in: nothing outside it is read or written.

Names come from the page, so they are not trusted: a name leads to a file of the folder or is
refused, links followed. What the desk keeps for itself lies in a folder of its own in it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path, PurePosixPath
from urllib.parse import quote

from synth import fields
from synth.errors import InputError, OutputError, reason_of

OWN = ".gatefit-desk"
"""Where journals lie."""

MOST_LISTED = 400
"""Most files that are offered to be opened."""

DEEPEST = 4
"""Folders within folders that are looked into."""

LONGEST_NAME = 200
"""Most characters of a name of a file."""


class Folder:
    """A folder, and what may be opened in it.

    Args:
        root: the folder; it has to exist.
        endings: of the files that are offered.
    """

    def __init__(self, root: Path, endings: tuple[str, ...]) -> None:
        self.root = Path(os.path.realpath(root))
        self.endings = endings
        if not self.root.is_dir():
            raise InputError("is no folder", file=str(root))

    def path(self, name: object, place: str = "name") -> Path:
        """The file that a name stands for; it need not exist.

        Raises:
            InputError: if it is no name of a file in this folder.
        """
        words = fields.line(name, place)
        pure = PurePosixPath(words)
        bad = not words or len(words) > LONGEST_NAME or "\\" in words or ":" in words
        if bad or pure.is_absolute() or any(part in ("..", OWN) for part in pure.parts):
            raise self._outside(words, place)
        try:
            found = Path(os.path.realpath(self.root / pure))
        except (OSError, ValueError):
            raise self._outside(words, place) from None
        own = self.root / OWN
        if not found.is_relative_to(self.root) or found.is_relative_to(own) or found == self.root:
            raise self._outside(words, place)
        return found

    def _outside(self, words: str, place: str) -> InputError:
        return InputError(
            f"{fields.shown(words)} is no file of the folder that the desk was started in",
            place=place,
            way_out="name a file of that folder",
        )

    def name_of(self, path: Path) -> str:
        """The name of a file of this folder.

        Raises:
            InputError: if it lies elsewhere.
        """
        found = Path(os.path.realpath(path))
        if not found.is_relative_to(self.root):
            raise InputError(
                "lies outside the folder that the desk works in",
                file=str(path),
                way_out="start the desk in the folder of the file",
            )
        return found.relative_to(self.root).as_posix()

    def journal(self, name: str) -> Path:
        """Where the journal of a design lies."""
        return self.root / OWN / f"{quote(name, safe='')[:LONGEST_NAME]}.journal"

    def listing(self) -> list[str]:
        """Names of the files that can be opened, in order, as many as are listed."""
        found = []
        for name in self._walked(self.root, 0):
            found.append(name)
            if len(found) >= MOST_LISTED:
                break
        return sorted(found)

    def _walked(self, folder: Path, depth: int) -> Iterator[str]:
        try:
            entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
        except OSError:
            return
        for entry in entries:
            if entry.name.startswith(".") or entry.is_symlink():
                continue
            if entry.is_dir() and depth < DEEPEST:
                yield from self._walked(Path(entry.path), depth + 1)
            elif entry.is_file() and entry.name.endswith(self.endings):
                yield Path(entry.path).relative_to(self.root).as_posix()

    def claim(self) -> int:
        """Take this folder for one desk; the descriptor holds it as long as it is open.

        Raises:
            InputError: if another desk works in it.
            OutputError: if nothing can be written there.
        """
        own = self.root / OWN
        try:
            own.mkdir(exist_ok=True)
            descriptor = os.open(own / "claim", os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise OutputError(f"cannot be written to ({reason_of(error)})", file=str(own)) from None
        if not _locked(descriptor):
            os.close(descriptor)
            raise InputError(
                "another desk works in this folder",
                file=str(self.root),
                way_out="use that one, or end it with ctrl-c first",
            )
        return descriptor


def _locked(descriptor: int) -> bool:
    """Lock an open file for this process, if the system can; returns whether nobody else had it."""
    try:
        import fcntl
    except ImportError:  # not on this system: then nobody is kept out
        return True
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def digest(data: bytes) -> str:
    """A digest that tells contents of files apart."""
    return sha256(data).hexdigest()
