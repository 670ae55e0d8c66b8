"""What building a circuit gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from synth.layout import Layout
from synth.questions.outcome import Status

FORMAT = "gatefit-build"
VERSION = 1


@dataclass(frozen=True, slots=True)
class Piece:
    """A gate of the layout.

    Attributes:
        name: of the signal that it makes.
        reads: names of the signals that it reads; it is their NAND.
        length: cells of its column.
        known_at: the tick from which its signal is known, estimated from the length of its way.
    """

    name: str
    reads: tuple[str, ...]
    length: int
    known_at: int


@dataclass(frozen=True)
class Built:
    """The answer of ``build``.

    Attributes:
        status: found; undecided (a limit is not kept, or equality is not proven in time); refused
            (the simulator rejects the layout: a bug).
        reason: why it is not found; empty if it is.
        claim: what is claimed of the layout, and what that rests on; empty if nothing is.
        layout: the best layout, or None.
        delay: ticks within which all outputs are right.
        exact_delay: whether that is the least such delay, and not an upper bound.
        pins: the pin of each input and output of the circuit.
        routed: cells of the box of the first layout.
        ands, depth: of the circuit once optimised.
        pieces: the gates, in an order in which each follows those it reads.
        critical: names of the signals of one longest way, from an input to an output.
        tried: how many placements were tried.
        seconds: how long it took.
    """

    status: Status
    reason: str
    claim: str
    layout: Layout | None
    delay: int | None
    exact_delay: bool
    pins: Mapping[str, str]
    routed: int
    ands: int
    depth: int
    pieces: tuple[Piece, ...]
    critical: tuple[str, ...]
    tried: int
    seconds: float

    @property
    def utilisation(self) -> float | None:
        """Parts for each cell of the box."""
        return None if self.layout is None else self.layout.part_count / self.layout.volume

    def document(self) -> dict[str, Any]:
        """The document ``gatefit-build``, version 1."""
        used = self.utilisation
        return {
            "format": FORMAT,
            "version": VERSION,
            "status": str(self.status),
            "reason": self.reason,
            "claim": self.claim,
            "layout": None if self.layout is None else self.layout.document(),
            "delay": self.delay,
            "exact_delay": self.exact_delay,
            "pins": dict(self.pins),
            "routed_volume": self.routed,
            "ands": self.ands,
            "depth": self.depth,
            "utilisation": None if used is None else round(used, 4),
            "pieces": [
                {
                    "signal": piece.name,
                    "reads": list(piece.reads),
                    "length": piece.length,
                    "known_at": piece.known_at,
                }
                for piece in self.pieces
            ],
            "critical": list(self.critical),
            "tried": self.tried,
            "seconds": round(self.seconds, 3),
        }
