"""The entries of which the indices of all certificates are made: written, and read back checked.

Questions that were answered "no layout", those answered in cubes, files with size and hash, limits,
rules, and how it was made; the hash of an index; the version of the encoder.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from dataclasses import fields as fields_of
from pathlib import Path
from typing import Any, Protocol, TypeVar

from synth import fields, versions
from synth.errors import InputError
from synth.files import read_bytes, read_text
from synth.layout.documents import parse_json
from synth.medium import Size
from synth.proofs.evidence import OPTIONS, Evidence
from synth.questions.box import BoxQuestion
from synth.questions.cubes import Cube, read_cube
from synth.spec import Limits
from synth.spec.spec import MAX_DELAY, MAX_SIZE

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


def need_entry(need: BoxQuestion) -> dict[str, Any]:
    """A question as indices write it."""
    return {"size": list(need.size), "delay": need.delay, "parts": need.parts}


class _Renders(Protocol):
    """An index that can be written."""

    def render(self) -> str:
        """The text of the index."""


Rendered = TypeVar("Rendered", bound=_Renders)


def sealed(document: dict[str, Any]) -> str:
    """The document as text, with the hash of its text without the hash as its last entry."""
    plain = json.dumps(document, indent=1, ensure_ascii=False)
    seal = hashlib.sha256(plain.encode("utf-8")).hexdigest()
    return json.dumps(document | {"sha256": seal}, indent=1, ensure_ascii=False) + "\n"


def read_sealed(path: Path, read: Callable[[Mapping[str, Any]], Rendered]) -> tuple[Rendered, bool]:
    """An index as ``read`` takes it from its document, and whether it is as it was written.

    Raises:
        InputError: if there is none, or it cannot be understood.
    """
    text = read_text(path)
    try:
        index = read(fields.table(parse_json(text), None))
    except InputError as error:
        raise error.in_file(str(path)) from None
    # The bytes: a byte order mark, or other line ends, would not show in the text.
    return index, read_bytes(path) == index.render().encode("utf-8")


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


def limits_entry(limits: Limits) -> dict[str, int | None]:
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


def read_split(entry: Mapping[str, Any], place: str) -> Split:
    keys = ("size", "delay", "parts", "name", "cubes", "why")
    fields.check_keys(entry, keys, place, required=keys)
    cubes = fields.items(entry["cubes"], f"{place}.cubes")
    return Split(
        read_need(entry, place),
        fields.line(entry["name"], f"{place}.name"),
        tuple(fields.line(stem, f"{place}.cubes[{number}]") for number, stem in enumerate(cubes)),
    )


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
