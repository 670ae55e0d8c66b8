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

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from dataclasses import fields as fields_of
from pathlib import Path
from typing import Any

from synth import fields, versions
from synth.bounds import NO_BOUND, DelayBound
from synth.errors import InputError
from synth.files import read_bytes, read_text
from synth.layout.documents import parse_json
from synth.medium import Rules, Size
from synth.medium_document import read_rules
from synth.proofs.evidence import OPTIONS, Evidence
from synth.questions.box import BoxQuestion
from synth.questions.cover import Claim
from synth.questions.cubes import Cube, read_cube
from synth.questions.measures import MEASURES
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.spec import Limits, Spec
from synth.spec.spec import MAX_DELAY, MAX_SIZE

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
_LIMITS = tuple(item.name for item in fields_of(Limits))
_LINK_DELAY = "link_delay"


@dataclass(frozen=True)
class Proven:
    """A question, or a cube of it, answered "no layout", and the evidence of that."""

    question: BoxQuestion
    evidence: Evidence
    cube: Cube | None = None

    @property
    def stem(self) -> str:
        """The name of its files, without suffix."""
        return self.evidence.stem

    @property
    def whole_stem(self) -> str:
        """The name of the whole question, from which those of its cubes are made."""
        return self.stem if self.cube is None else self.stem.removesuffix(self.cube.suffix)

    def document(self) -> dict[str, Any]:
        """Its entry in the index."""
        cube = {} if self.cube is None else {"cube": self.cube.document()}
        return {
            **need_entry(self.question),
            **cube,
            "answer": "no layout",
            "evidence": self.stem,
            "options": dict(self.evidence.options),
            "variables": self.evidence.variables,
            "clauses": self.evidence.clauses,
        }


@dataclass(frozen=True)
class Split:
    """A question that was answered in cubes.

    Attributes:
        question: the question.
        stem: its name; no file has it, but those of its cubes begin with it.
        cubes: the stems of its cubes, in order.
    """

    question: BoxQuestion
    stem: str
    cubes: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """Its entry in the index."""
        return {
            **need_entry(self.question),
            "name": self.stem,
            "cubes": list(self.cubes),
            "why": WHY_COVERED,
        }


WHY_COVERED = (
    "each place of the pin that the cubes hold, or a turn or mirror image of it that keeps what is "
    "asked, is the place of one of them"
)
"""Why the cubes of a split cover its question, for the reader; the audit works it out."""


LEAST_DELAY = "least delay"
"""What shows that there is no layout where fewer ticks are asked than every layout needs."""


@dataclass(frozen=True)
class FileEntry:
    """A file of the certificate: its size in bytes and its hash (SHA-256, FIPS 180-4)."""

    name: str
    size: int
    sha256: str

    @staticmethod
    def of(path: Path) -> FileEntry:
        """The entry of a file as it is now.

        Raises:
            OSError: if it cannot be read, or is a device or pipe, which may have no end.
        """
        if not path.is_file():
            raise OSError(f"{path.name} is no file")
        with path.open("rb") as stream:
            digest = hashlib.file_digest(stream, "sha256").hexdigest()
        return FileEntry(path.name, path.stat().st_size, digest)


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
                "limits": _limits_entry(self.limits),
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


def need_entry(need: BoxQuestion) -> dict[str, Any]:
    """A question as indices write it."""
    return {"size": list(need.size), "delay": need.delay, "parts": need.parts}


def sealed(document: dict[str, Any]) -> str:
    """The document as text, with the hash of its text without the hash as its last entry."""
    plain = json.dumps(document, indent=1, ensure_ascii=False)
    seal = hashlib.sha256(plain.encode("utf-8")).hexdigest()
    return json.dumps(document | {"sha256": seal}, indent=1, ensure_ascii=False) + "\n"


def format_of(folder: Path) -> object:
    """What the index of a folder says its format is.

    Raises:
        InputError: if there is no index, or it is no JSON.
    """
    if not folder.is_dir():
        there = "is no folder" if folder.exists() else "no such folder"
        raise InputError(there, file=str(folder), way_out="name the folder of a certificate")
    try:
        document = parse_json(read_text(folder / INDEX))
    except InputError as error:
        raise error.in_file(str(folder / INDEX)) from None
    return document.get("format") if isinstance(document, Mapping) else None


def require_version(document: Mapping[str, Any], latest: int, first: int | None = None) -> None:
    """Refuse the index of a version that is not read: any but the latest, or those since another.

    Raises:
        InputError: naming its version and those that are read.
    """
    first = latest if first is None else first
    if document.get("version") not in range(first, latest + 1):
        read = f"version {latest}" if first == latest else f"versions {first} to {latest}"
        raise InputError(
            f"version {fields.shown(document.get('version'))} of the format",
            place="version",
            way_out=f"this gatefit reads {read}",
        )


def rules_entry(rules: Rules) -> dict[str, Any]:
    """A rule table as indices write it."""
    return {"reach": rules.reach, "buffer_delays": list(rules.buffer_delays)}


def files_entry(files: Sequence[FileEntry]) -> list[dict[str, Any]]:
    """The files as indices write them."""
    return [{"name": entry.name, "size": entry.size, "sha256": entry.sha256} for entry in files]


def read_files(entries: object) -> tuple[FileEntry, ...]:
    """The files of an index.

    Raises:
        InputError: if they cannot be understood.
    """
    return tuple(
        read_file(fields.table(entry, f"files[{number}]"), f"files[{number}]")
        for number, entry in enumerate(fields.items(entries, "files"))
    )


def read_index(folder: Path) -> tuple[Index, bool]:
    """The index of a certificate, and whether it is as it was written.

    Raises:
        InputError: if there is none, or it cannot be understood.
    """
    path = folder / INDEX
    text = read_text(path)
    try:
        document = fields.table(parse_json(text), None)
        index = _read(document)
    except InputError as error:
        raise error.in_file(str(path)) from None
    # The bytes: a byte order mark, or other line ends, would not show in the text.
    unchanged = read_bytes(path) == index.render().encode("utf-8")
    return index, unchanged


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
            _read_split(fields.table(entry, f"{_SPLITS}[{number}]"), f"{_SPLITS}[{number}]")
            for number, entry in enumerate(fields.items(document.get(_SPLITS, []), _SPLITS))
        ),
        version=int(document["version"]),
        least_delay=_read_least_delay(document) if _LEAST_DELAY in document else NO_BOUND,
    )


def read_made(table: Mapping[str, Any]) -> Mapping[str, str | int]:
    """What is said of how it was made: words and numbers.

    Raises:
        InputError: if it cannot be understood; so do the readers below.
    """
    return {
        fields.line(key, "made"): fields.whole(value, f"made.{key}")
        if isinstance(value, int)
        else fields.line(value, f"made.{key}")
        for key, value in table.items()
    }


def _limits_entry(limits: Limits) -> dict[str, int | None]:
    """All limits, open ones too; that of a chain (version 4) where there is one."""
    entry: dict[str, int | None] = asdict(limits)
    if limits.link_delay is None:
        del entry[_LINK_DELAY]
    return entry


def read_limits(table: Mapping[str, Any]) -> Limits:
    """The limits of a claim."""
    required = [name for name in _LIMITS if name != _LINK_DELAY]
    fields.check_keys(table, _LIMITS, "claim.limits", required=required)
    limits = Limits(**table)
    for name in ("length", "width", "height", "delay"):
        if getattr(limits, name) is None:
            raise InputError(f"no {name}", place="claim.limits", way_out=f"give the {name}")
    return limits


def _read_box(entry: Mapping[str, Any], place: str) -> tuple[BoxQuestion, str]:
    keys = ("size", "delay", "parts", "shown_by")
    fields.check_keys(entry, keys, place, required=keys)
    return read_need(entry, place), fields.line(entry["shown_by"], f"{place}.shown_by")


def read_question(entry: Mapping[str, Any], place: str) -> Proven:
    """The question or cube of an entry of the index.

    Raises:
        InputError: if it cannot be understood.
    """
    keys = ("size", "delay", "parts", "answer", "evidence", "options", "variables", "clauses")
    fields.check_keys(entry, (*keys, "cube"), place, required=keys)
    fields.choice(entry["answer"], ("no layout",), f"{place}.answer", "answer")
    options = fields.table(entry["options"], f"{place}.options")
    fields.check_keys(options, tuple(OPTIONS), f"{place}.options")
    evidence = Evidence(
        stem=fields.line(entry["evidence"], f"{place}.evidence"),
        variables=fields.whole(entry["variables"], f"{place}.variables", low=0),
        clauses=fields.whole(entry["clauses"], f"{place}.clauses", low=0),
        options={
            name: fields.flag(value, f"{place}.options.{name}") for name, value in options.items()
        },
    )
    cube = read_cube(entry["cube"], f"{place}.cube") if "cube" in entry else None
    return Proven(read_need(entry, place), evidence, cube)


def _read_split(entry: Mapping[str, Any], place: str) -> Split:
    keys = ("size", "delay", "parts", "name", "cubes", "why")
    fields.check_keys(entry, keys, place, required=keys)
    cubes = fields.items(entry["cubes"], f"{place}.cubes")
    return Split(
        read_need(entry, place),
        fields.line(entry["name"], f"{place}.name"),
        tuple(fields.line(stem, f"{place}.cubes[{number}]") for number, stem in enumerate(cubes)),
    )


def _read_least_delay(document: Mapping[str, Any]) -> DelayBound:
    entry = fields.table(document[_LEAST_DELAY], _LEAST_DELAY)
    fields.check_keys(entry, ("ticks", "why"), _LEAST_DELAY, required=("ticks", "why"))
    ticks = fields.whole(entry["ticks"], f"{_LEAST_DELAY}.ticks", low=1, high=MAX_DELAY)
    return DelayBound(ticks, fields.line(entry["why"], f"{_LEAST_DELAY}.why"))


def read_need(entry: Mapping[str, Any], place: str) -> BoxQuestion:
    """The question that ``need_entry`` wrote."""
    sides = fields.items(entry["size"], f"{place}.size")
    if len(sides) != 3:
        raise InputError(f"{len(sides)} sides", place=f"{place}.size", way_out="give three")
    # Beyond what a specification may ask there is nothing that a claim could need.
    length, width, height = (
        fields.whole(side, f"{place}.size[{axis}]", low=1, high=MAX_SIZE)
        for axis, side in enumerate(sides)
    )
    size: Size = (length, width, height)
    parts = entry["parts"]
    if parts is not None:
        parts = fields.whole(parts, f"{place}.parts", low=0, high=MAX_SIZE**3)
    delay = fields.whole(entry["delay"], f"{place}.delay", low=0, high=MAX_DELAY)
    return BoxQuestion(size, delay, parts)


def read_file(entry: Mapping[str, Any], place: str) -> FileEntry:
    """A file and its hash."""
    keys = ("name", "size", "sha256")
    fields.check_keys(entry, keys, place, required=keys)
    name = fields.line(entry["name"], f"{place}.name")
    if Path(name).name != name:
        raise InputError(
            f"{fields.shown(name)} is no name of a file in the folder", place=f"{place}.name"
        )
    size = fields.whole(entry["size"], f"{place}.size", low=0)
    return FileEntry(name, size, fields.line(entry["sha256"], f"{place}.sha256"))


def encoder_version() -> str:
    """The version of the encoder: that of the package and a hash of the encoding's sources."""
    root = Path(__file__).resolve().parents[1]
    digest = hashlib.sha256()
    for path in [*sorted((root / "encoding").glob("*.py")), root / "medium.py"]:
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return f"gatefit {versions.VERSION}, encoding {digest.hexdigest()[:16]}"
