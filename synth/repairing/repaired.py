"""The result of a repair."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from synth.layout import Layout, Pin
from synth.layout.documents import pin_entry
from synth.medium import Block, Cell
from synth.medium_document import block_entry
from synth.questions.outcome import Status
from synth.reviewing.change import cell_words, pin_words
from synth.reviewing.comparing import CellChange
from synth.simulator.verdict import Verdict

FORMAT = "gatefit-repair"
VERSION = 1


@dataclass(frozen=True)
class Repaired:
    """What a repair found.

    Attributes:
        status: *found*: the layout is right, and fewer changes in the cells that might change were
            ruled out; *impossible*: no change of them makes it right, with the pins where they are
            unless a rule of pins is broken; *undecided*: the best so far,
            if any; *refused*: the simulator rejects every layout that the solver found.
        start: what was given.
        verdict_before: the simulator's verdict on it.
        layout: the mended layout, or None.
        verdict: the verdict on that.
        cells: the cells changed.
        pins: the pins moved, as they were and as they are.
        ruled_out: fewer changes than this were ruled out, in the cells that might change.
        scope: which cells might change, in words, and whether the pins had to stay.
        claim: what is claimed of the number of changes; empty if nothing is.
        reason: why undecided, impossible or refused.
        stated: what the layout now states differently, as was asked: stacking, joints.
        assumed: what was assumed because nobody said it.
        seconds: spent.
    """

    status: Status
    start: Layout
    verdict_before: Verdict
    layout: Layout | None = None
    verdict: Verdict | None = None
    cells: tuple[CellChange, ...] = ()
    pins: tuple[tuple[Pin, Pin], ...] = ()
    ruled_out: int = 0
    scope: str = ""
    claim: str = ""
    reason: str = ""
    stated: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    seconds: float = 0.0

    @property
    def changes(self) -> int:
        """How many cells and pins were changed."""
        return len(self.cells) + len(self.pins)

    def words(self) -> list[str]:
        """What to do to the layout, an order to a builder each."""
        said = [cell_words(self.start, change.at, change.after) for change in self.cells]
        return [*said, *(pin_words(before, after) for before, after in self.pins), *self.stated]

    def document(self) -> dict[str, Any]:
        """The repair document, version 1."""
        return {
            "format": FORMAT,
            "version": VERSION,
            "status": str(self.status),
            "changes": [
                {
                    "at": list(change.at),
                    "before": _part(change.at, change.before),
                    "after": _part(change.at, change.after),
                }
                for change in self.cells
            ],
            "pins": [
                {"before": pin_entry(before), "after": pin_entry(after)}
                for before, after in self.pins
            ],
            "words": self.words(),
            "ruled_out_below": self.ruled_out,
            "scope": self.scope,
            "claim": self.claim,
            "reason": self.reason,
            "assumed": list(self.assumed),
            "seconds": round(self.seconds, 3),
            "before": self.verdict_before.document(),
            "layout": None if self.layout is None else self.layout.document(),
            "verdict": None if self.verdict is None else self.verdict.document(),
        }


def _part(cell: Cell, block: Block | None) -> dict[str, Any] | None:
    return None if block is None else block_entry(cell, block)


class Interrupted(KeyboardInterrupt):
    """Stopped from the keyboard; ``repaired`` holds what was known by then."""

    def __init__(self, repaired: Repaired) -> None:
        super().__init__()
        self.repaired = repaired
