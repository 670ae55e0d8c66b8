"""Files that commands read and write: refused early, written whole or not at all."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from synth.cli.shared.kinds import require_ending
from synth.errors import InputError, reason_of
from synth.files import bounded, decoded, read_text, write_bytes, write_text
from synth.layout import Layout
from synth.layout.documents import layout_text, parse_json
from synth.layout.drawing import DRAWING_ENDING, is_drawing
from synth.medium import DEFAULT_RULES, Rules

STANDARD_INPUT = "-"
OUTCOME_FORMAT = "gatefit-outcome"
SHRUNK_FORMAT = "gatefit-shrunk"


def read_layout(argument: str) -> Layout:
    """The layout in a file, or on standard input for ``-``: a document or a drawing.

    A document that ``gatefit solve --json`` or ``gatefit shrink --json`` prints stands for the
    layout in it.

    Raises:
        InputError: if it cannot be read, is no layout, or says that it was made for what its pins
            cannot be; names the file.
    """
    from synth.simulator.made_for import spec_made_for

    file = "standard input" if argument == STANDARD_INPUT else argument
    try:
        text = standard_input() if argument == STANDARD_INPUT else read_text(argument)
        layout = _layout_of(text)
        spec_made_for(layout)
        return layout
    except InputError as error:
        raise error.in_file(file) from None


@contextmanager
def of_layout(argument: str) -> Iterator[None]:
    """Let errors that speak of a layout as a whole, or of its pins, name its file.

    Args:
        argument: what ``read_layout`` read it from.
    """
    try:
        yield
    except InputError as error:
        if error.file is not None or error.place not in ("layout", "pins"):
            raise
        file = "standard input" if argument == STANDARD_INPUT else argument
        raise InputError(error.problem, file=file, way_out=error.way_out) from None


def _layout_of(text: str) -> Layout:
    """What a text holds: a drawing, a layout document, or a document with a layout in it."""
    if is_drawing(text):
        return Layout.from_drawing(text)
    document = parse_json(text)
    if isinstance(document, dict) and document.get("format") in (OUTCOME_FORMAT, SHRUNK_FORMAT):
        document = document.get("layout")
        if document is None:
            raise InputError("the outcome has no layout in it")
    return Layout.from_document(document)


def standard_input() -> str:
    """All of standard input, as far as files are read (``synth.files.MAX_BYTES``).

    Raises:
        InputError: if it cannot be read, is too long or no UTF-8.
    """
    if sys.stdin is None:
        raise InputError("is closed", way_out="name a file")
    try:
        return decoded(bounded(sys.stdin.buffer))
    except OSError as error:
        raise InputError(f"cannot be read ({reason_of(error)})") from None


def read_rules(path: str | None) -> Rules:
    """The rule table in a TOML file, or the medium's own for None."""
    if path is None:
        return DEFAULT_RULES
    from synth.medium_document import load_rules

    return load_rules(path)


class OutputFile:
    """A file that will be written once the work is done.

    Making one checks that it can be written, so that nobody waits for an answer that then has
    no place to go, and that its name says what it will hold (``synth.cli.shared.kinds``).

    Args:
        path: the file.
        kind: what it will hold.
        option: by which it was named.

    Raises:
        InputError: if ``path`` cannot be written, with the reason, or is named as another kind.
    """

    def __init__(self, path: str, kind: str = "JSON", *, option: str = "--output") -> None:
        if path == STANDARD_INPUT:
            raise InputError(
                "'-' would be the name of a file",
                place=option,
                way_out="leave it out to print the answer, or name a file",
            )
        require_ending(path, kind, option)
        self.path = path
        self._option = option
        self._target = Path(os.path.realpath(path))
        try:
            self._probe()
        except OSError as error:
            raise self._refusal(error) from None

    def write(self, text: str) -> None:
        """Write the text, whole or not at all, replacing what was there."""
        write_text(self.path, text)

    def write_bytes(self, data: bytes) -> None:
        """The same for what is no text."""
        write_bytes(self.path, data)

    def _probe(self) -> None:
        if self._target.is_dir():
            raise IsADirectoryError("it is a directory")
        if self._target.exists():
            if not os.access(self._target, os.W_OK):
                raise PermissionError("it may not be written to")
            if not self._target.is_file():
                return  # A pipe, a terminal: written to directly.
        with tempfile.TemporaryFile(dir=self._target.parent):
            pass

    def _refusal(self, error: OSError) -> InputError:
        return InputError(
            f"cannot write {self.path!r} ({reason_of(error).lower()})",
            place=self._option,
            way_out="name a file in a folder that exists and can be written to",
        )


class LayoutFile(OutputFile):
    """A file for a layout: a drawing where its name ends as those do, else a document (JSON)."""

    def __init__(self, path: str, *, option: str = "--output") -> None:
        self.drawn = Path(path).suffix.lower() == DRAWING_ENDING
        super().__init__(path, "a drawing" if self.drawn else "JSON", option=option)

    def text(self, layout: Layout) -> str:
        """What the file is to hold of a layout."""
        return layout.drawing() if self.drawn else layout_text(layout)


def json_line(document: Mapping[str, Any]) -> str:
    """A document on one line, for another program to read."""
    return json.dumps(document, ensure_ascii=False)


PICTURES = ("svg", "png")
"""Endings of pictures that commands draw."""


def picture_file(path: str, option: str) -> tuple[str, OutputFile]:
    """The kind of a picture, by its ending, and the file that it will be written to.

    Raises:
        InputError: if the ending is not that of a picture, or the file cannot be written.
    """
    kind = Path(path).suffix.lower().removeprefix(".")
    if kind not in PICTURES:
        raise InputError(
            f"the ending of {path!r} is not that of a picture",
            place=option,
            way_out="end the name in .svg or .png",
        )
    return kind, OutputFile(path, kind.upper(), option=option)
