"""The journal of a design: each step is one line, so that nothing is lost even by a kill.

The first line says what it began with; each further one is a step, or a version that was kept:

```json
{"format": "gatefit-desk", "version": 1, "design": {"layout": {...}, "locked": []}}
{"do": {"cells": [...], "rest": {}, "label": "place wire"}}
{"undo": true}
{"redo": true}
{"kept": {"number": 1, "kind": "saved", ...}, "digest": "..."}
```

Lines are only ever added. A last line without its end was cut short by a kill: it is dropped.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from synth import fields
from synth.desk.design import Design
from synth.desk.history import History
from synth.desk.patch import Patch
from synth.desk.version import Version
from synth.errors import InputError, OutputError, reason_of
from synth.files import read_bytes
from synth.layout.documents import parse_json

FORMAT = "gatefit-desk"
VERSION = 1

MAX_BYTES = 512 * 1024 * 1024
"""Most bytes of a journal that are read."""


@dataclass(slots=True)
class Kept:
    """What a journal holds.

    Attributes:
        history: the design, and the way to it.
        versions: in order.
        digest: of the file that the design was last saved to or opened from; empty: none.
    """

    history: History
    versions: list[Version] = field(default_factory=list)
    digest: str = ""


class Journal:
    """A journal that is written to: what is done goes into the file before anybody is told."""

    def __init__(self, path: Path, kept: Kept) -> None:
        self.path = path
        self.kept = kept

    @staticmethod
    def begun(path: Path, design: Design, digest: str = "") -> Journal:
        """A new journal that begins with a design.

        Raises:
            OutputError: if it cannot be written.
        """
        journal = Journal(path, Kept(History(design), digest=digest))
        head = {"format": FORMAT, "version": VERSION, "design": design.document()}
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(b"")
        except OSError as error:
            raise _not_written(path, error) from None
        journal._add(head | {"digest": digest})
        return journal

    @staticmethod
    def resumed(path: Path) -> Journal:
        """A journal gone on with; a line that was cut short is cut off.

        Raises:
            InputError: naming the line, if it cannot be read.
        """
        data = read_bytes(path, MAX_BYTES)
        whole = data.rfind(b"\n") + 1
        if whole < len(data):
            try:
                os.truncate(path, whole)
            except OSError as error:
                raise _not_written(path, error) from None
        return Journal(path, _replayed(path, data[:whole]))

    def do(self, patch: Patch) -> None:
        """A step, done and kept."""
        self.kept.history.do(patch)
        self._add({"do": patch.document()})

    def read(self, patch: Patch, digest: str) -> None:
        """A step that takes what a file holds, with its digest."""
        self.kept.history.do(patch)
        self.kept.digest = digest
        self._add({"do": patch.document(), "digest": digest})

    def undo(self) -> bool:
        """A step back, if there is one."""
        done = self.kept.history.undo()
        if done:
            self._add({"undo": True})
        return done

    def redo(self) -> bool:
        """A step done again, if there is one."""
        done = self.kept.history.redo()
        if done:
            self._add({"redo": True})
        return done

    def keep(self, version: Version, digest: str | None = None) -> None:
        """A version; with the digest of the file that it was saved to."""
        self.kept.versions.append(version)
        if digest is not None:
            self.kept.digest = digest
        self._add({"kept": version.document(), "digest": self.kept.digest})

    def _add(self, entry: dict[str, Any]) -> None:
        line = json.dumps(entry, ensure_ascii=False, separators=(",", ":")) + "\n"
        try:
            with self.path.open("ab") as stream:
                stream.write(line.encode())
        except OSError as error:
            raise _not_written(self.path, error) from None


def _replayed(path: Path, data: bytes) -> Kept:
    lines = _entries(path, data)
    number, head = next(lines, (1, {}))
    try:
        if head.get("format") != FORMAT or head.get("version") != VERSION:
            raise InputError(
                "is no journal of this version of the desk", way_out="move the file away"
            )
        kept = Kept(History(Design.from_document(head.get("design"))))
        kept.digest = fields.text(head.get("digest", ""), "digest")
        for number, entry in lines:  # noqa: B007  (said by the error below)
            _replay(kept, entry)
    except InputError as error:
        place = f"line {number}" + (f", {error.place}" if error.place else "")
        way_out = error.way_out or "move the file away; the desk then begins anew"
        raise InputError(error.problem, file=str(path), place=place, way_out=way_out) from None
    return kept


def _entries(path: Path, data: bytes) -> Iterator[tuple[int, dict[str, Any]]]:
    for number, line in enumerate(data.split(b"\n")[:-1], start=1):
        try:
            entry = parse_json(line.decode("utf-8"))
        except (UnicodeDecodeError, InputError):
            entry = None
        if not isinstance(entry, dict):
            raise InputError(
                "is no line of a journal",
                file=str(path),
                place=f"line {number}",
                way_out="move the file away; the desk then begins anew",
            )
        yield number, entry


def _replay(kept: Kept, entry: dict[str, Any]) -> None:
    if "do" in entry:
        kept.history.do(Patch.from_document(entry["do"]))
        kept.digest = fields.text(entry.get("digest", kept.digest), "digest")
    elif "undo" in entry:
        kept.history.undo()
    elif "redo" in entry:
        kept.history.redo()
    elif "kept" in entry:
        kept.versions.append(Version.from_document(entry["kept"]))
        kept.digest = fields.text(entry.get("digest", ""), "digest")
    else:
        raise InputError("a step that is none of do, undo, redo, kept")


def _not_written(path: Path, error: OSError) -> OutputError:
    return OutputError(f"cannot be written ({reason_of(error)})", file=str(path))
