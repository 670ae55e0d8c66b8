"""What a review says: findings, each with its severity, its places and its remedies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

from synth.medium import Cell, RuleId
from synth.reviewing.change import Change


class Severity(Enum):
    """How much a finding matters, the worst first."""

    FAULT = "fault"
    """The check fails because of it."""
    WARNING = "warning"
    """The layout works, but a builder should know."""
    NOTE = "note"
    """A remark; nothing has to be done."""

    def __str__(self) -> str:
        return self.value

    @property
    def order(self) -> int:
        """0 for the worst."""
        return list(Severity).index(self)


class Kind(Enum):
    """What a finding is about."""

    FAULT = "fault"
    GLITCH = "glitch"
    FED_BACK = "fed-back"
    WEAK = "weak"
    IDLE = "idle"
    OSCILLATION = "oscillation"
    MEMORY = "memory"
    UNSETTLED = "unsettled"
    STACKING = "stacking"
    JOINT = "joint"

    def __str__(self) -> str:
        return self.value


@dataclass(frozen=True, slots=True)
class Place:
    """A cell of the layout, and the copy of a row that it is meant in.

    Attributes:
        at: the cell, as the layout counts cells.
        copy: the copy, counted from 1, or None where the layout stands alone.
    """

    at: Cell
    copy: int | None = None

    def document(self) -> dict[str, Any]:
        """The place as documents write it."""
        return {"at": list(self.at), "copy": self.copy}


@dataclass(frozen=True, slots=True)
class Remedy:
    """A single change that mends what was found, as the simulator saw it.

    Attributes:
        change: what to change.
        text: the same in words, as a builder would be told.
        passes: whether the layout passes every check after it.
    """

    change: Change
    text: str
    passes: bool

    def document(self) -> dict[str, Any]:
        """The remedy as documents write it."""
        return {"text": self.text, "passes": self.passes} | self.change.document()


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that a review found.

    Attributes:
        kind: what it is about.
        severity: how much it matters.
        places: the cells concerned, the one to look at first; empty if it is of no cell.
        text: the finding and its reason, in words.
        rule: the rule that a fault breaks, or None.
        medium: the name of the rule of the medium that makes it so (``synth.medium_rules``).
        remedies: single changes that mend it, the best first; empty if none is known.
        details: what a program may want besides, fit for JSON.
    """

    kind: Kind
    severity: Severity
    places: tuple[Place, ...]
    text: str
    rule: RuleId | None = None
    medium: str | None = None
    remedies: tuple[Remedy, ...] = ()
    details: Mapping[str, Any] = field(default_factory=dict)

    def document(self) -> dict[str, Any]:
        """The finding as documents write it."""
        return {
            "kind": str(self.kind),
            "severity": str(self.severity),
            "places": [place.document() for place in self.places],
            "text": self.text,
            "rule": None if self.rule is None else str(self.rule),
            "medium": self.medium,
            "remedies": [remedy.document() for remedy in self.remedies],
            "details": dict(self.details),
        }


MEDIUM_OF: Mapping[RuleId, str] = {
    RuleId.SUPPORT: "2 supports",
    RuleId.HOST: "2 hosts",
    RuleId.BUFFER_DELAY: "2 buffer delays",
    RuleId.PIN_FACE: "6 one a face",
    RuleId.PIN_SPACING: "6 distances",
    RuleId.FUNCTION: "5 outputs right",
    RuleId.DELAY: "9 delay",
    RuleId.FED_BACK: "5 fed back",
    RuleId.STACK_LINK: "7 links",
    RuleId.STACK_INVERTER: "7 inverters",
    RuleId.STACK_SUPPORT: "7 hosts",
    RuleId.STACK_BUFFER: "7 buffers",
    RuleId.STACK_PIN: "7 pins",
    RuleId.STACK_PITCH: "7 pitch",
    RuleId.STACK_GROUND: "7 ground",
    RuleId.STACK_FUNCTION: "7 every copy",
    RuleId.CHAIN_PITCH: "11 pitch",
    RuleId.CHAIN_PLACE: "11 places",
    RuleId.CHAIN_FACE: "11 faces",
    RuleId.LINK_DELAY: "11 link delay",
    RuleId.ROW_FUNCTION: "11 handed on",
}
"""The rule of the medium behind each rule that a fault names; limits and wishes have none."""
