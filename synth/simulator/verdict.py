"""The verdict: what a check of a layout found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from synth.medium import Cell, RuleId
from synth.showing import Shows

FORMAT = "gatefit-verdict"
VERSION = 2
"""The latest version, written of a chain; else it is 1."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: the rule, the cell it is seen at, and a sentence.

    Attributes:
        rule: the rule broken.
        at: the cell, as the layout counts cells.
        text: what is wrong.
        copy: the copy of a row that it is seen in, counted from 1; None for a layout alone (not
            part of the document, and nor is ``copies``; the text says both).
        copies: how many copies that row has.
    """

    rule: RuleId
    at: Cell
    text: str
    copy: int | None = None
    copies: int | None = None

    def document(self) -> dict[str, Any]:
        """The fault as documents write it."""
        return {"rule": str(self.rule), "at": list(self.at), "text": self.text}


@dataclass(frozen=True, slots=True)
class Verdict(Shows):
    """What the simulator found of a layout.

    Attributes:
        legal: whether it keeps sections 2, 6 and 8.
        function: whether every output that matters settles at its right value; None when no
            function is asked or the layout is not legal.
        delay: the smallest T that it meets, in ticks; None if there is none.
        stacks: whether it stacks (section 7); None when that is not asked.
        outputs: each output's settled value for every input assignment in counting order,
            the first input the most significant bit: ``0``, ``1``, or ``x`` for unknown; None
            when the layout is not legal.
        faults: everything that is wrong, each with its rule and place.
        chained: whether it was judged as a slice of a chain (section 11).
        link_delay: then the smallest C in which its links are right after their inputs, in ticks;
            None if there is none.
        fed_back: names of the inputs that stay fed back (not part of the document; each is a
            fault as well).
    """

    legal: bool
    function: bool | None
    delay: int | None
    stacks: bool | None
    outputs: Mapping[str, str] | None
    faults: tuple[Fault, ...] = ()
    fed_back: tuple[str, ...] = ()
    chained: bool = False
    link_delay: int | None = None

    def __post_init__(self) -> None:
        if self.outputs is not None:
            object.__setattr__(self, "outputs", MappingProxyType(dict(self.outputs)))

    def __reduce__(self) -> tuple[Any, ...]:
        outputs = None if self.outputs is None else dict(self.outputs)
        return (
            Verdict,
            (
                self.legal,
                self.function,
                self.delay,
                self.stacks,
                outputs,
                self.faults,
                self.fed_back,
                self.chained,
                self.link_delay,
            ),
        )

    @property
    def passes(self) -> bool:
        """Whether nothing at all is wrong."""
        return self.legal and not self.faults

    def document(self) -> dict[str, Any]:
        """The verdict document; version 2, with the link delay, of a slice of a chain."""
        links = {"link_delay": self.link_delay} if self.chained else {}
        return {
            "format": FORMAT,
            "version": VERSION if self.chained else 1,
            "legal": self.legal,
            "function": self.function,
            "delay": self.delay,
            **links,
            "stacks": self.stacks,
            "outputs": None if self.outputs is None else dict(self.outputs),
            "faults": [fault.document() for fault in self.faults],
        }
