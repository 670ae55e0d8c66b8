"""The journal of a census: every layout and every complete box as it comes.

One JSON object a line: first what was asked, then what was found out, each on the disk before the
census goes on. A line that a kill cut short is passed over. Limits on sizes and delay are no part
of what was asked, so a census may go on under wider ones; every layout that is read is judged anew
by the simulator.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from synth import fields
from synth.encoding import ENCODING_VERSION
from synth.errors import InputError
from synth.layout import Layout
from synth.medium_document import rules_entry
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion, shown
from synth.questions.census_ledger import Complete, Found, Ledger
from synth.questions.cubes import Cube, read_cube
from synth.questions.journal import keep_lines, lines_of, read_size
from synth.spec import Limits
from synth.spec.classes import Columns
from synth.spec.documents import write_spec
from synth.spec.spec import MAX_DELAY

FORMAT = "gatefit-census-journal"
VERSION = 1

_BOX = ("size", "delay", "parts", "seconds")
_FOUND = (*_BOX, "table", "layout")
_COMPLETE = (*_BOX, "complete", "without")


class CensusJournal:
    """Keeps what a ledger is told, in a file or nowhere.

    Args:
        asked: what the census asks.
        path: the file, or None.

    Attributes:
        ledger: what is known, including what the file held.
        seconds: how long the census of this file has taken so far.

    Raises:
        InputError: if the file is no such journal, is of another census, holds a layout that is
            not right, or cannot be used.
    """

    def __init__(self, asked: CensusQuestion, path: Path | None = None) -> None:
        self.path = path
        self.ledger = Ledger(asked)
        self.seconds = 0.0
        if path is None:
            return
        lines = list(lines_of(path, FORMAT, "a census"))
        heading = heading_of(asked)
        if not lines:
            self._append(heading)
            return
        for key, value in heading.items():
            if lines[0][1].get(key) != value:
                raise InputError(
                    f"the journal is of another census: its {key} differs",
                    file=str(path),
                    place="line 1",
                    way_out="ask the same, or name another file",
                )
        for place, line in lines[1:]:
            try:
                self._read(line)
            except InputError as error:
                raise InputError(
                    error.problem,
                    file=str(path),
                    place=f"{place}: {error.place}" if error.place else place,
                    way_out="take the line out: it is then found out again",
                ) from None

    def note_found(self, candidate: BoxQuestion, found: Found) -> None:
        """Keep a layout; it is on the disk when this returns.

        Raises:
            OutputError: if it cannot be written.
        """
        self.ledger.note_found(candidate, found)
        self._append(
            _box(candidate, found.seconds)
            | {"table": shown(found.columns), "layout": found.layout.document()}
        )

    def note_complete(
        self,
        candidate: BoxQuestion,
        complete: Complete,
        seconds: float,
        cube: Cube | None = None,
    ) -> None:
        """Keep that a box, or a cube of it, is complete, after so many seconds of the census.

        Raises:
            OutputError: if it cannot be written.
        """
        self.ledger.note_complete(candidate, complete, cube)
        self._append(
            _box(candidate, seconds)
            | ({} if cube is None else {"cube": cube.document()})
            | {
                "complete": round(complete.seconds, 3),
                "without": [shown(columns) for columns in complete.without],
            }
        )

    def _append(self, document: dict[str, Any]) -> None:
        if self.path is not None:
            keep_lines(self.path, [document])

    def _read(self, line: Mapping[str, Any]) -> None:
        """What a line holds.

        Raises:
            InputError: if it holds nothing of a census; the place is the key.
        """
        keys = _FOUND if "layout" in line else _COMPLETE
        optional = () if keys is _FOUND else ("cube",)
        fields.check_keys(line, (*keys, *optional), None, required=keys)
        parts = line["parts"]
        candidate = BoxQuestion(
            read_size(line["size"], "size"),
            fields.whole(line["delay"], "delay", low=0, high=MAX_DELAY),
            None if parts is None else fields.whole(parts, "parts", low=0),
        )
        seconds = fields.seconds(line["seconds"], "seconds")
        self.seconds = max(self.seconds, seconds)
        if keys is _FOUND:
            columns = self._columns(line["table"], "table")
            self.ledger.note_found(
                candidate, self._read_found(line["layout"], columns, candidate, seconds)
            )
            return
        without = fields.items(line["without"], "without")
        complete = Complete(
            tuple(self._columns(item, f"without[{n}]") for n, item in enumerate(without)),
            fields.seconds(line["complete"], "complete"),
        )
        cube = read_cube(line["cube"], "cube") if "cube" in line else None
        self.ledger.note_complete(candidate, complete, cube)

    def _columns(self, value: object, place: str) -> Columns:
        asked = self.ledger.asked
        function = asked.problem.spec.function
        columns = tuple(fields.text(value, place).split())
        rows = {len(column) for column in columns}
        if (
            len(columns) != len(function.outputs)
            or rows != {function.rows}
            or set("".join(columns)) - set("01-")
            or asked.class_of(columns) != columns
        ):
            raise InputError(f"{fields.shown(value)} names no class that is counted", place=place)
        return columns

    def _read_found(
        self, value: object, columns: Columns, candidate: BoxQuestion, seconds: float
    ) -> Found:
        try:
            layout = Layout.from_document(fields.table(value, "layout"))
            verdict = self.ledger.asked.judged(layout, columns, candidate.delay)
        except InputError as error:
            raise InputError(error.problem, place="layout") from None
        if not verdict.passes or verdict.delay is None or layout.size != candidate.size:
            raise InputError("the layout does not do what is asked", place="layout")
        return Found(columns, layout, verdict.delay, seconds)


def heading_of(asked: CensusQuestion) -> dict[str, Any]:
    """All that an answer about one box depends on."""
    spec, rules = asked.problem.spec, asked.problem.rules
    return {
        "format": FORMAT,
        "version": VERSION,
        "spec": write_spec(spec.replace(limits=Limits(parts=spec.limits.parts))),
        "rules": rules_entry(rules),
        "sought": [shown(columns) for columns in asked.sought],
        "every_input_matters": asked.every_input_matters,
        "encoding": ENCODING_VERSION,
    }


def _box(candidate: BoxQuestion, seconds: float) -> dict[str, Any]:
    size, delay, parts = candidate
    box = {"size": list(size), "delay": delay, "parts": parts}
    return box | {"seconds": round(seconds, 3)}
