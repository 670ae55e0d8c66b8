"""The tables of a store, version by version, and how an older store becomes a newer one.

``PRAGMA user_version`` holds the version, ``PRAGMA application_id`` says that the file is ours.
A migration is a list of statements that lead from one version to the next. All migrations that a
store needs run in one transaction, so that a kill leaves either the old store or the new one.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import cache
from pathlib import Path

from synth.errors import InputError
from synth.fields import shown
from synth.printable import cleaned

APPLICATION_ID = 0x67617466
"""The letters ``gatf``; SQLite keeps it at byte 68 of the file."""

VERSION_1 = (
    """
    CREATE TABLE results (
        number INTEGER PRIMARY KEY,
        key TEXT NOT NULL UNIQUE,
        asked TEXT NOT NULL,
        function_key TEXT NOT NULL,
        name TEXT NOT NULL DEFAULT '',
        inputs INTEGER NOT NULL,
        outputs INTEGER NOT NULL,
        function TEXT NOT NULL,
        "table" TEXT NOT NULL,
        stack TEXT NOT NULL,
        joints TEXT NOT NULL,
        minimize TEXT NOT NULL,
        delay_asked INTEGER,
        status TEXT NOT NULL CHECK (status IN ('found', 'impossible', 'undecided')),
        proven INTEGER NOT NULL,
        length INTEGER, width INTEGER, height INTEGER,
        volume INTEGER, floor INTEGER, parts INTEGER, delay INTEGER,
        bound INTEGER,
        claim TEXT NOT NULL,
        proof TEXT,
        solver TEXT NOT NULL,
        seed INTEGER NOT NULL,
        seconds REAL NOT NULL,
        version TEXT NOT NULL,
        made TEXT NOT NULL
    )
    """,
    # In a table of their own, so that listing entries need not read past them.
    """
    CREATE TABLE layouts (
        number INTEGER PRIMARY KEY REFERENCES results(number) ON DELETE CASCADE,
        layout TEXT NOT NULL
    )
    """,
    # Boxes without a layout, which a later search need not ask about again.
    """
    CREATE TABLE ruled_out (
        box_key TEXT NOT NULL,
        length INTEGER NOT NULL, width INTEGER NOT NULL, height INTEGER NOT NULL,
        delay INTEGER NOT NULL,
        parts INTEGER NOT NULL,
        PRIMARY KEY (box_key, length, width, height, delay, parts)
    ) WITHOUT ROWID
    """,
    "CREATE INDEX results_function ON results(function_key)",
    "CREATE INDEX results_size ON results(inputs, volume)",
)

VERSION_2 = (
    # Boxes that a build is asking about at the moment (``synth.library.holders``).
    """
    CREATE TABLE held (
        box_key TEXT PRIMARY KEY,
        holder TEXT NOT NULL,
        host TEXT NOT NULL,
        boot TEXT NOT NULL,
        space TEXT NOT NULL,
        process INTEGER NOT NULL,
        started TEXT NOT NULL,
        until REAL NOT NULL
    ) WITHOUT ROWID
    """,
    # Notes and tags that users add to an entry.
    """
    CREATE TABLE notes (
        number INTEGER PRIMARY KEY REFERENCES results(number) ON DELETE CASCADE,
        note TEXT NOT NULL
    )
    """,
    """
    CREATE TABLE tags (
        tag TEXT NOT NULL,
        number INTEGER NOT NULL REFERENCES results(number) ON DELETE CASCADE,
        PRIMARY KEY (tag, number)
    ) WITHOUT ROWID
    """,
    "CREATE INDEX tags_number ON tags(number)",
)

VERSION_3 = (
    # The best layout beyond the limits of a question that has none within them
    # (``synth.library.beyond``); without one, how long it was sought.
    """
    CREATE TABLE beyond (
        number INTEGER PRIMARY KEY REFERENCES results(number) ON DELETE CASCADE,
        length INTEGER, width INTEGER, height INTEGER,
        parts INTEGER, delay INTEGER,
        seconds REAL NOT NULL,
        version TEXT NOT NULL,
        made TEXT NOT NULL,
        layout TEXT
    )
    """,
)

MIGRATIONS: tuple[tuple[str, ...], ...] = (VERSION_1, VERSION_2, VERSION_3)
"""The statements that lead from version n to n + 1; version 0 is an empty file."""

VERSION = len(MIGRATIONS)

SQL_ERRORS = (sqlite3.Error, UnicodeDecodeError)
"""The errors of a database; the second comes where SQLite quotes a damaged name in an error."""

_HEAD = b"SQLite format 3\0"
"""The first bytes of every SQLite database (SQLite file format, section 1.3)."""


def require_database(path: Path) -> None:
    """Refuse a file that is not a database; SQLite takes a file of a byte or two for an empty one.

    Raises:
        InputError: if it is not a database.
    """
    try:
        if not path.is_file():
            return  # It does not exist yet, or is a pipe, which opening would wait for.
        with path.open("rb") as stream:
            head = stream.read(len(_HEAD))
    except (OSError, ValueError):
        return  # It cannot be read; SQLite will say why.
    if head not in (b"", _HEAD):
        raise _no_store(str(path))


def prepare(connection: sqlite3.Connection, file: str) -> None:
    """Bring a store up to the present version; an empty file becomes an empty store.

    Raises:
        InputError: if the file is not a store of gatefit, is of a later version, or is of an
            earlier one and cannot be written to.
    """
    try:
        # A schema may not call any function or table that does more than read.
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA cell_size_check = ON")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        version = _version(connection, file)
        _require_schema(connection, version, file)
        if version == VERSION:
            return
        connection.execute("BEGIN IMMEDIATE")
        # Read the version again: another process may have brought the store up to date.
        version = _version(connection, file)
        _require_schema(connection, version, file)
        for statements in MIGRATIONS[version:]:
            for statement in statements:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")
    except SQL_ERRORS as error:
        give_up(connection)
        raise unusable(error, file) from None
    except BaseException:
        give_up(connection)
        raise


def _version(connection: sqlite3.Connection, file: str) -> int:
    """The version of a store, from 1; 0 for an empty file."""
    ((version,),) = connection.execute("PRAGMA user_version").fetchall()
    ((application,),) = connection.execute("PRAGMA application_id").fetchall()
    empty = not connection.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchall()
    if application != APPLICATION_ID and not (empty and application == 0 and version == 0):
        raise _no_store(file)
    if version > VERSION:
        raise InputError(
            f"the store has version {version}, and this gatefit reads up to {VERSION}",
            file=file,
            way_out="use a newer gatefit, or another store",
        )
    if version < 0 or (version == 0) != empty:
        raise _other_schema(file, f"its version is {version}")
    return int(version)


def _require_schema(connection: sqlite3.Connection, version: int, file: str) -> None:
    """Refuse a store whose tables, indices, views and triggers are not exactly ours.

    Before this check nothing but the schema is read: a trigger, or a view in the place of a table,
    would run somebody else's SQL.
    """
    ours, theirs = _expected(MIGRATIONS[:version]), _schema(connection)
    # Tables come first, because the indices of a missing table are missing, too.
    for kind, name in sorted(theirs.keys() - ours.keys(), reverse=True):
        raise _other_schema(file, f"the {kind} {shown(name)} is none of ours")
    for kind, name in sorted(ours.keys() - theirs.keys(), reverse=True):
        raise _other_schema(file, f"the {kind} {name!r} is missing")
    for (kind, name), text in sorted(ours.items()):
        if theirs[kind, name] != text:
            raise _other_schema(file, f"the {kind} {name!r} is another than ours")


def _schema(connection: sqlite3.Connection) -> dict[tuple[str, str], str]:
    """The SQL definition of each table, index, view and trigger, by its kind and name."""
    rows = connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master").fetchall()
    return {
        (str(kind), str(name)): f"{table}: {' '.join(str(text).split())}"
        for kind, name, table, text in rows
        # ANALYZE writes these tables.
        if name not in ("sqlite_stat1", "sqlite_stat4")
    }


@cache
def _expected(migrations: tuple[tuple[str, ...], ...]) -> dict[tuple[str, str], str]:
    """The schema of a store after these migrations."""
    with closing(sqlite3.connect(":memory:")) as connection:
        for statements in migrations:
            for statement in statements:
                connection.execute(statement)
        return _schema(connection)


def _other_schema(file: str, what: str) -> InputError:
    return InputError(
        f"the store has other tables than gatefit makes: {what}",
        file=file,
        way_out="use an earlier copy of it, or ask whoever made it for the original file",
    )


def give_up(connection: sqlite3.Connection) -> None:
    """Undo the current transaction, if there is one."""
    if connection.in_transaction:
        connection.execute("ROLLBACK")


def unusable(error: Exception, file: str) -> InputError:
    """An error of SQLite as one of ours, with a way out."""
    if isinstance(error, UnicodeDecodeError):
        error = sqlite3.DatabaseError("malformed database schema")
        error.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
    code = getattr(error, "sqlite_errorcode", None)
    if code == sqlite3.SQLITE_NOTADB:
        return _no_store(file)
    if code == sqlite3.SQLITE_READONLY_ROLLBACK:
        return InputError(
            "a process that wrote to the store was stopped half way, and what it left cannot be "
            "undone without writing",
            file=file,
            way_out=f"'gatefit library list --store {file}' undoes it",
        )
    primary = None if code is None else code & 0xFF
    way_out = {
        sqlite3.SQLITE_BUSY: "another process is writing to it; try again when it is done",
        sqlite3.SQLITE_LOCKED: "another process is writing to it; try again when it is done",
        sqlite3.SQLITE_READONLY: "it may not be written to; copy it to where it may",
        sqlite3.SQLITE_FULL: "make room on the disk; nothing was changed",
        sqlite3.SQLITE_CORRUPT: "the file is damaged; use an earlier copy of it",
        sqlite3.SQLITE_TOOBIG: "a value in it is larger than any of ours; name another store",
        sqlite3.SQLITE_CANTOPEN: "name a file in a folder that exists and may be written to",
    }.get(primary or -1, "name another store")
    # SQLite's message may quote text from the file.
    problem = cleaned(str(error))
    return InputError(f"the store cannot be used ({problem})", file=file, way_out=way_out)


def _no_store(file: str) -> InputError:
    return InputError("this is no store of gatefit", file=file, way_out="name another file")
