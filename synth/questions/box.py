"""One question about one box, and its answer: the two types that walk, proofs and stores share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from synth.layout import Layout
from synth.layout.pins import show_size
from synth.medium import Size
from synth.questions.cubes import Cube


class BoxQuestion(NamedTuple):
    """Is there a layout in a box of ``size`` cells within ``delay`` ticks and ``parts`` parts?

    ``parts`` None means any number. What the layout must do is not part of the question: the
    problem says it once for all boxes (``synth.questions.problem.Problem``).
    """

    size: Size
    delay: int
    parts: int | None = None

    def __str__(self) -> str:
        most = "" if self.parts is None else f", at most {self.parts} parts"
        return f"{show_size(self.size)}, delay at most {self.delay}{most}"

    @property
    def order(self) -> tuple[int, ...]:
        """A key to sort by: small boxes first, then early delays, then few parts."""
        length, width, height = self.size
        most = -1 if self.parts is None else self.parts
        return (length * width * height, *self.size, self.delay, most)

    @property
    def any_parts(self) -> BoxQuestion:
        """The same box and delay, with any number of parts."""
        return self._replace(parts=None)

    def with_at_most(self, parts: int | None) -> BoxQuestion:
        """The same question with at most ``parts`` parts; a tighter bound of its own is kept."""
        bounds = [most for most in (parts, self.parts) if most is not None]
        return self._replace(parts=min(bounds) if bounds else None)

    def covers(self, other: BoxQuestion) -> bool:
        """Whether "no layout" as the answer to this question also answers another one.

        It does for shorter delays (what is known stays known, section 5) and for fewer parts.
        """
        fewer = self.parts is None or (other.parts is not None and other.parts <= self.parts)
        return self.size == other.size and self.delay >= other.delay and fewer

    def measure(self, name: str) -> int:
        """A measure (section 9) that box and delay alone decide: any but ``parts``."""
        length, width, height = self.size
        return {
            "volume": length * width * height,
            "floor": length * width,
            "length": length,
            "width": width,
            "height": height,
            "delay": self.delay,
        }[name]


@dataclass(frozen=True, slots=True)
class BoxAnswer:
    """The answer to a question about a box: a layout, or None for "no layout".

    With a ``cube``, "no layout" is said of that cube only.
    """

    question: BoxQuestion
    layout: Layout | None
    cube: Cube | None = None

    def document(self) -> dict[str, Any]:
        """The answer as a line of a journal holds it."""
        cube = {} if self.cube is None else {"cube": self.cube.document()}
        size, delay, parts = self.question
        return cube | {
            # A cube has its own key: a reader that knows no cubes must not take it for the box.
            "size" if self.cube is None else "cube_of": list(size),
            "delay": delay,
            "parts": parts,
            "layout": None if self.layout is None else self.layout.document(),
        }
