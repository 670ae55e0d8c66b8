"""The index of a census's certificate: what is claimed, every layout, every box with its proof.

Like that of other certificates (``synth.proofs.certificate_index``) its last entry is a hash of all
that stands before it, and its text is always laid out the same way. Since version 2 a box may be
shown by its cubes, each an entry of its own. Both versions are read and audited.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.medium import Rules, Size
from synth.medium_document import read_rules, rules_entry
from synth.proofs.certificate_index import INDEX
from synth.proofs.index_entries import (
    FileEntry,
    Proven,
    Split,
    files_entry,
    need_entry,
    read_files,
    read_limits,
    read_made,
    read_need,
    read_question,
    read_sealed,
    require_version,
    sealed,
)
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion, shown
from synth.questions.measures import MEASURES
from synth.spec import Limits, Spec
from synth.spec.classes import Columns

FORMAT = "gatefit-census-certificate"
VERSION = 2
"""The latest version that is read, and the one that is written."""

_KEYS = ("format", "version", "claim", "classes", "boxes", "made", "files", "sha256")
_CLAIM_KEYS = (
    *("text", "complete", "box", "measures", "limits", "rules", "sought", "every_input_matters"),
)
_CLASS_KEYS = ("table", "size", "delay", "parts", "layout")


@dataclass(frozen=True)
class ClassEntry:
    """A class of functions with its place, and the file of a layout there."""

    columns: Columns
    place: BoxQuestion
    file: str

    def document(self) -> dict[str, Any]:
        """Its entry in the index."""
        return {"table": shown(self.columns), **need_entry(self.place), "layout": self.file}


@dataclass(frozen=True)
class BoxEntry:
    """A box or cube that is complete: the evidence, and the classes that its formula forbids."""

    proven: Proven
    forbidden: tuple[Columns, ...]

    @property
    def stem(self) -> str:
        """The name of its files, without suffix."""
        return self.proven.stem

    def document(self) -> dict[str, Any]:
        """Its entry in the index."""
        entry = self.proven.document()
        del entry["answer"]
        return entry | {"forbidden": [shown(columns) for columns in self.forbidden]}


@dataclass(frozen=True)
class CensusIndex:
    """The index.

    Attributes:
        text: the claim in words.
        complete: whether every class that is counted has its place, or no layout.
        box, measures, rules, sought, every_input_matters: what was asked
            (``synth.questions.census``).
        limits: those in force.
        classes: the classes with a layout, in the order of their places.
        boxes: the boxes that are complete, in order, or the cubes of these.
        made: by what; for the reader only.
        files: every file but the index, by name.
        version: of the format.
    """

    text: str
    complete: bool
    box: Size | None
    measures: tuple[str, ...]
    limits: Limits
    rules: Rules
    sought: tuple[Columns, ...]
    every_input_matters: bool
    classes: tuple[ClassEntry, ...]
    boxes: tuple[BoxEntry, ...]
    made: Mapping[str, Any]
    files: tuple[FileEntry, ...]
    version: int = VERSION

    @property
    def splits(self) -> tuple[Split, ...]:
        """The boxes that were taken in cubes."""
        cubes: dict[tuple[BoxQuestion, str], list[str]] = {}
        for proven in (entry.proven for entry in self.boxes):
            if proven.cube is not None:
                cubes.setdefault((proven.question, proven.whole_stem), []).append(proven.stem)
        return tuple(Split(*whole, tuple(stems)) for whole, stems in cubes.items())

    def asked(self, spec: Spec) -> CensusQuestion:
        """What the census asked.

        Raises:
            InputError: if no census asks it.
        """
        return CensusQuestion.of(
            spec,
            box=self.box,
            measures=self.measures,
            rules=self.rules,
            sought=self.sought,
            every_input_matters=self.every_input_matters,
        )[0]

    def render(self) -> str:
        """The text of the index."""
        return sealed(
            {
                "format": FORMAT,
                "version": self.version,
                "claim": {
                    "text": self.text,
                    "complete": self.complete,
                    "box": None if self.box is None else list(self.box),
                    "measures": list(self.measures),
                    "limits": {name: getattr(self.limits, name) for name in _LIMITS},
                    "rules": rules_entry(self.rules),
                    "sought": [shown(columns) for columns in self.sought],
                    "every_input_matters": self.every_input_matters,
                },
                "classes": [entry.document() for entry in self.classes],
                "boxes": [entry.document() for entry in self.boxes],
                "made": dict(self.made),
                "files": files_entry(self.files),
            }
        )


_LIMITS = tuple(Limits.__dataclass_fields__)


def read_census_index(folder: Path) -> tuple[CensusIndex, bool]:
    """The index of a census's certificate, and whether it is as it was written.

    Raises:
        InputError: if there is none, or it cannot be understood.
    """
    return read_sealed(folder / INDEX, _read)


def _read(document: Mapping[str, Any]) -> CensusIndex:
    fields.check_keys(document, _KEYS, None, required=_KEYS)
    require_version(document, VERSION, first=1)
    version = int(document["version"])
    claim = fields.table(document["claim"], "claim")
    fields.check_keys(claim, _CLAIM_KEYS, "claim", required=_CLAIM_KEYS)
    return CensusIndex(
        text=fields.line(claim["text"], "claim.text"),
        complete=fields.flag(claim["complete"], "claim.complete"),
        box=None if claim["box"] is None else _read_box_size(claim["box"]),
        measures=tuple(
            fields.choice(name, MEASURES, f"claim.measures[{number}]", "measure")
            for number, name in enumerate(fields.items(claim["measures"], "claim.measures"))
        ),
        limits=read_limits(fields.table(claim["limits"], "claim.limits")),
        rules=read_rules(fields.table(claim["rules"], "claim.rules")),
        sought=_read_tables(claim["sought"], "claim.sought"),
        every_input_matters=fields.flag(claim["every_input_matters"], "claim.every_input_matters"),
        classes=tuple(
            _read_class(fields.table(entry, f"classes[{number}]"), f"classes[{number}]")
            for number, entry in enumerate(fields.items(document["classes"], "classes"))
        ),
        boxes=tuple(
            read_box(fields.table(entry, f"boxes[{number}]"), f"boxes[{number}]")
            for number, entry in enumerate(fields.items(document["boxes"], "boxes"))
        ),
        made=read_made(fields.table(document["made"], "made")),
        files=read_files(document["files"]),
        version=version,
    )


def _read_box_size(value: object) -> Size:
    entry = {"size": value, "delay": 0, "parts": None}
    return read_need(entry, "claim.box").size


def _read_tables(value: object, place: str) -> tuple[Columns, ...]:
    items = fields.items(value, place)
    return tuple(_read_table(item, f"{place}[{number}]") for number, item in enumerate(items))


def _read_table(value: object, place: str) -> Columns:
    columns = tuple(fields.line(value, place).split())
    if not columns or any(set(column) - set("01-") for column in columns):
        raise InputError(f"{fields.shown(value)} is no table", place=place, way_out="use 0, 1, -")
    return columns


def _read_class(entry: Mapping[str, Any], place: str) -> ClassEntry:
    fields.check_keys(entry, _CLASS_KEYS, place, required=_CLASS_KEYS)
    return ClassEntry(
        _read_table(entry["table"], f"{place}.table"),
        read_need(entry, place),
        fields.line(entry["layout"], f"{place}.layout"),
    )


def read_box(entry: Mapping[str, Any], place: str) -> BoxEntry:
    """The box of an entry of the index.

    Raises:
        InputError: if it cannot be understood.
    """
    proven = {key: value for key, value in entry.items() if key != "forbidden"}
    if "forbidden" not in entry:
        raise InputError("the key 'forbidden' is missing", place=place, way_out="add 'forbidden'")
    # Read as a question, whose answer is "no layout" of what is not forbidden.
    question = read_question(proven | {"answer": "no layout"}, place)
    return BoxEntry(question, _read_tables(entry["forbidden"], f"{place}.forbidden"))
