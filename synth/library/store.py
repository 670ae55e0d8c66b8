"""The store: every answer ever found, one SQLite file, safe to kill and to share.

Every change is one transaction that either is in the file or is not. The file is kept in SQLite's
rollback mode, not in write-ahead mode: then a store at rest is one file, which can be copied and
sent. Several processes may use it at once; who finds it locked waits (``BUSY_S``).

What is kept of a question never says less than before: a proven answer stays, a better layout
takes the place of a worse one, bounds rise, seconds add up.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import fields
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from synth.errors import InputError
from synth.layout import Layout
from synth.library.answer import Answer, Contradiction, better_of
from synth.library.asked import Asked, Naming, function_key
from synth.library.entry import Entry, Query
from synth.library.schema import VERSION, prepare
from synth.library.words import expressions
from synth.medium import Rules
from synth.search.journal import Entry as BoxAnswer
from synth.search.measures import Candidate
from synth.search.outcome import Outcome, Status
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import Spec

BUSY_S = 30.0
"""Seconds to wait for another process that is writing."""

ENTRY_COLUMNS = ", ".join(f'"{item.name}"' for item in fields(Entry))

NO_PARTS_LIMIT = -1
"""Stands for "any number of parts" in the table of boxes ruled out: SQL's null is no key."""


class Store:
    """An open store; a context manager.

    Args:
        path: the file.
        create: whether to make it if it does not exist.

    Raises:
        InputError: if it does not exist and shall not be made, is no store, is of a later
            version, or cannot be used.
    """

    def __init__(self, path: str | Path, *, create: bool = True) -> None:
        self.path = Path(path)
        if not create and not self.path.exists():
            raise InputError(
                "no such store", file=str(path), way_out="build one with 'gatefit library build'"
            )
        try:
            # Transactions are begun and ended by hand: ``isolation_level=None``.
            self.connection = sqlite3.connect(self.path, timeout=BUSY_S, isolation_level=None)
        except sqlite3.Error as error:
            raise InputError(f"cannot be opened ({error})", file=str(path)) from None
        try:
            self._open()
        except BaseException:
            self.connection.close()
            raise

    def _open(self) -> None:
        try:
            self.connection.execute("PRAGMA foreign_keys = ON")
            self.connection.execute("PRAGMA synchronous = FULL")
        except sqlite3.Error as error:
            raise InputError(f"cannot be opened ({error})", file=str(self.path)) from None
        if os.access(self.path, os.W_OK):
            prepare(self.connection, str(self.path))
        else:
            self._require_readable()

    def _require_readable(self) -> None:
        """A store that may only be read is not migrated; it must be of the present version."""
        (version,) = self.connection.execute("PRAGMA user_version").fetchone()
        if version != VERSION:
            raise InputError(
                f"the store has version {version} and may not be written to",
                file=str(self.path),
                way_out="make it writable, so that it can be brought up to date",
            )

    def __enter__(self) -> Store:
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
    def _writing(self) -> Iterator[None]:
        """One transaction: all of it, or nothing."""
        try:
            self.connection.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            raise InputError(
                f"the store cannot be written to ({error})",
                file=str(self.path),
                way_out="close what else uses it, or name another store",
            ) from None
        try:
            yield
        except BaseException:
            self.connection.execute("ROLLBACK")
            raise
        self.connection.execute("COMMIT")

    # Questions and answers

    def recall(self, spec: Spec, minimize: tuple[str, ...], rules: Rules) -> Outcome | None:
        """The decided answer to a question, with its names; see ``synth.search.memory``.

        Raises:
            InputError: if the layout kept does not do what was asked.
        """
        asked, naming = Asked.of(spec, minimize, rules)
        answer = self.answer(asked.key)
        if answer is None or not answer.proven:
            return None
        return self.outcome(spec, rules, naming, answer)

    def known(self, spec: Spec, minimize: tuple[str, ...], rules: Rules) -> Outcome | None:
        """All that is known of a question, decided or not; None if nothing is."""
        asked, naming = Asked.of(spec, minimize, rules)
        answer = self.answer(asked.key)
        return None if answer is None else self.outcome(spec, rules, naming, answer)

    def outcome(self, spec: Spec, rules: Rules, naming: Naming, answer: Answer) -> Outcome:
        """A kept answer as the search would give it, its layout judged anew."""
        layout, verdict = answer.layout, None
        if layout is not None:
            layout = naming.to_asked(layout)
            verdict = self._judged(layout, spec, rules)
        found = answer.status is Status.FOUND
        return Outcome(
            answer.status,
            layout,
            verdict,
            reason="" if found else answer.claim,
            claim=answer.claim if found else "",
            stats={"bound": answer.bound, "questions": 0, "seconds": answer.seconds},
        )

    def _judged(self, layout: Layout, spec: Spec, rules: Rules) -> Verdict:
        """The simulator's verdict on a layout kept; it must pass."""
        verdict = check(layout, spec, delay=spec.limits.delay, rules=rules)
        if not verdict.passes:
            faults = "; ".join(fault.text for fault in verdict.faults)
            raise InputError(
                f"a layout kept for {'; '.join(expressions(spec.function))} does not pass the "
                f"simulator: {faults}",
                file=str(self.path),
                way_out="run 'gatefit library verify' to find all such, and build them again",
            )
        return verdict

    def keep(
        self,
        spec: Spec,
        minimize: tuple[str, ...],
        rules: Rules,
        outcome: Outcome,
        *,
        name: str = "",
        proof: str | None = None,
    ) -> bool:
        """Keep what a search found out; see ``synth.search.memory``.

        Args:
            spec, minimize, rules: what was asked.
            outcome: what came of it; one that was refused is not kept.
            name: a name for the function; the specification's own otherwise.
            proof: what the claim rests on, such as a certificate; the solver otherwise.

        Returns:
            Whether the store says more than before.

        Raises:
            InputError: if the answer contradicts a decided one that is kept.
        """
        if outcome.status is Status.REFUSED:
            return False
        asked, naming = Asked.of(spec, minimize, rules)
        answer = Answer.of(outcome, naming, minimize, proof)
        return self.keep_answer(asked, answer, name or spec.name or "")

    def keep_answer(self, asked: Asked, answer: Answer, name: str = "") -> bool:
        """``keep`` for an answer in canonical form."""
        with self._writing():
            before = self.answer(asked.key)
            try:
                after = answer if before is None else better_of(before, answer, asked.minimize[0])
            except Contradiction as error:
                raise InputError(
                    f"{error} for {asked.key[:12]}",
                    file=str(self.path),
                    way_out="one of the two is wrong: please report it with both stores",
                ) from None
            if after == before:
                return False
            self._write(asked, after, name)
        return True

    def answer(self, key: str) -> Answer | None:
        """The answer kept under a key, in canonical form, its layout not judged."""
        row = self.connection.execute(
            "SELECT status, proven, layout, delay, bound, claim, proof, solver, seed, seconds,"
            " version, made FROM results LEFT JOIN layouts USING (number) WHERE key = ?",
            (key,),
        ).fetchone()
        if row is None:
            return None
        status, proven, layout, *rest = row
        parsed = None if layout is None else Layout.from_document(json.loads(layout))
        return Answer(Status(status), bool(proven), parsed, *rest)

    def _write(self, asked: Asked, answer: Answer, name: str) -> None:
        values = _row(asked, answer)
        columns = ", ".join(f'"{column}"' for column in values)
        marks = ", ".join("?" * len(values))
        updates = ", ".join(f'"{column}" = excluded."{column}"' for column in values)
        (number,) = self.connection.execute(
            f"INSERT INTO results ({columns}) VALUES ({marks})"
            f" ON CONFLICT (key) DO UPDATE SET {updates} RETURNING number",
            list(values.values()),
        ).fetchone()
        if name:
            self.connection.execute(
                "UPDATE results SET name = ? WHERE number = ? AND name = ''", (name, number)
            )
        if answer.layout is None:
            self.connection.execute("DELETE FROM layouts WHERE number = ?", (number,))
            return
        text = json.dumps(answer.layout.document(), separators=(",", ":"))
        self.connection.execute("INSERT OR REPLACE INTO layouts VALUES (?, ?)", (number, text))

    # Boxes ruled out

    def ruled_out(self, asked: Asked) -> list[BoxAnswer]:
        """The boxes known to hold no layout of a question, whatever its limits."""
        rows = self.connection.execute(
            "SELECT length, width, height, delay, parts FROM ruled_out WHERE box_key = ?"
            " ORDER BY length, width, height, delay, parts",
            (asked.box_key,),
        )
        return [
            BoxAnswer(
                Candidate((length, width, height), delay),
                None if parts == NO_PARTS_LIMIT else parts,
                None,
            )
            for length, width, height, delay, parts in rows
        ]

    def rule_out(self, asked: Asked, answers: Iterable[BoxAnswer]) -> None:
        """Keep those of a search's answers about single boxes that say "no layout"."""
        rows = [
            (
                asked.box_key,
                *answer.candidate.size,
                answer.candidate.delay,
                NO_PARTS_LIMIT if answer.parts is None else answer.parts,
            )
            for answer in answers
            if answer.layout is None
        ]
        if not rows:
            return
        with self._writing():
            self.connection.executemany(
                "INSERT OR IGNORE INTO ruled_out VALUES (?, ?, ?, ?, ?, ?)", rows
            )

    # Listing

    def entries(self, query: Query | None = None) -> Iterator[Entry]:
        """The entries a query admits, smaller functions first, then by number."""
        condition, values = (query or Query()).where()
        rows = self.connection.execute(
            f"SELECT {ENTRY_COLUMNS} FROM results WHERE {condition}"
            " ORDER BY inputs, outputs, number",
            values,
        )
        return map(_entry, rows)

    def entries_like(self, spec: Spec) -> Iterator[Entry]:
        """The entries of a function, whatever the order of its inputs and its limits."""
        return self.entries(Query(function_key=function_key(spec.function)))

    def count(self) -> int:
        """How many entries there are."""
        (count,) = self.connection.execute("SELECT count(*) FROM results").fetchone()
        return int(count)

    def entry(self, number: int) -> Entry:
        """One entry.

        Raises:
            InputError: if there is none of that number.
        """
        row = self.connection.execute(
            f"SELECT {ENTRY_COLUMNS} FROM results WHERE number = ?", (number,)
        ).fetchone()
        if row is None:
            raise InputError(
                f"no entry {number}",
                file=str(self.path),
                way_out="'gatefit library list' shows what there is",
            )
        return _entry(row)

    def asked(self, number: int) -> Asked:
        """What an entry answers."""
        key = self.entry(number).key
        (text,) = self.connection.execute(
            "SELECT asked FROM results WHERE key = ?", (key,)
        ).fetchone()
        return Asked.from_document(json.loads(text))

    def claim(self, number: int) -> str:
        """What is claimed by an entry, or why it is undecided, in a sentence."""
        self.entry(number)
        (text,) = self.connection.execute(
            "SELECT claim FROM results WHERE number = ?", (number,)
        ).fetchone()
        return str(text)

    def layout(self, number: int) -> Layout:
        """The layout of an entry, in canonical names, judged anew by the simulator.

        Raises:
            InputError: if there is no such entry, it has no layout, or the layout does not do
                what was asked.
        """
        entry = self.entry(number)
        answer = self.answer(entry.key)
        if answer is None or answer.layout is None:
            raise InputError(
                f"entry {number} has no layout: {entry.status}",
                file=str(self.path),
                way_out="'gatefit library list --status found' shows those that have",
            )
        asked = self.asked(number)
        self._judged(answer.layout, asked.spec, asked.rules)
        return answer.layout


def _row(asked: Asked, answer: Answer) -> dict[str, Any]:
    """The columns of a result but its number and name."""
    function = asked.spec.function
    layout = answer.layout
    length, width, height = layout.size if layout else (None, None, None)
    joints = {str(asked.spec.joint(name)) for name in asked.spec.pin_names}
    return {
        "key": asked.key,
        "asked": json.dumps(asked.document(), separators=(",", ":")),
        "function_key": function_key(function),
        "inputs": len(function.inputs),
        "outputs": len(function.outputs),
        "function": "; ".join(expressions(function)),
        "table": " ".join(function.outputs.values()),
        "stack": asked.spec.stack.axis if asked.spec.stack else "",
        "joints": joints.pop() if len(joints) == 1 else "mixed",
        "minimize": ",".join(asked.minimize),
        "delay_asked": asked.spec.limits.delay,
        "status": str(answer.status),
        "proven": int(answer.proven),
        "length": length,
        "width": width,
        "height": height,
        "volume": layout and layout.size[0] * layout.size[1] * layout.size[2],
        "floor": layout and layout.size[0] * layout.size[1],
        "parts": layout and layout.part_count,
        "delay": answer.delay,
        "bound": answer.bound,
        "claim": answer.claim,
        "proof": answer.proof,
        "solver": answer.solver,
        "seed": answer.seed,
        "seconds": answer.seconds,
        "version": answer.version,
        "made": answer.made or datetime.now(UTC).date().isoformat(),
    }


def _entry(row: tuple[Any, ...]) -> Entry:
    values = dict(zip((item.name for item in fields(Entry)), row, strict=True))
    values["minimize"] = tuple(values["minimize"].split(","))
    values["proven"] = bool(values["proven"])
    return Entry(**values)
