"""The part of a store that lists what it holds."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.layout.documents import parse_json
from synth.library.canonical import ASKED_KEYS, Canonical, function_key
from synth.library.columns import TABLES, require_row
from synth.library.entry import Entry, Query
from synth.library.file import StoreFile
from synth.library.rows import ENTRY_COLUMNS, ENTRY_TABLES, entry_of
from synth.printable import cleaned
from synth.spec import Spec


class Listing(StoreFile):
    """Lists entries and what belongs to them. All text that it returns is fit to be shown."""

    def entries(self, query: Query | None = None) -> Iterator[Entry]:
        """The entries that a query matches, smaller functions first, then by number."""
        condition, values = (query or Query()).where()
        rows = self.select(
            f"SELECT {ENTRY_COLUMNS} FROM {ENTRY_TABLES} WHERE {condition}"
            " ORDER BY inputs, outputs, number",
            values,
        )
        return (entry_of(row, str(self.path)) for row in rows)

    def entries_like(self, spec: Spec) -> Iterator[Entry]:
        """The entries of a function, whatever the order of its inputs and its limits."""
        return self.entries(Query(function_key=function_key(spec.function)))

    def numbers(self) -> list[int]:
        """The numbers of all entries, in the order of ``entries``."""
        return [
            number
            for (number,) in self.select(
                "SELECT number FROM results ORDER BY inputs, outputs, number"
            )
        ]

    def count(self) -> int:
        """How many entries there are."""
        ((count,),) = self.select("SELECT count(*) FROM results")
        return int(count)

    def entry(self, number: int) -> Entry:
        """One entry.

        Raises:
            InputError: if no entry has that number, or it cannot be read.
        """
        rows = self.select(
            f"SELECT {ENTRY_COLUMNS} FROM {ENTRY_TABLES} WHERE number = ?", (number,)
        )
        if not rows:
            raise self._no_entry(number)
        return entry_of(rows[0], str(self.path))

    def _no_entry(self, number: int) -> InputError:
        return InputError(
            f"no entry {number}",
            file=str(self.path),
            way_out="'gatefit library list' shows what there is",
        )

    def number_of(self, key: str) -> int:
        """The number of the entry of a question.

        Raises:
            InputError: if none is kept.
        """
        rows = self.select("SELECT number FROM results WHERE key = ?", (key,))
        if not rows:
            raise InputError(f"no entry of the question {fields.shown(key)}", file=str(self.path))
        return int(rows[0][0])

    def rows_of(self, table: str, number: int) -> list[tuple[Any, ...]]:
        """The rows of an entry in a table of ``TABLES``, with all columns unchecked."""
        columns = ", ".join(f'"{name}"' for name in TABLES[table])
        return self.select(f"SELECT {columns} FROM {table} WHERE number = ?", (number,))

    def asked(self, number: int) -> Canonical:
        """The question that an entry answers.

        Raises:
            InputError: if there is no such entry, or its question cannot be read.
        """
        with self.reading("results", number, "asked"):
            return Canonical.from_document(self._document(number))

    def encoding(self, number: int) -> int:
        """The version of the encoding that an entry was answered with."""
        with self.reading("results", number, "asked"):
            document = fields.table(self._document(number), None)
            return fields.whole(document.get("encoding"), "encoding", low=0)

    def asked_document(self, number: int) -> dict[str, Any]:
        """The document of an entry's question; only its outermost keys are checked."""
        with self.reading("results", number, "asked"):
            document = fields.table(self._document(number), None)
            fields.check_keys(document, ASKED_KEYS, None, required=ASKED_KEYS)
            return dict(document)

    def _document(self, number: int) -> Any:
        return parse_json(self._text(number, "asked"))

    def _text(self, number: int, column: str) -> str:
        rows = self.select(f"SELECT {column} FROM results WHERE number = ?", (number,))
        if not rows:
            raise self._no_entry(number)
        ((text,),) = rows
        require_row("results", (column,), (text,), file=str(self.path), number=number)
        return str(text)

    @contextlib.contextmanager
    def reading(self, table: str, number: object, column: str) -> Iterator[None]:
        """Turn any failure to read a stored document into one error that names the entry."""
        try:
            yield
        except InputError as error:
            if error.file is not None:
                raise
            where = f" at {error.place}" if error.place else ""
            problem = f"cannot be read{where}: {error.problem}"
        except (ValueError, KeyError, TypeError, RecursionError) as error:
            problem = f"cannot be read: {fields.shown(str(error))}"
        else:
            return
        raise InputError(
            cleaned(problem),
            file=str(self.path),
            place=f"table {table}, row {number}, column {column}",
            way_out="'gatefit library verify' finds all such entries",
        )

    def claim(self, number: int) -> str:
        """What is claimed by an entry, or why it is undecided, in a sentence."""
        return cleaned(self._text(number, "claim"))
