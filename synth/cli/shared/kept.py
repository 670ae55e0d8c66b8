"""An answer is never lost: what cannot be written where it was asked for is kept elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from synth.cli.shared.ending import keep, say
from synth.errors import OutputError
from synth.files import write_bytes


class Answer:
    """What a search came to, on its way to files and standard output.

    Attributes:
        remarks: what is to be said on standard error once it has been shown, a line each.
        failed: whether a file could not be written where it was asked for.
    """

    def __init__(self) -> None:
        self.remarks: list[str] = []
        self.failed = False

    def write(self, path: str | Path, content: str | bytes) -> bool:
        """Write a file of the answer; where it cannot be written, keep it and remark where.

        Returns:
            Whether it is where it was asked for.
        """
        data = content if isinstance(content, bytes) else content.encode("utf-8")
        try:
            write_bytes(path, data)
        except OutputError as error:
            self.failed = True
            name = Path(path)
            self.remarks.append(f"{error}; {kept(data, name.stem, name.suffix)}")
            return False
        return True

    def show(self, text: str, documents: Mapping[str, str]) -> None:
        """Print the answer; if standard output cannot be written, keep it and say where.

        Args:
            text: what to print.
            documents: the same for a program, by the name it is to be kept under; empty if it
                is in files already.

        Raises:
            OSError: if standard output cannot be written.
        """
        try:
            click.echo(text)
        except OSError:
            for name, document in documents.items():
                self.remarks.append(f"not printed; {kept(document, *name.rsplit('.', 1))}")
            self.say()
            raise

    def say(self) -> None:
        """Make the remarks."""
        for remark in self.remarks:
            say(f"gatefit: {remark}")


def kept(content: str | bytes, stem: str, suffix: str) -> str:
    """Keep something that could not be written where it should go; what to say of it."""
    ending = suffix if suffix.startswith(".") or not suffix else f".{suffix}"
    file = keep(content, f"gatefit-kept-{stem}", ending)
    return f"it is kept in {file}" if file else "it could not be kept elsewhere either"
