"""What an audit refuses before it writes a formula or unpacks a file: work that nobody asked for.

A certificate comes from anyone. Its index costs a line to write and may name a question whose
formula fills all memory, and a file of kilobytes may unpack to gigabytes. So nothing is derived
that the claim does not need, that gatefit would not have written, or that the files at hand cannot
hold; and nothing is unpacked beyond what is expected of it. What an audit costs is then in
proportion to what was handed in.
"""

from __future__ import annotations

import gzip
from collections import defaultdict
from collections.abc import Callable, Iterable
from pathlib import Path

from synth.encoding import Question
from synth.medium import Size
from synth.proofs.certificate_index import FileEntry, Proven, Split
from synth.proofs.evidence import FORMULA
from synth.questions.box import BoxQuestion
from synth.questions.cubes import Cube
from synth.questions.formula_size import MOST_CLAUSES, expected_clauses

MOST_RATIO = 20
"""Most bytes that a byte of a compressed file may stand for, beside ``SMALL``. Proofs and formulas
of gatefit, written by ``synth.proofs.evidence``, come to 3 to 7 (measured); what is made to fill
memory, to 1000."""

SMALL = 1 << 20
"""Bytes that any file may unpack to."""

MOST_BYTES = 1 << 32
"""Most bytes of a file of a certificate, compressed as it is."""

_LEAST_CLAUSE = 4
"""Bytes of the shortest clause in DIMACS CNF: ``1 0`` and the end of the line."""

_ROUGH = 16
"""How far ``expected_clauses``, which is good to a factor of two, is relied upon."""


class Unneeded(Exception):
    """A question that is not looked into; the text says why."""


class Bounds:
    """What the questions of one certificate are held against.

    Args:
        needed: what the claim needs; None where it needs nothing in particular.
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
        """Let a question through, once, if there is reason to derive its formula.

        Args:
            proven: its entry.
            question: what it asks.

        Raises:
            Unneeded: if not.
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
        """Let a question that was answered whole or in cubes through, once.

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
    """Whether a box has the place where a cube holds its pin."""
    inside = all(0 <= at < side for at, side in zip(cube.cell, size, strict=True))
    beyond = cube.face.step(cube.cell)
    outside = not all(0 <= at < side for at, side in zip(beyond, size, strict=True))
    return inside and outside


class TooLong(Exception):
    """A compressed file holds more than is expected of it; the text says how much that is."""


def unpacked(path: Path, most_bytes: int | None = None) -> bytes:
    """What a compressed file holds (RFC 1952), unpacked no further than is expected.

    Args:
        path: the file.
        most_bytes: what it should hold at most; None: what ``MOST_RATIO`` says.

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
