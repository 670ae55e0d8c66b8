"""What building a circuit gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from synth.building.best import Origin
from synth.circuits.pieces import Pieces
from synth.circuits.ticks import Ticks
from synth.layout import Layout, PieceKind
from synth.questions.outcome import Status

FORMAT = "gatefit-build"
VERSION = 4
"""1 listed the gates only, with ticks that were estimated; 2 had no origin, 3 no remark."""


@dataclass(frozen=True)
class Built:
    """The answer of ``build``.

    Attributes:
        status: found; undecided (a limit is not kept, or equality is not proven in time); refused
            (the simulator rejects the layout: a bug).
        reason: why it is not found; empty if it is.
        claim: what is claimed of the layout, and what that rests on; empty if nothing is.
        layout: the best layout, with its pieces, or None.
        delay: ticks within which all outputs are right.
        exact_delay: whether that is the least such delay, and not an upper bound.
        outputs: when each output settles, constants too; empty where that is not known.
        pins: the pin of each input and output of the circuit.
        routed: cells of the box of the first layout, which is placed and not shrunk.
        origin: how the layout came about, before it was shrunk; None without a layout.
        ands, depth: of the circuit once optimised.
        pieces: of the layout, with their ticks and a longest way; None without a layout.
        remark: what might give a smaller layout, a sentence; empty where nothing is known to.
        tried: how many placements were tried.
        seconds: how long it took.
    """

    status: Status
    reason: str
    claim: str
    layout: Layout | None
    delay: int | None
    exact_delay: bool
    outputs: Mapping[str, Ticks]
    pins: Mapping[str, str]
    routed: int
    origin: Origin | None
    ands: int
    depth: int
    pieces: Pieces | None
    remark: str
    tried: int
    seconds: float

    @property
    def utilisation(self) -> float | None:
        """Parts for each cell of the box."""
        return None if self.layout is None else self.layout.part_count / self.layout.volume

    @property
    def gates(self) -> int:
        """How many gates the layout has."""
        found = () if self.pieces is None else self.pieces.pieces
        return sum(piece.kind is PieceKind.GATE for piece in found)

    def document(self) -> dict[str, Any]:
        """The document ``gatefit-build``, version 4."""
        used = self.utilisation
        found = self.pieces
        return {
            "format": FORMAT,
            "version": VERSION,
            "status": str(self.status),
            "reason": self.reason,
            "claim": self.claim,
            "layout": None if self.layout is None else self.layout.document(),
            "delay": self.delay,
            "exact_delay": self.exact_delay,
            "outputs": {
                name: {"least": ticks.least, "most": ticks.most}
                for name, ticks in self.outputs.items()
            },
            "pins": dict(self.pins),
            "routed_volume": self.routed,
            "origin": None if self.origin is None else asdict(self.origin),
            "ands": self.ands,
            "depth": self.depth,
            "utilisation": None if used is None else round(used, 4),
            "pieces": []
            if found is None
            else [
                {
                    "name": piece.name,
                    "kind": str(piece.kind),
                    "reads": list(piece.reads),
                    "parts": len(piece.cells),
                    "size": list(piece.size),
                    "since": found.since[piece.title],
                    "until": found.until[piece.title],
                }
                for piece in found.pieces
            ],
            "critical": []
            if found is None
            else [
                {
                    "tick": step.tick,
                    "piece": step.piece,
                    "at": None if step.at is None else list(step.at),
                }
                for step in found.critical
            ],
            "remark": self.remark,
            "tried": self.tried,
            "seconds": round(self.seconds, 3),
        }
