"""What an audit refuses before it writes a formula or unpacks a file: excessive work.

A certificate may come from anyone. One line in its index can name a question whose formula fills
all memory, and a file of kilobytes can unpack to gigabytes. So the audit derives only formulas that
the claim needs, that gatefit would have written, and that the files at hand can hold; and it
unpacks no file further than expected. So the cost of an audit is in proportion to the size of the
certificate.
"""

from __future__ import annotations

import gzip
from collections import defaultdict
from collections.abc import Callable, Iterable
from pathlib import Path

from synth.encoding import Question
from synth.medium import Size
from synth.proofs.evidence import FORMULA
from synth.proofs.index_entries import FileEntry, Proven, Split
from synth.questions.box import BoxQuestion
from synth.questions.cubes import Cube
from synth.questions.formula_size import MOST_CLAUSES, expected_clauses

MOST_RATIO = 20
"""A compressed file may unpack to this many times its size, or to ``SMALL`` if that is more. Proofs
and formulas of gatefit, written by ``synth.proofs.evidence``, unpack to 3 to 7 times (measured);
files made to fill memory to 1000 times."""

SMALL = 1 << 20
"""Any file may unpack to this many bytes."""

MOST_BYTES = 1 << 32
"""The most bytes of a file of a certificate, before unpacking."""

_LEAST_CLAUSE = 4
"""The bytes of the shortest clause in DIMACS CNF: ``1 0`` and the end of the line."""

_ROUGH = 16
"""The margin for ``expected_clauses``, which is right to a factor of two."""


class Unneeded(Exception):
    """A question that is not checked; the text says why."""


class Bounds:
    """Limits for the questions of one certificate.

    Args:
        needed: what the claim needs; None if it needs nothing in particular.
        files: the files of the certificate.
        splits: the questions answered in cubes.
        covers: whether "no layout" to one question says the same of another.
    """

    def __init__(
        self,
        needed: Iterable[BoxQuestion] | None,
        files: Iterable[FileEntry],
        splits: Iterable[Split],
        covers: Callable[[BoxQuestion, BoxQuestion], bool] = BoxQuestion.covers,
    ) -> None:
        self._covers = covers
        self._needed: dict[tuple[int, int], list[BoxQuestion]] | None = None
        if needed is not None:
            self._needed = defaultdict(list)
            for need in needed:
                self._needed[need.size[:2]].append(need)
        self._bytes = {entry.name: entry.size for entry in files}
        self._cubes = {stem for split in splits for stem in split.cubes}
        self._seen: set[str] = set()

    def require(self, proven: Proven, question: Question) -> None:
        """Accept a question, once, if its formula has to be derived.

        Args:
            proven: its entry.
            question: the question.

        Raises:
            Unneeded: if it need not be derived.
        """
        self.require_question(proven.stem, proven.question, question)
        if proven.cube is not None:
            if self._needed is not None and proven.stem not in self._cubes:
                raise Unneeded(f"{proven.stem} is a cube of no question that the claim needs")
            if not _at_edge(proven.cube, question.size):
                raise Unneeded(f"{proven.stem} holds a pin at a place that its box does not have")
        name = proven.stem + FORMULA
        if name not in self._bytes:
            raise Unneeded(f"{proven.stem} has no formula to compare")
        said = proven.evidence.clauses
        room = max(SMALL, self._bytes[name] * MOST_RATIO)
        plain = not (question.spec.empty or question.spec.fixed)
        if (plain and said * _ROUGH < expected_clauses(question)) or said * _LEAST_CLAUSE > room:
            raise Unneeded(f"the formula of {proven.stem} cannot have {said:,} clauses")

    def require_question(self, stem: str, need: BoxQuestion, question: Question) -> None:
        """Accept a question, once, that was answered as a whole or by cubes.

        Raises:
            Unneeded: if the claim does not need it, or gatefit would not have asked it.
        """
        if stem in self._seen:
            raise Unneeded(f"{stem} stands in it twice")
        self._seen.add(stem)
        if self._needed is not None and not any(
            self._covers(need, other) for other in self._needed.get(need.size[:2], ())
        ):
            raise Unneeded(f"{stem} shows nothing that the claim needs")
        expected = expected_clauses(question)
        if expected > MOST_CLAUSES:
            raise Unneeded(
                f"the formula of {stem} would have about {expected:,} clauses; gatefit writes "
                f"{MOST_CLAUSES:,} at most"
            )


def _at_edge(cube: Cube, size: Size) -> bool:
    """Whether the place at which a cube holds its pin exists in a box."""
    inside = all(0 <= at < side for at, side in zip(cube.cell, size, strict=True))
    beyond = cube.face.step(cube.cell)
    outside = not all(0 <= at < side for at, side in zip(beyond, size, strict=True))
    return inside and outside


class TooLong(Exception):
    """A compressed file holds more than expected; the text says how much was expected."""


def unpacked(path: Path, most_bytes: int | None = None) -> bytes:
    """The content of a compressed file (RFC 1952), unpacked no further than expected.

    Args:
        path: the file.
        most_bytes: the most that it should hold; None takes the limit of ``MOST_RATIO``.

    Raises:
        TooLong: if it holds more.
        OSError, EOFError, zlib.error: if it cannot be unpacked.
    """
    if most_bytes is None:
        most_bytes = max(SMALL, path.stat().st_size * MOST_RATIO)
    with gzip.open(path) as stream:
        data = stream.read(most_bytes + 1)
    if len(data) > most_bytes:
        raise TooLong(f"it unpacks to more than the {most_bytes:,} bytes that it should at most")
    return data
