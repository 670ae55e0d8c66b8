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
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any

from synth.errors import InputError
from synth.layout import Layout
from synth.library.answer import Answer, Contradiction, better_of
from synth.library.asked import Asked, Naming, function_key
from synth.library.entry import Entry, Query
from synth.library.rows import ENTRY_COLUMNS, entry_of, row_of
from synth.library.schema import give_up, prepare, require_database, unusable
from synth.library.words import expressions
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.candidates import assumed_limits
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.questions.statistics import Statistics
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import Spec

BUSY_S = 30.0
"""Seconds to wait for another process that is writing."""

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
        require_database(self.path)
        try:
            # Transactions are begun and ended by hand: ``isolation_level=None``.
            self.connection = sqlite3.connect(self.path, timeout=BUSY_S, isolation_level=None)
        except sqlite3.Error as error:
            raise unusable(error, str(path)) from None
        try:
            prepare(self.connection, str(self.path))
        except BaseException:
            self.connection.close()
            raise

    @staticmethod
    def copy_of(path: str | Path) -> Store:
        """A copy in memory of the store in a file, which is read and never written to.

        Raises:
            InputError: as for opening it.
        """
        copy = Store(":memory:")
        copy.path = Path(path)
        try:
            if not copy.path.is_file():
                raise InputError("no such store", file=str(path), way_out="check the path")
            require_database(copy.path)
            uri = f"{copy.path.absolute().as_uri()}?mode=ro"
            with contextlib.closing(sqlite3.connect(uri, uri=True, timeout=BUSY_S)) as source:
                source.backup(copy.connection)
            prepare(copy.connection, str(path))
        except sqlite3.DatabaseError as error:
            copy.close()
            raise unusable(error, str(path)) from None
        except BaseException:
            copy.close()
            raise
        return copy

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
    def writing(self) -> Iterator[None]:
        """One transaction: all of it, or nothing. Within another it is part of that.

        Raises:
            InputError: if the store cannot be written to.
        """
        if self.connection.in_transaction:
            yield
            return
        try:
            # Taken at once: two that read first and then both want to write would deadlock.
            self.connection.execute("BEGIN IMMEDIATE")
            yield
            self.connection.execute("COMMIT")
        except sqlite3.Error as error:
            give_up(self.connection)
            raise unusable(error, str(self.path)) from None
        except BaseException:
            give_up(self.connection)
            raise

    def _select(self, statement: str, values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        try:
            return self.connection.execute(statement, values).fetchall()
        except sqlite3.Error as error:
            raise unusable(error, str(self.path)) from None

    # Questions and answers

    def recall(self, problem: Problem) -> Outcome | None:
        """The decided answer to a question, with its names; see ``synth.questions.memory``.

        Raises:
            InputError: if the layout kept does not do what was asked.
        """
        asked, naming = Asked.of(problem)
        answer = self.answer(asked.key)
        if answer is None or not answer.proven:
            return None
        return self.outcome(problem, naming, answer)

    def known(self, problem: Problem) -> Outcome | None:
        """All that is known of a question, decided or not; None if nothing is."""
        asked, naming = Asked.of(problem)
        answer = self.answer(asked.key)
        return None if answer is None else self.outcome(problem, naming, answer)

    def outcome(self, problem: Problem, naming: Naming, answer: Answer) -> Outcome:
        """A kept answer as the search would give it, its layout judged anew.

        Of its stats, ``seconds`` are those spent on it so far; nothing was asked for it now.
        """
        layout, verdict = answer.layout, None
        if layout is not None:
            # Rows hold no purpose: it is what the question says, in whatever names.
            layout = naming.to_asked(layout)
            verdict = self._judged(layout, problem)
            layout = layout.replace(made_for=problem.made_for(verdict.delay))
        found = answer.status is Status.FOUND
        return Outcome(
            answer.status,
            layout,
            verdict,
            reason="" if found else answer.claim,
            claim=answer.claim if found else "",
            assumed=assumed_limits(problem.limits)[1],
            stats=Statistics(
                bound=answer.bound,
                seconds=answer.seconds,
                solver=answer.solver,
                seed=answer.seed,
            ),
            measures=problem.measures,
        )

    def _judged(self, layout: Layout, problem: Problem) -> Verdict:
        """The simulator's verdict on a layout kept; it must pass."""
        spec = problem.spec
        verdict = check(layout, spec, delay=spec.limits.delay, rules=problem.rules)
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
        problem: Problem,
        outcome: Outcome,
        *,
        name: str = "",
        proof: str | None = None,
    ) -> bool:
        """Keep what a search found out; see ``synth.questions.memory``.

        Args:
            problem: what was asked.
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
        asked, naming = Asked.of(problem)
        answer = Answer.of(outcome, naming, proof)
        return self.keep_answer(asked, answer, name or problem.spec.name or "")

    def keep_answer(self, asked: Asked, answer: Answer, name: str = "") -> bool:
        """``keep`` for an answer in canonical form."""
        with self.writing():
            before = self.answer(asked.key)
            try:
                after = answer if before is None else better_of(before, answer, asked.minimize)
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
        rows = self._select(
            "SELECT status, proven, layout, delay, bound, claim, proof, solver, seed, seconds,"
            " version, made FROM results LEFT JOIN layouts USING (number) WHERE key = ?",
            (key,),
        )
        if not rows:
            return None
        status, proven, layout, *rest = rows[0]
        with self._reading(key):
            parsed = None if layout is None else Layout.from_document(json.loads(layout))
        return Answer(Status(status), bool(proven), parsed, *rest)

    @contextlib.contextmanager
    def _reading(self, key: str) -> Iterator[None]:
        """What is kept as text and cannot be read was changed by something else."""
        try:
            yield
        except (ValueError, KeyError, TypeError) as error:
            raise InputError(
                f"what is kept under {key[:12]} cannot be read: {error}",
                file=str(self.path),
                way_out="'gatefit library verify' finds all such entries",
            ) from None

    def spent(self, key: str, seconds: float) -> None:
        """Say how long a question was worked on, in seconds."""
        with self.writing():
            self.connection.execute("UPDATE results SET seconds = ? WHERE key = ?", (seconds, key))

    def _write(self, asked: Asked, answer: Answer, name: str) -> None:
        values = row_of(asked, answer)
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
        rows = self._select(
            "SELECT length, width, height, delay, parts FROM ruled_out WHERE box_key = ?"
            " ORDER BY length, width, height, delay, parts",
            (asked.box_key,),
        )
        return [
            BoxAnswer(
                BoxQuestion(
                    (length, width, height), delay, None if parts == NO_PARTS_LIMIT else parts
                ),
                None,
            )
            for length, width, height, delay, parts in rows
        ]

    def rule_out(self, asked: Asked, answers: Iterable[BoxAnswer]) -> None:
        """Keep those of a search's answers about single boxes that say "no layout"."""
        rows = [
            (
                asked.box_key,
                *answer.question.size,
                answer.question.delay,
                NO_PARTS_LIMIT if answer.question.parts is None else answer.question.parts,
            )
            for answer in answers
            # A cube is a part of a box.
            if answer.layout is None and answer.cube is None
        ]
        if not rows:
            return
        with self.writing():
            self.connection.executemany(
                "INSERT OR IGNORE INTO ruled_out VALUES (?, ?, ?, ?, ?, ?)", rows
            )

    def recall_boxes(self, problem: Problem) -> list[BoxAnswer]:
        """``ruled_out`` of a specification; see ``synth.questions.memory``."""
        return self.ruled_out(Asked.of(problem)[0])

    def keep_boxes(self, problem: Problem, answers: Iterable[BoxAnswer]) -> None:
        """``rule_out`` of a specification; see ``synth.questions.memory``."""
        self.rule_out(Asked.of(problem)[0], answers)

    def rule_out_all(self, other: Store) -> int:
        """Take over all the boxes that another store knows to hold no layout; how many were new."""
        with self.writing():
            before = self.connection.total_changes
            self.connection.executemany(
                "INSERT OR IGNORE INTO ruled_out VALUES (?, ?, ?, ?, ?, ?)",
                other._select("SELECT * FROM ruled_out"),
            )
            return self.connection.total_changes - before

    # Listing

    def entries(self, query: Query | None = None) -> Iterator[Entry]:
        """The entries a query admits, smaller functions first, then by number."""
        condition, values = (query or Query()).where()
        rows = self._select(
            f"SELECT {ENTRY_COLUMNS} FROM results WHERE {condition}"
            " ORDER BY inputs, outputs, number",
            values,
        )
        return map(entry_of, rows)

    def entries_like(self, spec: Spec) -> Iterator[Entry]:
        """The entries of a function, whatever the order of its inputs and its limits."""
        return self.entries(Query(function_key=function_key(spec.function)))

    def count(self) -> int:
        """How many entries there are."""
        ((count,),) = self._select("SELECT count(*) FROM results")
        return int(count)

    def entry(self, number: int) -> Entry:
        """One entry.

        Raises:
            InputError: if there is none of that number.
        """
        rows = self._select(f"SELECT {ENTRY_COLUMNS} FROM results WHERE number = ?", (number,))
        if not rows:
            raise InputError(
                f"no entry {number}",
                file=str(self.path),
                way_out="'gatefit library list' shows what there is",
            )
        return entry_of(rows[0])

    def asked(self, number: int) -> Asked:
        """What an entry answers."""
        key = self.entry(number).key
        ((text,),) = self._select("SELECT asked FROM results WHERE key = ?", (key,))
        with self._reading(key):
            return Asked.from_document(json.loads(text))

    def encoding(self, number: int) -> int:
        """The version of the encoding that an entry was answered with."""
        ((version,),) = self._select(
            "SELECT json_extract(asked, '$.encoding') FROM results WHERE number = ?", (number,)
        )
        return int(version)

    def claim(self, number: int) -> str:
        """What is claimed by an entry, or why it is undecided, in a sentence."""
        self.entry(number)
        ((text,),) = self._select("SELECT claim FROM results WHERE number = ?", (number,))
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
        verdict = self._judged(answer.layout, asked.problem)
        return answer.layout.replace(made_for=asked.problem.made_for(verdict.delay))
