"""Which method reads which rule of the medium, gathered from docstrings.

A reading is a public function or method in ``synth/encoding/`` or ``synth/simulator/`` whose
docstring begins with the sections it reads and ends in a line such as ``Medium: 4 driven.`` or
``Medium: 2 supports; 8 ground.`` Folders inside the two rooms find or explain; they do not count.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from synth.medium_rules import MEDIUM_RULES

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("encoding", "simulator")
HEAD = ("| section | rule | encoding | simulator |", "| --- | --- | --- | --- |")

Sources = Mapping[str, str]
"""The text of each module of a room, by its name."""

PLAYS_NO_TRACES = "the encoding asks how layouts settle and plays no traces"
ONE_BOX = "a question is about one box and one T; `synth/questions/` puts them in order"

SILENT: Mapping[tuple[str, str], str] = {
    ("simulator", "2 one part"): "a layout gives each cell one block and cannot say more",
    ("simulator", "5 none held"): "the simulator judges and plays layouts with held buffers, too",
    ("simulator", "6 faces"): "`synth/layout/` refuses a layout with a pin anywhere else",
    ("encoding", "5 inverter in time"): PLAYS_NO_TRACES,
    ("encoding", "5 buffer in time"): PLAYS_NO_TRACES,
    ("encoding", "5 held in time"): PLAYS_NO_TRACES,
    ("encoding", "5 traces start"): PLAYS_NO_TRACES,
    ("encoding", "6 traces show"): PLAYS_NO_TRACES,
    ("encoding", "7 traces"): PLAYS_NO_TRACES,
    ("encoding", "9 volume and floor"): ONE_BOX,
    ("encoding", "9 delay"): ONE_BOX,
}
"""Why one side has nothing to say of a rule."""


@dataclass(frozen=True)
class Reading:
    """One method and the rules that its docstring names.

    Attributes:
        name: ``module.Class.method``.
        public: whether nothing in the name begins with an underscore.
        first: the first line of the docstring.
        rules: what stands behind ``Medium:``.
        last: whether that is the last line.
    """

    name: str
    public: bool
    first: str
    rules: tuple[str, ...]
    last: bool


def sources(room: str) -> dict[str, str]:
    """The modules of a room itself, without the folders in it."""
    paths = sorted((ROOT / "synth" / room).glob("*.py"))
    return {path.stem: path.read_text(encoding="utf-8") for path in paths}


def readings(modules: Sources) -> Iterator[Reading]:
    """Every function that names a rule, in the order of modules and lines."""
    for module, text in modules.items():
        yield from _readings(ast.parse(text), (module,))


def _readings(node: ast.AST, above: tuple[str, ...]) -> Iterator[Reading]:
    for child in ast.iter_child_nodes(node):
        if not isinstance(child, ast.ClassDef | ast.FunctionDef):
            continue
        name = (*above, child.name)
        doc = (ast.get_docstring(child) or "").splitlines()
        named = [line for line in doc if line.startswith("Medium:")]
        if isinstance(child, ast.FunctionDef) and named:
            rules = named[-1].removeprefix("Medium:").strip().removesuffix(".").split("; ")
            public = not any(part.startswith("_") for part in name)
            last = len(named) == 1 and doc[-1] == named[0] and named[0].endswith(".")
            yield Reading(".".join(name), public, doc[0], tuple(rules), last)
        yield from _readings(child, name)


def sections_named(line: str) -> set[str]:
    """The sections that a first line names: ``Sections 2 and 8: a wire ...``."""
    found = re.match(r"Sections? (\d+(?:(?:, | and )\d+)*): ", line)
    return set(re.findall(r"\d+", found[1])) if found else set()


def faults(rooms: Mapping[str, Sequence[Reading]]) -> list[str]:
    """Everything that is wrong with the readings of both rooms; nothing if all is well."""
    found = []
    for room, read in rooms.items():
        for one in read:
            where = f"{room}: {one.name}"
            found += [f"{where}: no rule {rule!r}" for rule in set(one.rules) - set(MEDIUM_RULES)]
            if not one.public:
                found.append(f"{where}: is not public")
            if not one.last:
                found.append(f"{where}: the rules are not its one last line")
            sections = {rule.split()[0] for rule in one.rules}
            if sections != sections_named(one.first):
                found.append(f"{where}: its first line does not name its sections: {one.first}")
        known = {rule for one in read for rule in one.rules}
        for rule in MEDIUM_RULES:
            silent = (room, rule) in SILENT
            if rule not in known and not silent:
                found.append(f"{room}: nobody reads {rule!r}")
            if rule in known and silent:
                found.append(f"{room}: {rule!r} is read, and said not to be")
    return found


def table(rooms: Mapping[str, Sequence[Reading]]) -> str:
    """The table of DEVELOPERS.md."""
    columns: dict[str, dict[str, list[str]]] = {room: {} for room in rooms}
    for room, read in rooms.items():
        for one in read:
            for rule in one.rules:
                columns[room].setdefault(rule, []).append(f"`{one.name}`")
    lines, before = [*HEAD], ""
    for rule in MEDIUM_RULES:
        number, name = rule.split(" ", 1)
        cells = [
            ", ".join(columns[room].get(rule, ())) or f"nothing: {SILENT.get((room, rule), '')}"
            for room in rooms
        ]
        heading = "" if number == before else f"{number}. {headings()[number]}"
        lines.append(f"| {heading} | {name} | {' | '.join(cells)} |")
        before = number
    return "\n".join(lines) + "\n"


def headings() -> dict[str, str]:
    """The headings of ``medium.md`` by number."""
    return {number: heading for number, (heading, _) in sections().items()}


def sections() -> dict[str, tuple[str, str]]:
    """Heading and text of each section of ``medium.md``, without marks and line ends."""
    page = (ROOT / "synth" / "medium.md").read_text(encoding="utf-8")
    found = re.findall(r"(?ms)^## (\d+)\. ([^\n]*)\n(.*?)(?=^## |\Z)", page)
    return {
        number: (heading, " ".join(re.sub("[*`]", "", text).split()))
        for number, heading, text in found
    }
