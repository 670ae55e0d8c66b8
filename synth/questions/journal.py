"""The journal of a search: every answer as it comes, so that a kill loses nothing.

One JSON object on each line: first what was asked, then one answer on each line, written to the
disk before the search goes on. A last line that a kill cut short is skipped; any other line that
does not belong in a journal is refused, with its number. A search that gets its own journal again
starts from these answers; the simulator judges their layouts anew.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

from synth import fields
from synth.errors import InputError, OutputError, reason_of
from synth.files import decoded, read_bytes
from synth.layout import Layout
from synth.layout.documents import parse_json
from synth.layout.pins import show_size
from synth.medium import Size
from synth.medium_document import rules_entry
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.candidates import of_every_box
from synth.questions.cubes import read_cube
from synth.questions.problem import Problem
from synth.spec import Spec
from synth.spec.documents import write_spec
from synth.spec.spec import MAX_DELAY, MAX_SIZE

FORMAT = "gatefit-journal"
VERSION = 1

_ANSWER_KEYS = ("delay", "parts", "layout")
_BLOCK = 1 << 16


@dataclass
class Journal:
    """The answers of one question, in memory and, with a path, in a file.

    Attributes:
        heading: what was asked: everything that an answer about one box depends on.
        path: the file; None keeps the journal in memory only.
        entries: the answers so far.
    """

    heading: dict[str, Any]
    path: Path | None = None
    entries: list[BoxAnswer] = field(default_factory=list)

    @staticmethod
    def of(problem: Problem, solver: str, seed: int, path: Path | None = None) -> Journal:
        """The journal of a problem, read from ``path`` if that exists.

        It does not depend on limits on sizes and delay: answers about boxes hold under any limits.

        Raises:
            InputError: if the file is not a journal, is about another question, or cannot be used.
        """
        spec, rules = problem.spec, problem.rules
        heading = {
            "format": FORMAT,
            "version": VERSION,
            "spec": write_spec(spec.replace(limits=of_every_box(spec.limits))),
            "rules": rules_entry(rules),
            "solver": solver,
            "seed": seed,
        }
        journal = Journal(heading, path)
        if path is not None:
            journal._open(path, spec)
        return journal

    @staticmethod
    def solver_of(path: Path) -> str | None:
        """The solver of the search that wrote a journal; None if there is no journal yet.

        Raises:
            InputError: if the file cannot be read, or is not a journal.
        """
        for _, heading in lines_of(path):
            return fields.text(heading.get("solver"), "line 1: solver")
        return None

    def text(self) -> str:
        """The journal as its file holds it."""
        documents = [self.heading, *(entry.document() for entry in self.entries)]
        return "".join(map(_line, documents))

    def note(self, entry: BoxAnswer) -> None:
        """Keep an answer; with a path, it is on the disk when this returns.

        Raises:
            OutputError: if it cannot be written; it is still kept in memory.
        """
        self.entries.append(entry)
        if self.path is not None:
            try:
                append_lines(self.path, [entry.document()])
            except (OSError, ValueError) as error:
                raise OutputError(
                    f"cannot be written: {reason_of(error)}",
                    file=str(self.path),
                    way_out="make room, or name another file",
                ) from None

    def _open(self, path: Path, spec: Spec) -> None:
        lines = list(lines_of(path))
        if not lines:
            try:
                # The file holds at most the beginning of a heading that a kill cut short.
                append_lines(path, [self.heading])
            except (OSError, ValueError) as error:
                raise InputError(
                    f"cannot be written: {reason_of(error)}",
                    file=str(path),
                    way_out="name another file",
                ) from None
            return
        for key, value in self.heading.items():
            if lines[0][1].get(key) != value:
                raise InputError(
                    f"the journal belongs to another question: its {key} differs",
                    file=str(path),
                    place="line 1",
                    way_out="ask the same question, or name another file",
                )
        for place, line in lines[1:]:
            try:
                self.entries.append(_entry(line, spec))
            except InputError as error:
                within = f"{place}: {error.place}" if error.place else place
                raise InputError(
                    error.problem,
                    file=str(path),
                    place=within,
                    way_out=error.way_out or "take the line out: it is then asked again",
                ) from None


def _entry(line: Mapping[str, Any], spec: Spec) -> BoxAnswer:
    """The answer on a line.

    Raises:
        InputError: if there is none; the place is the key.
    """
    own = ("cube", "cube_of") if "cube" in line else ("size",)
    fields.check_keys(line, (*own, *_ANSWER_KEYS), None, required=(*own, *_ANSWER_KEYS))
    cube = None
    if "cube" in line:
        cube = read_cube(line["cube"], "cube")
        if cube.pin not in spec.pins:
            raise InputError(
                f"no pin {fields.shown(cube.pin)}",
                place="cube.pin",
                way_out=fields.suggestion(cube.pin, spec.pin_names, "the pins are"),
            )
    size = read_size(line[own[-1]], own[-1])
    delay = fields.whole(line["delay"], "delay", low=0, high=MAX_DELAY)
    parts = line["parts"]
    if parts is not None:
        parts = fields.whole(parts, "parts", low=0)
    layout = None
    if line["layout"] is not None:
        try:
            layout = Layout.from_document(fields.table(line["layout"], None))
        except InputError as error:
            place = f"layout.{error.place}" if error.place else "layout"
            raise InputError(error.problem, place=place, way_out=error.way_out) from None
        if layout.size != size:
            raise InputError(
                f"a layout of {show_size(layout.size)} in a box of {show_size(size)}",
                place="layout.size",
            )
    return BoxAnswer(BoxQuestion(size, delay, parts), layout, cube)


def read_size(value: object, place: str) -> Size:
    """The sides of a box.

    Raises:
        InputError: if the value is none.
    """
    sides = fields.items(value, place)
    if len(sides) != 3:
        raise InputError(
            f"{fields.shown(value)} is no size",
            place=place,
            way_out="use three whole numbers: [length, width, height]",
        )
    length, width, height = (fields.whole(side, place, low=1, high=MAX_SIZE) for side in sides)
    return (length, width, height)


def lines_of(
    path: Path, format_name: str = FORMAT, of: str = "a search"
) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """The place and the value of every whole line of a journal, the heading first.

    A last line that a kill cut short does not count: it has no line end and is not JSON.

    Args:
        path: the file.
        format_name: the format that the heading must name.
        of: what journals of that format record, for error messages.

    Raises:
        InputError: if the file cannot be read, is no journal, or a line of it is no JSON object.
    """
    if not os.path.exists(path):
        return
    lines = read_bytes(path).split(b"\n")
    for number, data in enumerate(lines, start=1):
        place = f"line {number}"
        last = number == len(lines)
        if last and not data:
            return
        try:
            value = fields.table(parse_json(decoded(data)), None)
        except InputError as error:
            begun = _line({"format": format_name})[:-2].encode()
            if last and (number > 1 or data.startswith(begun) or begun.startswith(data)):
                return
            if number == 1:
                raise _no_journal(path, of) from None
            inside = f"{place}: {error.place}" if error.place else place
            raise InputError(
                error.problem,
                file=str(path),
                place=inside,
                way_out="take the line out: it is then asked again",
            ) from None
        if number == 1 and value.get("format") != format_name:
            raise _no_journal(path, of)
        yield place, value


def _no_journal(path: Path, of: str) -> InputError:
    return InputError(
        f"this is no journal of {of}",
        file=str(path),
        place="line 1",
        way_out="name another file",
    )


def _line(document: Mapping[str, Any]) -> str:
    return json.dumps(document, separators=(",", ":")) + "\n"


def keep_lines(path: Path, documents: Iterable[dict[str, Any]]) -> None:
    """The same as ``append_lines``.

    Raises:
        OutputError: naming the file, if that cannot be done.
    """
    try:
        append_lines(path, documents)
    except (OSError, ValueError) as error:
        raise OutputError(
            f"cannot be written: {reason_of(error)}",
            file=str(path),
            way_out="make room, or name another file",
        ) from None


def append_lines(path: Path, documents: Iterable[dict[str, Any]]) -> None:
    """Add documents, one on each line after the last whole line, and wait until they are on disk.

    Raises:
        OSError: if writing fails.
    """
    with path.open("a+b") as file:
        _end_last_line(file)
        file.write("".join(map(_line, documents)).encode())
        file.flush()
        os.fsync(file.fileno())


def _end_last_line(file: BinaryIO) -> None:
    """Cut off a last line that a kill left incomplete; give a complete one its line end.

    A line is one JSON object, and no beginning of an object is itself a JSON object.
    """
    end = start = file.seek(0, os.SEEK_END)
    tail = b""
    while start > 0 and b"\n" not in tail:
        start = max(0, start - _BLOCK)
        file.seek(start)
        tail = file.read(end - start)
    last = tail[tail.rfind(b"\n") + 1 :]
    if not last:
        return
    try:
        fields.table(parse_json(decoded(last)), None)
    except InputError:
        file.truncate(end - len(last))
    else:
        file.write(b"\n")
