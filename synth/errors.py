"""What the tool says when it is given something it cannot use.

Floor 1: imports nothing of ours, may be imported by everything.
"""

from __future__ import annotations

from typing import Any


class InputError(ValueError):
    """Something the user gave cannot be used; the message says what, where and what next.

    Args:
        problem: what is wrong, with the user's own value quoted.
        file: the file it stands in, or None for text given directly.
        place: where in the file or text (``parts[3].at``, ``column 7``), or None.
        way_out: what to write instead, or None.

    ``str()`` gives one line: ``file: place: problem; way out``. Commands print it and exit
    with code 2.
    """

    def __init__(
        self,
        problem: str,
        *,
        file: str | None = None,
        place: str | None = None,
        way_out: str | None = None,
    ) -> None:
        self.problem = problem
        self.file = file
        self.place = place
        self.way_out = way_out
        super().__init__(problem)

    def __str__(self) -> str:
        head = "".join(f"{part}: " for part in (self.file, self.place) if part)
        tail = f"; {self.way_out}" if self.way_out else ""
        return f"{head}{self.problem}{tail}"

    def in_file(self, file: str) -> InputError:
        """The same error, naming the file it was found in."""
        return InputError(self.problem, file=file, place=self.place, way_out=self.way_out)

    def __reduce__(self) -> tuple[Any, ...]:
        # Exceptions with keyword-only arguments do not pickle by default; workers raise these.
        return (_rebuild, (self.problem, self.file, self.place, self.way_out))


def _rebuild(problem: str, file: str | None, place: str | None, way_out: str | None) -> InputError:
    return InputError(problem, file=file, place=place, way_out=way_out)
