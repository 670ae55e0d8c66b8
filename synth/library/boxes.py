"""The part of a store that keeps which boxes hold no layout."""

from __future__ import annotations

from collections.abc import Iterable

from synth.library.canonical import Canonical
from synth.library.columns import RULED_OUT, require_row
from synth.library.file import StoreFile
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.problem import Problem

NO_PARTS_LIMIT = -1
"""Stands for "any number of parts" in the table of boxes ruled out: SQL's null is no key."""

Row = tuple[str, int, int, int, int, int]
"""A box key, length, width, height, delay, and most parts."""


class BoxesRuledOut(StoreFile):
    """The boxes that a later search need not ask about again."""

    def ruled_out(self, asked: Canonical) -> list[BoxAnswer]:
        """The boxes known to hold no layout of a question, whatever its limits."""
        rows = self.select(
            f"SELECT {', '.join(RULED_OUT)} FROM ruled_out WHERE box_key = ?"
            " ORDER BY length, width, height, delay, parts",
            (asked.box_key,),
        )
        for row in rows:
            require_row("ruled_out", tuple(RULED_OUT), row, file=str(self.path), number=row)
        return [answer_of(row) for row in rows]

    def rule_out(self, asked: Canonical, answers: Iterable[BoxAnswer]) -> None:
        """Keep those of a search's answers about single boxes that say "no layout"."""
        self.rule_out_rows(
            (
                asked.box_key,
                *answer.question.size,
                answer.question.delay,
                NO_PARTS_LIMIT if answer.question.parts is None else answer.question.parts,
            )
            for answer in answers
            # A cube is only a part of a box.
            if answer.layout is None and answer.cube is None
        )

    def rule_out_rows(self, rows: Iterable[Row]) -> int:
        """Keep rows of another store as they are; returns how many were new."""
        rows = list(rows)
        if not rows:
            return 0
        with self.writing():
            before = self.connection.total_changes
            self.connection.executemany(
                "INSERT OR IGNORE INTO ruled_out VALUES (?, ?, ?, ?, ?, ?)", rows
            )
            return self.connection.total_changes - before

    def rows_ruled_out(self) -> list[tuple[object, ...]]:
        """Every row of the table, as it is."""
        return self.select(f"SELECT {', '.join(RULED_OUT)} FROM ruled_out")

    def recall_boxes(self, problem: Problem) -> list[BoxAnswer]:
        """``ruled_out`` of a specification; see ``synth.questions.memory``."""
        return self.ruled_out(Canonical.of(problem)[0])

    def keep_boxes(self, problem: Problem, answers: Iterable[BoxAnswer]) -> None:
        """``rule_out`` of a specification; see ``synth.questions.memory``."""
        self.rule_out(Canonical.of(problem)[0], answers)


def answer_of(row: tuple[object, ...]) -> BoxAnswer:
    """A row of the table as an answer; its values have been checked."""
    _, length, width, height, delay, parts = row
    most = None if parts == NO_PARTS_LIMIT else parts
    question = BoxQuestion((length, width, height), delay, most)  # type: ignore[arg-type]
    return BoxAnswer(question, None)
