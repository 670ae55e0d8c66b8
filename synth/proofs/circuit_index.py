"""The certificate of a built circuit: the circuit, the layout, the proof that they are equal.

Like that of other certificates (``synth.proofs.certificate_index``) the index ends in a hash of all
that stands before it, and its text is always laid out the same way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from synth import fields
from synth.medium import Rules
from synth.medium_document import read_rules, rules_entry
from synth.proofs.certificate_index import INDEX
from synth.proofs.index_entries import (
    FileEntry,
    files_entry,
    read_files,
    read_made,
    read_sealed,
    require_version,
    sealed,
)
from synth.words import ticks

FORMAT = "gatefit-circuit-certificate"
VERSION = 1

CIRCUIT, LAYOUT, FORMULA, PROOF = "circuit.aag", "layout.json", "miter.cnf", "miter.drat"
FILES = (CIRCUIT, LAYOUT, FORMULA, PROOF)

_KEYS = ("format", "version", "claim", "made", "files", "sha256")
_CLAIM_KEYS = ("text", "delay", "rules", "pins")


@dataclass(frozen=True)
class CircuitIndex:
    """The index.

    Attributes:
        text: the claim in words.
        delay: ticks within which every output is claimed to be right.
        rules: the rule table.
        pins: the pin of each input and output of the circuit.
        made: by what; for the reader only.
        files: every file but the index, by name.
    """

    text: str
    delay: int
    rules: Rules
    pins: Mapping[str, str]
    made: Mapping[str, Any]
    files: tuple[FileEntry, ...]

    def render(self) -> str:
        """The text of the index."""
        return sealed(
            {
                "format": FORMAT,
                "version": VERSION,
                "claim": {
                    "text": self.text,
                    "delay": self.delay,
                    "rules": rules_entry(self.rules),
                    "pins": dict(self.pins),
                },
                "made": dict(self.made),
                "files": files_entry(self.files),
            }
        )


def claim_words(name: str, delay: int) -> str:
    """The claim in words, the same to who writes it and to who audits it.

    Args:
        name: of the circuit. One that is not a single word stands in quotes, so that none can read
            like a part of the claim.
        delay: ticks within which every output is right.
    """
    told = name if name.split() == [name] and name.isprintable() else repr(name)
    return f"the layout computes {told} within {ticks(delay)}"


def read_circuit_index(folder: Path) -> tuple[CircuitIndex, bool]:
    """The index of a circuit's certificate, and whether it is as it was written.

    Raises:
        InputError: if there is none, or it cannot be understood.
    """
    return read_sealed(folder / INDEX, _read)


def _read(document: Mapping[str, Any]) -> CircuitIndex:
    fields.check_keys(document, _KEYS, None, required=_KEYS)
    require_version(document, VERSION)
    claim = fields.table(document["claim"], "claim")
    fields.check_keys(claim, _CLAIM_KEYS, "claim", required=_CLAIM_KEYS)
    pins = fields.table(claim["pins"], "claim.pins")
    return CircuitIndex(
        text=fields.line(claim["text"], "claim.text"),
        delay=fields.whole(claim["delay"], "claim.delay", 0),
        rules=read_rules(fields.table(claim["rules"], "claim.rules")),
        pins={
            signal: fields.name(pin, fields.under("claim.pins", signal))
            for signal, pin in pins.items()
        },
        made=read_made(fields.table(document["made"], "made")),
        files=read_files(document["files"]),
    )
