"""The journal of a search: every answer as it comes, so that nothing done is lost to a kill.

One JSON object a line: first what was asked, then an answer a line, each written through to the
disk before the search goes on. A line that a kill cut short is passed over. A search that is
given its own journal again starts from those answers; layouts are judged anew by the simulator.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from synth.errors import InputError
from synth.layout import Layout
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.cubes import read_cube
from synth.questions.problem import Problem
from synth.spec import Limits
from synth.spec.documents import write_spec

FORMAT = "gatefit-journal"
VERSION = 1


@dataclass
class Journal:
    """The answers of one question, in memory and, with a path, in a file.

    Attributes:
        heading: what was asked: all that an answer about one box depends on.
        path: the file, or None: kept in memory until ``save``.
        entries: the answers so far.
    """

    heading: dict[str, Any]
    path: Path | None = None
    entries: list[BoxAnswer] = field(default_factory=list)

    @staticmethod
    def of(problem: Problem, solver: str, seed: int, path: Path | None = None) -> Journal:
        """The journal of a problem, read from ``path`` where that exists.

        Limits on sizes and delay are no part of it: answers about boxes serve under other limits.

        Raises:
            InputError: if the file is no journal, is of another question, or cannot be used.
        """
        spec, rules = problem.spec, problem.rules
        heading = {
            "format": FORMAT,
            "version": VERSION,
            "spec": write_spec(spec.replace(limits=Limits(parts=spec.limits.parts))),
            "rules": {"reach": rules.reach, "buffer_delays": list(rules.buffer_delays)},
            "solver": solver,
            "seed": seed,
        }
        journal = Journal(heading, path)
        if path is not None:
            journal._open(path)
        return journal

    @staticmethod
    def solver_of(path: Path) -> str | None:
        """The solver of the search that a journal is of; None if there is none yet to go on with.

        Raises:
            InputError: if the file cannot be read, or is no journal.
        """
        first: dict[str, Any] = next(_lines(path), {})
        return first.get("solver")

    def note(self, entry: BoxAnswer) -> None:
        """Keep an answer; with a path, it is on the disk when this returns."""
        self.entries.append(entry)
        if self.path is not None:
            _append(self.path, [entry.document()])

    def save(self, path: Path) -> None:
        """Write a journal that was kept in memory to a new file, and go on there."""
        _append(path, [self.heading, *(entry.document() for entry in self.entries)])
        self.path = path

    def _open(self, path: Path) -> None:
        lines = list(_lines(path))
        if not lines:
            _append(path, [self.heading])
            return
        if lines[0].get("format") != FORMAT:
            raise InputError(
                "this is no journal of a search", file=str(path), way_out="name another file"
            )
        for key, value in self.heading.items():
            if lines[0].get(key) != value:
                raise InputError(
                    f"the journal is of another question: its {key} differs",
                    file=str(path),
                    place="line 1",
                    way_out="ask the same question, or name another file",
                )
        self.entries = [_entry(line) for line in lines[1:]]


def _entry(line: dict[str, Any]) -> BoxAnswer:
    cube = read_cube(line["cube"], "cube") if "cube" in line else None
    length, width, height = line["size" if cube is None else "cube_of"]
    layout = None if line["layout"] is None else Layout.from_document(line["layout"])
    return BoxAnswer(
        BoxQuestion((length, width, height), line["delay"], line["parts"]), layout, cube
    )


def _lines(path: Path) -> Iterator[dict[str, Any]]:
    """The whole lines of a journal; one that was cut short ends it."""
    try:
        text = path.read_text(encoding="utf-8") if path.exists() else ""
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"cannot be read: {error}", file=str(path)) from None
    for number, line in enumerate(text.splitlines(keepends=True), start=1):
        try:
            value = json.loads(line)
        except json.JSONDecodeError:
            if number == 1 or line.endswith("\n"):
                raise InputError(
                    "this is no journal of a search",
                    file=str(path),
                    place=f"line {number}",
                    way_out="name another file",
                ) from None
            return
        yield value


def append_lines(path: Path, documents: Iterable[dict[str, Any]]) -> None:
    """Add documents, one a line, behind whole lines only, and wait until they are on the disk.

    Raises:
        OSError: if that cannot be done.
    """
    with path.open("a+b") as file:
        _drop_cut_line(file)
        for document in documents:
            file.write((json.dumps(document, separators=(",", ":")) + "\n").encode())
        file.flush()
        os.fsync(file.fileno())


def _append(path: Path, documents: list[dict[str, Any]]) -> None:
    try:
        append_lines(path, documents)
    except OSError as error:
        raise InputError(
            f"cannot be written: {error.strerror}", file=str(path), way_out="name another file"
        ) from None


def _drop_cut_line(file: Any) -> None:
    """Cut off what a kill left of a line that never was whole."""
    file.seek(0)
    data = file.read()
    file.truncate(data.rfind(b"\n") + 1)
