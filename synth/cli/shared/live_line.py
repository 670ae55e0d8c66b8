"""Lines that tell how work goes on: one that changes on a terminal, and lines that stay."""

from __future__ import annotations

from typing import TextIO

MOST = 79
"""Columns of the changing line: in one more, some terminals begin a new line."""


class LiveLine:
    """Writes to a stream and nowhere else; a stream that is gone is no reason to stop the work.

    Attributes:
        live: whether it is a terminal, where a line can change.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._shown = 0
        self._gone = False
        self.live = stream.isatty()

    def show(self, line: str) -> None:
        """Replace the changing line, cut to the width of a terminal."""
        line = line[:MOST]
        self._put("\r" + line.ljust(self._shown))
        self._shown = len(line)

    def keep(self, line: str) -> None:
        """Write a line that stays, in place of the changing one."""
        self.clear()
        self._put(line + "\n")

    def clear(self) -> None:
        """Take the changing line away."""
        if self._shown:
            self._put("\r" + " " * self._shown + "\r")
            self._shown = 0

    def _put(self, text: str) -> None:
        if self._gone:
            return
        try:
            self._stream.write(text)
            self._stream.flush()
        except (OSError, ValueError):
            self._gone = True
