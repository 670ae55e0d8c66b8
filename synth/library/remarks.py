"""The part of a store that keeps what people add to an entry: a note, and tags."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.library.columns import WORD, require_row
from synth.library.file import StoreFile
from synth.printable import cleaned


def read_tag(value: str) -> str:
    """A tag: one short word.

    Raises:
        InputError: if it is not one.
    """
    if not WORD.fullmatch(value):
        raise InputError(
            f"{fields.shown(value)} is no tag",
            place="--tag",
            way_out="use one word of up to 40 letters, digits, and _ . + -",
        )
    return value


class Remarks(StoreFile):
    """Notes and tags."""

    def note(self, number: int) -> str:
        """The note of an entry; "" if it has none."""
        rows = self.select("SELECT note FROM notes WHERE number = ?", (number,))
        if not rows:
            return ""
        require_row("notes", ("note",), rows[0], file=str(self.path), number=number)
        return cleaned(rows[0][0])

    def tags(self, number: int) -> tuple[str, ...]:
        """The tags of an entry, in order of the alphabet."""
        rows = self.select("SELECT tag FROM tags WHERE number = ? ORDER BY tag", (number,))
        for row in rows:
            require_row("tags", ("tag",), row, file=str(self.path), number=number)
        return tuple(cleaned(tag) for (tag,) in rows)

    def remarks(self) -> dict[int, tuple[str, tuple[str, ...]]]:
        """The note and the tags of every entry that has any, by number."""
        notes: dict[int, str] = {}
        tags: dict[int, list[str]] = defaultdict(list)
        for row in self._rows("notes", "number", "note"):
            notes[row[0]] = cleaned(row[1])
        for row in self._rows("tags", "number", "tag"):
            tags[row[0]].append(cleaned(row[1]))
        return {
            number: (notes.get(number, ""), tuple(tags.get(number, ())))
            for number in sorted(notes.keys() | tags.keys())
        }

    def _rows(self, table: str, *columns: str) -> list[tuple[Any, ...]]:
        rows = self.select(f"SELECT {', '.join(columns)} FROM {table} ORDER BY {columns[-1]}")
        for row in rows:
            require_row(table, columns, row, file=str(self.path), number=row[0])
        return rows

    def remark(self, number: int, note: str = "", tags: Iterable[str] = ()) -> None:
        """Set the note of an entry, and add tags to it.

        Raises:
            InputError: if the note is not one line of text, if a tag is not one short word, or if
                the store cannot be written to.
        """
        fields.line(note, "--note")
        words = [read_tag(tag) for tag in tags]
        with self.writing():
            if note:
                self.connection.execute(
                    "INSERT OR REPLACE INTO notes VALUES (?, ?)", (number, note)
                )
            self.connection.executemany(
                "INSERT OR IGNORE INTO tags VALUES (?, ?)", [(tag, number) for tag in words]
            )
