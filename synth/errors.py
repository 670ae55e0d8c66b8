"""What the tool says when it is given something it cannot use, or cannot write its answer.

Floor 1: imports nothing of ours, may be imported by everything.
"""

from __future__ import annotations

from typing import Any

from synth.printable import cleaned

_LONGEST_PART = 600
"""The most characters of each part of a message. A way out that lists every target fits; a value of
megabytes does not fill the screen."""


class InputError(ValueError):
    """Something the user gave cannot be used; the message says what, where and what next.

    Args:
        problem: what is wrong, with the user's own value quoted.
        file: the file concerned, or None for text given directly.
        place: the place in the file or text (``parts[3].at``, ``column 7``), or None.
        way_out: what to write instead, or None; further lines of it show the text concerned.

    ``str()`` gives one line: ``file: place: problem; way out``. Whatever the user's values contain,
    characters that cannot be printed are escaped, and very long text is cut. Commands print the
    line and exit with code 2.
    """

    def __init__(
        self,
        problem: str,
        *,
        file: str | None = None,
        place: str | None = None,
        way_out: str | None = None,
    ) -> None:
        self.problem = one_line(problem)
        self.file = file
        self.place = None if place is None else one_line(place)
        self.way_out = way_out
        super().__init__(problem)

    def __str__(self) -> str:
        head = "".join(f"{one_line(part)}: " for part in (self.file, self.place) if part)
        way_out = "\n".join(map(one_line, (self.way_out or "").split("\n")))
        return f"{head}{self.problem}{f'; {way_out}' if way_out else ''}"

    def in_file(self, file: str) -> InputError:
        """The same error, naming the file it was found in."""
        return type(self)(self.problem, file=file, place=self.place, way_out=self.way_out)

    def __reduce__(self) -> tuple[Any, ...]:
        # Exceptions with keyword-only arguments do not pickle by default; workers raise these.
        return (_rebuild, (type(self), self.problem, self.file, self.place, self.way_out))


class OutputError(InputError):
    """A file could not be written, although that was expected; the disk may be full.

    The user's input is not wrong, so commands exit with a code of its own.
    """


def reason_of(error: Exception) -> str:
    """Why a file or stream cannot be used: the system's words for it, where there are any."""
    return getattr(error, "strerror", None) or str(error)


def one_line(text: str) -> str:
    """Text that fits on one line of a terminal and is safe to show there.

    Line ends, control characters, terminal escapes and the like are written as escapes; very long
    text is cut to its beginning and end.
    """
    if len(text) > _LONGEST_PART:
        text = f"{text[: _LONGEST_PART - 100]} ... {text[-95:]}"
    return cleaned(text)


def _rebuild(
    kind: type[InputError],
    problem: str,
    file: str | None,
    place: str | None,
    way_out: str | None,
) -> InputError:
    return kind(problem, file=file, place=place, way_out=way_out)
