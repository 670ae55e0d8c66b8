"""The file of a store: opened with care, changed by whole transactions.

Every change is one transaction, which is in the file as a whole or not at all. The file is in
SQLite's rollback mode, not in write-ahead mode: so a store that is not in use is a single file,
which can be copied and sent. Several processes may use it at once; one that finds it locked waits
(``BUSY_S``).

A store may come from a stranger. Before anything else is read, its schema must be exactly ours, so
that no view or trigger of somebody else runs. Text is decoded so that every byte comes through, and
``synth.library.columns`` finds text that cannot be ours.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from synth.errors import InputError
from synth.fields import shown
from synth.library.schema import SQL_ERRORS, give_up, prepare, require_database, unusable

BUSY_S = 30.0
"""Seconds to wait for another process that is writing."""

MOST_COPIED = 1 << 29
"""The largest store, in bytes, that is copied into memory."""

MOST_VALUE = 1 << 26
"""The largest value in one field, in bytes; SQLite refuses larger ones."""


class StoreFile:
    """An open store; a context manager.

    Args:
        path: the file.
        create: whether to make it if it does not exist.

    Raises:
        InputError: if it does not exist and must not be made, is not a store, is of a later
            version, has another schema than ours, or cannot be used.
    """

    def __init__(self, path: str | Path, *, create: bool = True) -> None:
        self.path = Path(path)
        if not create and not _there(self.path):
            raise InputError(
                "no such store", file=str(path), way_out="build one with 'gatefit library build'"
            )
        require_database(self.path)
        self.connection = _connected(str(self.path), str(path))
        try:
            prepare(self.connection, str(self.path))
        except BaseException:
            self.connection.close()
            raise

    @classmethod
    def for_reading(cls, path: str | Path) -> Self:
        """An existing store, to be read.

        A store that may not be written to is copied into memory: one of an earlier version has to
        be brought up to date before it is read, and the file stays as it is.

        Raises:
            InputError: as for opening it.
        """
        file = Path(path)
        if _there(file) and not (os.access(file, os.W_OK) and os.access(file.parent, os.W_OK)):
            return cls.copy_of(path)
        return cls(path, create=False)

    @classmethod
    def copy_of(cls, path: str | Path) -> Self:
        """A copy in memory of the store in a file; the file is never written to.

        Raises:
            InputError: as for opening it, or if it is too large to be copied.
        """
        copy = cls(":memory:")
        copy.path = Path(path)
        try:
            if not _there(copy.path):
                raise InputError("no such store", file=str(path), way_out="check the path")
            require_database(copy.path)
            _require_copied(copy.path)
            uri = f"{copy.path.absolute().as_uri()}?mode=ro"
            with contextlib.closing(_connected(uri, str(path), uri=True)) as source:
                source.backup(copy.connection)
            prepare(copy.connection, str(path))
        except SQL_ERRORS as error:
            copy.close()
            raise unusable(error, str(path)) from None
        except BaseException:
            copy.close()
            raise
        return copy

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    @contextlib.contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction, written as a whole or not at all; within another, a part of that one.

        Raises:
            InputError: if the store cannot be written to.
        """
        if self.connection.in_transaction:
            yield
            return
        try:
            # Lock at once: two processes that read first and both want to write would deadlock.
            self.connection.execute("BEGIN IMMEDIATE")
            yield
            self.connection.execute("COMMIT")
        except SQL_ERRORS as error:
            give_up(self.connection)
            raise unusable(error, str(self.path)) from None
        except BaseException:
            give_up(self.connection)
            raise

    def select(self, statement: str, values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        """The rows of a query.

        Raises:
            InputError: if the store cannot be read.
        """
        try:
            return self.connection.execute(statement, values).fetchall()
        except UnicodeEncodeError as error:
            raise InputError(
                f"{shown(error.object)} is not text that a store can hold",
                file=str(self.path),
                way_out="use text in UTF-8",
            ) from None
        except (*SQL_ERRORS, OverflowError) as error:
            raise unusable(error, str(self.path)) from None


def _there(path: Path) -> bool:
    """Whether there is a file; False also for a name that no file can have, such as one too long.

    Raises:
        InputError: if it is not a file but, for example, a pipe, on which reading would wait.
    """
    try:
        if not path.exists():
            return False
        if path.is_file():
            return True
    except (OSError, ValueError):
        return False
    raise InputError("is no file", file=str(path), way_out="name a file")


def _require_copied(path: Path) -> None:
    size = path.stat().st_size
    if size > MOST_COPIED:
        raise InputError(
            f"the store has {size >> 20} MB, and up to {MOST_COPIED >> 20} can be taken over",
            file=str(path),
            way_out="merge the smaller store into the larger one",
        )


def _connected(database: str, file: str, *, uri: bool = False) -> sqlite3.Connection:
    try:
        # ``isolation_level=None``: this module begins and ends transactions itself.
        connection = sqlite3.connect(database, timeout=BUSY_S, isolation_level=None, uri=uri)
    except (sqlite3.Error, ValueError) as error:
        raise unusable(error, file) from None
    # A byte that is not UTF-8 becomes a lone surrogate, which no text of ours may hold.
    connection.text_factory = lambda data: data.decode("utf-8", "surrogateescape")
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MOST_VALUE)
    return connection
