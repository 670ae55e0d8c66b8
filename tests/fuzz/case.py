"""A command with the files it finds, and how it ends."""

from __future__ import annotations

import contextlib
import io
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from synth.cli.main import main

ANSWERS = (0, 1, 2, 3, 4)
"""The exit codes that a command may end in, whatever its input is."""


@dataclass(frozen=True)
class Case:
    """A command and the files it finds."""

    arguments: tuple[str, ...]
    files: Mapping[str, bytes] = field(default_factory=dict)
    stdin: bytes = b""


@dataclass(frozen=True)
class Ended:
    """How a command ended."""

    code: int
    out: bytes
    err: bytes

    def fault(self) -> str | None:
        """What is wrong with the way it ended; None: nothing."""
        text = self.err.decode("utf-8", "replace")
        if self.code not in ANSWERS:
            return f"exit code {self.code}: {text[-300:]}"
        if "Traceback" in text or b"Traceback" in self.out:
            return f"a traceback: {text[-300:]}"
        if self.code != 2:
            return None
        lines = text.splitlines()
        # Where a function's text is wrong, the text follows, and a caret that points into it.
        if len(lines) != 1 and not (len(lines) == 3 and lines[2].strip() == "^"):
            return f"{len(lines)} lines in place of one: {text[:300]!r}"
        if not all(line.isprintable() for line in lines) or len(text) > 4000:
            return f"a line that is no line for a terminal: {text[:300]!r}"
        return None


def run(case: Case, folder: Path) -> Ended:
    """Run a case in this process, in a folder that is its own."""
    for name, data in case.files.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True, parents=True)
        path.write_bytes(data)
    with _streams(case.stdin) as (out, err), contextlib.chdir(folder):
        code = main(case.arguments)
        sys.stdout.flush()
        sys.stderr.flush()
        return Ended(code, out.getvalue(), err.getvalue())


@contextlib.contextmanager
def _streams(stdin: bytes) -> Iterator[tuple[io.BytesIO, io.BytesIO]]:
    before = sys.stdin, sys.stdout, sys.stderr
    out, err = io.BytesIO(), io.BytesIO()
    sys.stdin = io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8")
    sys.stdout = io.TextIOWrapper(out, encoding="utf-8", errors="backslashreplace")
    sys.stderr = io.TextIOWrapper(err, encoding="utf-8", errors="backslashreplace")
    try:
        yield out, err
    finally:
        sys.stdin, sys.stdout, sys.stderr = before
