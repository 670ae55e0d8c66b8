"""A version of a design: a layout that was saved or gained, with its measures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import Cell

KINDS = ("saved", "gain", "kept")
"""Why a version is there: saved to a file, gained by a job, or kept by hand."""

_KEYS = ("number", "kind", "words", "time", "delay", "layout")


@dataclass(frozen=True, slots=True)
class Version:
    """A layout worth going back to.

    Attributes:
        number: from 1, in order.
        kind: one of ``KINDS``.
        words: where it comes from, for people.
        time: when, in UTC (ISO 8601, to the second).
        delay: the least that it meets, in ticks; None if none, or not known.
        layout: the layout.
    """

    number: int
    kind: str
    words: str
    time: str
    delay: int | None
    layout: Layout

    def document(self) -> dict[str, Any]:
        """The version as a journal keeps it."""
        return {
            "number": self.number,
            "kind": self.kind,
            "words": self.words,
            "time": self.time,
            "delay": self.delay,
            "layout": self.layout.document(),
        }

    @staticmethod
    def from_document(document: object) -> Version:
        """Read what ``document`` wrote.

        Raises:
            InputError: if it is no version.
        """
        table = fields.table(document, "kept")
        fields.check_keys(table, _KEYS, "kept", required=_KEYS)
        delay = table["delay"]
        return Version(
            fields.whole(table["number"], "kept.number", low=1),
            fields.choice(table["kind"], KINDS, "kept.kind", "kind of version"),
            fields.text(table["words"], "kept.words"),
            fields.text(table["time"], "kept.time"),
            None if delay is None else fields.whole(delay, "kept.delay", low=0),
            Layout.from_document(fields.table(table["layout"], "kept.layout")),
        )


@dataclass(frozen=True, slots=True)
class Difference:
    """What one layout has that another has not, cell by cell.

    Attributes:
        added: cells that were empty.
        taken: cells that are empty now.
        changed: cells that hold another part, or the same turned.
    """

    added: tuple[Cell, ...]
    taken: tuple[Cell, ...]
    changed: tuple[Cell, ...]

    def document(self) -> Mapping[str, Any]:
        """The cells as lists."""
        return {
            "added": list(map(list, self.added)),
            "taken": list(map(list, self.taken)),
            "changed": list(map(list, self.changed)),
        }


def difference(before: Layout, after: Layout) -> Difference:
    """What changed from one layout to another, both seen from the corner of their boxes."""
    old, new = before.cells, after.cells
    return Difference(
        tuple(cell for cell in new if cell not in old),
        tuple(cell for cell in old if cell not in new),
        tuple(cell for cell, block in new.items() if cell in old and old[cell] != block),
    )


def require_version(versions: list[Version], number: object) -> Version:
    """The version of that number.

    Raises:
        InputError: if there is none.
    """
    wanted = fields.whole(number, "version", low=1)
    for version in versions:
        if version.number == wanted:
            return version
    raise InputError(f"no version {wanted}", place="version")
