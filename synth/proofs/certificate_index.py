"""The index of a certificate: what is claimed, what shows it, every file with size and hash.

Its last entry is a hash of all that stands before it, and its text is always laid out the same way,
so that a change of any byte of it shows.

Version 2 also lists questions that were answered in cubes; version 1 has none. Since version 3 the
claim in words names everything that was in force: stacking, faces, cells and joints of pins, cells
kept, ground and rule table besides the numbers. Version 4 may speak of a chain and its link delay,
and show a box by a taller one (``synth.questions.cover.covers``). Certificates of all four are read
and audited. It may also say which delay no layout meets, and why (``synth.bounds``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from synth import fields
from synth.bounds import NO_BOUND, DelayBound
from synth.errors import InputError
from synth.files import read_text
from synth.layout.documents import parse_json
from synth.medium import Rules
from synth.medium_document import read_rules, rules_entry
from synth.proofs.index_entries import (
    FileEntry,
    Proven,
    Split,
    files_entry,
    limits_entry,
    need_entry,
    read_files,
    read_limits,
    read_made,
    read_need,
    read_question,
    read_sealed,
    read_split,
    sealed,
)
from synth.questions.box import BoxQuestion
from synth.questions.cover import Claim
from synth.questions.measures import MEASURES
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.spec import Limits, Spec
from synth.spec.spec import MAX_DELAY

FORMAT = "gatefit-certificate"
VERSION = 4
"""The latest version that is read, and the one that is written."""

UNFINISHED = "unfinished"
"""The folder of evidence of a search that goes on, or was stopped: no part of the certificate."""

INDEX, SPEC, LAYOUT, VERDICT = "index.json", "spec.toml", "layout.json", "verdict.json"

STATUSES = (Status.FOUND, Status.IMPOSSIBLE, Status.UNDECIDED)

_KEYS = ("format", "version", "claim", "boxes", "questions", "made", "files", "sha256")
_SPLITS = "splits"
_LEAST_DELAY = "least_delay"
_CLAIM_KEYS = ("text", "status", "measures", "limits", "rules", "values")


LEAST_DELAY = "least delay"
"""What shows that there is no layout where fewer ticks are asked than every layout needs."""


@dataclass(frozen=True)
class Index:
    """The index of a certificate.

    Attributes:
        text: the claim in words.
        status, measures, limits, rules, values: the claim as data
            (``synth.questions.cover.Claim``).
        boxes: what the claim needs, in order, each with the stem of the question that shows it, or
            ``LEAST_DELAY``.
        questions: the questions and cubes answered "no layout", in the order of the needs.
        splits: the questions that were answered in cubes.
        made: by what: encoder, solver, seed, versions; for the reader only.
        files: every file but the index, by name.
        version: of the format; it decides the words of the claim.
        least_delay: the delay below which there is no layout at all; 0 ticks if nothing rests on
            it.
    """

    text: str
    status: Status
    measures: tuple[str, ...]
    limits: Limits
    rules: Rules
    values: Mapping[str, int]
    boxes: tuple[tuple[BoxQuestion, str], ...]
    questions: tuple[Proven, ...]
    made: Mapping[str, Any]
    files: tuple[FileEntry, ...]
    splits: tuple[Split, ...] = ()
    version: int = VERSION
    least_delay: DelayBound = NO_BOUND

    def words_of(self, claim: Claim) -> str:
        """How a certificate of this version words a claim."""
        return claim.text() if self.version >= 3 else claim.text_with_sizes_only()

    def claim(self, spec: Spec) -> Claim:
        """The claim that the index makes of a specification."""
        return Claim(self.status, Problem(spec, self.measures, self.rules), self.values)

    def render(self) -> str:
        """The text of the index."""
        document: dict[str, Any] = {
            "format": FORMAT,
            "version": self.version,
            "claim": {
                "text": self.text,
                "status": str(self.status),
                "measures": list(self.measures),
                "limits": limits_entry(self.limits),
                "rules": rules_entry(self.rules),
                "values": dict(self.values),
            },
            "boxes": [{**need_entry(need), "shown_by": stem} for need, stem in self.boxes],
            "questions": [question.document() for question in self.questions],
            **self._later_entries(),
            "made": dict(self.made),
            "files": files_entry(self.files),
        }
        return sealed(document)

    def _later_entries(self) -> dict[str, Any]:
        """The entries that version 1 does not have."""
        entries: dict[str, Any] = {}
        if self.version >= 2:
            entries[_SPLITS] = [split.document() for split in self.splits]
        if self.version >= 3 and self.least_delay != NO_BOUND:
            ticks, reason = self.least_delay.ticks, self.least_delay.reason
            entries[_LEAST_DELAY] = {"ticks": ticks, "why": reason}
        return entries


def format_of(folder: Path) -> object:
    """What the index of a folder says its format is.

    Raises:
        InputError: if there is no index, or it is no JSON.
    """
    if not folder.is_dir():
        there = "is no folder" if folder.exists() else "no such folder"
        raise InputError(there, file=str(folder), way_out="name the folder of a certificate")
    if not (folder / INDEX).exists():
        raise InputError(
            f"no certificate: the folder has no {INDEX}",
            file=str(folder),
            way_out="name a folder that an option --certificate wrote",
        )
    try:
        document = parse_json(read_text(folder / INDEX))
    except InputError as error:
        raise error.in_file(str(folder / INDEX)) from None
    return document.get("format") if isinstance(document, Mapping) else None


def read_index(folder: Path) -> tuple[Index, bool]:
    """The index of a certificate, and whether it is as it was written.

    Raises:
        InputError: if there is none, or it cannot be understood.
    """
    return read_sealed(folder / INDEX, _read)


def _read(document: Mapping[str, Any]) -> Index:
    if document.get("format") != FORMAT:
        raise InputError(
            f"no certificate (format {fields.shown(document.get('format'))})",
            way_out="name a folder that 'gatefit solve --certificate' wrote",
        )
    if document.get("version") not in range(1, VERSION + 1):
        raise InputError(
            f"version {fields.shown(document.get('version'))} of the format",
            place="version",
            way_out=f"this gatefit reads versions up to {VERSION}",
        )
    needed = (*_KEYS, _SPLITS) if document["version"] >= 2 else _KEYS
    keys = (*needed, _LEAST_DELAY) if document["version"] >= 3 else needed
    fields.check_keys(document, keys, None, required=needed)
    claim = fields.table(document["claim"], "claim")
    fields.check_keys(claim, _CLAIM_KEYS, "claim", required=_CLAIM_KEYS)
    return Index(
        text=fields.line(claim["text"], "claim.text"),
        status=Status(
            fields.choice(claim["status"], tuple(map(str, STATUSES)), "claim.status", "status")
        ),
        measures=tuple(
            fields.choice(name, MEASURES, f"claim.measures[{number}]", "measure")
            for number, name in enumerate(fields.items(claim["measures"], "claim.measures"))
        ),
        limits=read_limits(fields.table(claim["limits"], "claim.limits")),
        rules=read_rules(fields.table(claim["rules"], "claim.rules")),
        values={
            fields.choice(name, MEASURES, "claim.values", "measure"): fields.whole(
                value, f"claim.values.{name}", low=0
            )
            for name, value in fields.table(claim["values"], "claim.values").items()
        },
        boxes=tuple(
            _read_box(fields.table(entry, f"boxes[{number}]"), f"boxes[{number}]")
            for number, entry in enumerate(fields.items(document["boxes"], "boxes"))
        ),
        questions=tuple(
            read_question(fields.table(entry, f"questions[{number}]"), f"questions[{number}]")
            for number, entry in enumerate(fields.items(document["questions"], "questions"))
        ),
        made=read_made(fields.table(document["made"], "made")),
        files=read_files(document["files"]),
        splits=tuple(
            read_split(fields.table(entry, f"{_SPLITS}[{number}]"), f"{_SPLITS}[{number}]")
            for number, entry in enumerate(fields.items(document.get(_SPLITS, []), _SPLITS))
        ),
        version=int(document["version"]),
        least_delay=_read_least_delay(document) if _LEAST_DELAY in document else NO_BOUND,
    )


def _read_box(entry: Mapping[str, Any], place: str) -> tuple[BoxQuestion, str]:
    keys = ("size", "delay", "parts", "shown_by")
    fields.check_keys(entry, keys, place, required=keys)
    return read_need(entry, place), fields.line(entry["shown_by"], f"{place}.shown_by")


def _read_least_delay(document: Mapping[str, Any]) -> DelayBound:
    entry = fields.table(document[_LEAST_DELAY], _LEAST_DELAY)
    fields.check_keys(entry, ("ticks", "why"), _LEAST_DELAY, required=("ticks", "why"))
    ticks = fields.whole(entry["ticks"], f"{_LEAST_DELAY}.ticks", low=1, high=MAX_DELAY)
    return DelayBound(ticks, fields.line(entry["why"], f"{_LEAST_DELAY}.why"))
