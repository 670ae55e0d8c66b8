"""Files that commands read and write: refused early, written whole or not at all."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from synth.errors import InputError
from synth.files import read_text, write_bytes, write_text
from synth.layout import Layout
from synth.layout.documents import parse_json
from synth.medium import DEFAULT_RULES, Rules

STANDARD_INPUT = "-"
OUTCOME_FORMAT = "gatefit-outcome"
SHRUNK_FORMAT = "gatefit-shrunk"


def read_layout(argument: str) -> Layout:
    """The layout in a file, or on standard input for ``-``.

    A document that ``gatefit solve --json`` or ``gatefit shrink --json`` prints stands for the
    layout in it.

    Raises:
        InputError: if it cannot be read or is no layout; names the file.
    """
    file = "standard input" if argument == STANDARD_INPUT else argument
    try:
        text = _standard_input() if argument == STANDARD_INPUT else read_text(argument)
        document = parse_json(text)
        if isinstance(document, dict) and document.get("format") in (OUTCOME_FORMAT, SHRUNK_FORMAT):
            document = document.get("layout")
            if document is None:
                raise InputError("the outcome holds no layout")
        return Layout.from_document(document)
    except InputError as error:
        raise error.in_file(file) from None


def _standard_input() -> str:
    data = sys.stdin.buffer.read()
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            f"is not UTF-8 text (byte {data[error.start]:#04x})", place=f"byte {error.start}"
        ) from None


def read_rules(path: str | None) -> Rules:
    """The rule table in a TOML file, or the medium's own for None."""
    if path is None:
        return DEFAULT_RULES
    from synth.medium_document import load_rules

    return load_rules(path)


class OutputFile:
    """A file that will be written once the work is done.

    Making one checks that it can be written, so that nobody waits for an answer that then has
    no place to go.

    Raises:
        InputError: if ``path`` cannot be written, with the reason.
    """

    def __init__(self, path: str, *, option: str = "--output") -> None:
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
        reason = error.strerror or str(error)
        return InputError(
            f"cannot write {self.path!r} ({reason.lower()})",
            place=self._option,
            way_out="name a file in a directory that exists and may be written to",
        )


def json_line(document: Mapping[str, Any]) -> str:
    """A document on one line, for another program to read."""
    return json.dumps(document, ensure_ascii=False)
