"""The tables of a store, version by version, and how an older store becomes a newer one.

``PRAGMA user_version`` holds the version, ``PRAGMA application_id`` says that the file is ours.
A migration is a list of statements from one version to the next; all that are due run in one
transaction, so a kill leaves the old store or the new one.
"""

from __future__ import annotations

import sqlite3

from synth.errors import InputError

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
    # Apart from the rows that are listed, so that a list need not read past them.
    """
    CREATE TABLE layouts (
        number INTEGER PRIMARY KEY REFERENCES results(number) ON DELETE CASCADE,
        layout TEXT NOT NULL
    )
    """,
    # Boxes without a layout: what a search that goes on later need not ask again.
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

MIGRATIONS: tuple[tuple[str, ...], ...] = (VERSION_1,)
"""The statements that lead from version n to n + 1, from an empty file on."""

VERSION = len(MIGRATIONS)


def prepare(connection: sqlite3.Connection, file: str) -> None:
    """Bring a store up to the present version; an empty file becomes an empty store.

    Raises:
        InputError: if the file is no store of ours, or of a later version.
    """
    try:
        connection.execute("BEGIN IMMEDIATE")
        _migrate(connection, file)
        connection.execute("COMMIT")
    except sqlite3.DatabaseError as error:
        _give_up(connection)
        if "locked" in str(error) or "readonly" in str(error):
            raise InputError(
                f"the store cannot be written to ({error})", file=file, way_out="try again later"
            ) from None
        raise _no_store(file) from None
    except BaseException:
        _give_up(connection)
        raise


def _migrate(connection: sqlite3.Connection, file: str) -> None:
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    empty = not connection.execute("SELECT 1 FROM sqlite_master").fetchone()
    if not empty and application != APPLICATION_ID:
        raise _no_store(file)
    if version > VERSION:
        raise InputError(
            f"the store has version {version}, and this gatefit reads up to {VERSION}",
            file=file,
            way_out="use a newer gatefit, or another store",
        )
    for statements in MIGRATIONS[version:]:
        for statement in statements:
            connection.execute(statement)
    if version < VERSION:
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {VERSION}")


def _give_up(connection: sqlite3.Connection) -> None:
    if connection.in_transaction:
        connection.execute("ROLLBACK")


def _no_store(file: str) -> InputError:
    return InputError("this is no store of gatefit", file=file, way_out="name another file")
