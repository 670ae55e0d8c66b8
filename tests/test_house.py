"""The house keeps its floors: who imports whom, and what no tracked file may hold.

The room table in DEVELOPERS.md is what counts. Imports inside functions and under
``TYPE_CHECKING`` count
like all others.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "synth"


def table() -> dict[str, tuple[int, set[str]]]:
    """The room table of DEVELOPERS.md: each room with its floor and what it imports.

    Rooms by dotted name without ``synth``, "" for the package itself.
    """
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    found = {}
    for line in re.findall(r"(?m)^\| \d+ \|.*\|$", page):
        floor, rooms, _, imports = (cell.strip() for cell in line.strip("|").split("|"))
        for path in re.findall(r"`synth/([^`]*)`", rooms):
            name = path.removesuffix("/").removesuffix(".py").replace("/", ".")
            named = {word.strip() for word in imports.split(",") if word.strip()}
            found["" if name == "__init__" else name] = (int(floor), named)
    return found


TABLE = table()
FOUNDATION = {room for room, (floor, _) in TABLE.items() if floor == 1}
"""Floor 1: single modules."""

ENTRANCES = {"__main__", "alias"}
"""Modules that only hand over to a room; the alias is the package under its other name."""

MODULES = sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    """The dotted name of a module, without ``synth``; "" for the package itself."""
    parts = list(path.relative_to(PACKAGE).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room_of(module: str) -> str:
    """The room of a module: the innermost folder around it, or itself, that has a line."""
    parts = module.split(".")
    for length in range(len(parts), 0, -1):
        room = ".".join(parts[:length])
        if room in TABLE:
            return room
    return parts[0]


@cache
def imports_of(path: Path) -> tuple[str, ...]:
    """Every module of ours that a module imports, by dotted name without ``synth``."""
    return tuple(_imports_in(path))


def _imports_in(path: Path) -> Iterator[str]:
    package = name_of(path) if path.name == "__init__.py" else name_of(path).rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            # `import synth` alone loads no room; what is then taken from it is seen below.
            names = [alias.name for alias in node.names if alias.name != "synth"]
        elif isinstance(node, ast.Attribute):
            whole = isinstance(node.value, ast.Name) and node.value.id == "synth"
            if not whole or node.attr.startswith("__"):
                continue
            whole_name = f"synth.{node.attr}"
            names = [whole_name if is_module(whole_name) else "synth"]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = ["synth", *filter(None, package.split("."))]
                above = above[: len(above) - node.level + 1]
                base = ".".join([*above, *filter(None, [base])])
            # `from synth.encoding import causes` names a module, `from synth import Spec` what the
            # package holds.
            names = [
                f"{base}.{alias.name}" if is_module(f"{base}.{alias.name}") else base
                for alias in node.names
            ]
        else:
            continue
        for name in names:
            if name == "synth" or name.startswith("synth."):
                yield name.removeprefix("synth").removeprefix(".")


@cache
def is_module(name: str) -> bool:
    """Whether a dotted name, beginning with ``synth``, is a folder or a file of the package."""
    path = PACKAGE.parent.joinpath(*name.split("."))
    return name.startswith("synth") and (path.is_dir() or path.with_suffix(".py").is_file())


def drawing() -> nx.DiGraph[str]:
    """Every module, with an arrow to each module of ours that it imports."""
    paths = {name_of(path): path for path in MODULES}
    found: nx.DiGraph[str] = nx.DiGraph()
    found.add_nodes_from(paths)
    for name, path in paths.items():
        found.add_edges_from((name, other) for other in imports_of(path) if other in paths)
    found.remove_edges_from(nx.selfloop_edges(found))
    # The package fetches names lazily: whoever imports one imports the module it lives in.
    found.remove_node("")
    return found


def test_no_import_goes_in_a_circle() -> None:
    circles = [" -> ".join([*circle, circle[0]]) for circle in nx.simple_cycles(drawing())]
    assert not circles, "\n".join(circles)


def test_rooms_import_each_other_in_no_circle() -> None:
    rooms: nx.DiGraph[str] = nx.DiGraph()
    rooms.add_edges_from((room_of(a), room_of(b)) for a, b in drawing().edges)
    rooms.remove_edges_from(nx.selfloop_edges(rooms))
    circles = list(nx.simple_cycles(rooms))
    assert not circles, circles


def test_nobody_inside_imports_the_package_itself() -> None:
    """Its names come from above: a version, for one, is in ``synth/versions.py``."""
    outside = {"", *ENTRANCES}
    inside = [path for path in MODULES if "" in imports_of(path) and name_of(path) not in outside]
    assert not inside


@pytest.mark.parametrize("room", TABLE)
def test_a_room_imports_what_its_row_says(room: str) -> None:
    """No more, and no less: the table is the map that counts."""
    drawn: dict[str, list[str]] = {}
    for path in MODULES:
        for target in imports_of(path) if room_of(name_of(path)) == room else ():
            other = room_of(target)
            if target and other != room and name_of(path) not in ENTRANCES:
                named = "floor 1" if other in FOUNDATION else other
                drawn.setdefault(named, []).append(f"{path.relative_to(ROOT)}: synth.{target}")
    said = TABLE[room][1]
    surplus = [line for other in drawn.keys() - said for line in drawn[other]]
    assert not surplus, f"imports that the row of {room!r} does not name:\n" + "\n".join(surplus)
    assert not said - drawn.keys(), f"the row of {room!r} names what it does not import"


def test_imports_run_downwards_only() -> None:
    for room, (floor, named) in TABLE.items():
        for other in named - {"floor 1"}:
            lower = TABLE[other][0]
            within = room.startswith(f"{other}.") and lower == floor
            assert lower < floor or within, f"{room} on floor {floor} imports {other} on {lower}"


def reached_from(room: str) -> set[str]:
    """Every module of ours that a room rests on, through however many imports."""
    paths = {name_of(path): path for path in MODULES}
    reached: set[str] = set()
    ahead = [name for name in paths if room_of(name) == room]
    while ahead:
        module = ahead.pop()
        if module in reached:
            continue
        reached.add(module)
        # The package's own lazy table is no import of whoever imports a name from it.
        ahead += [name for name in imports_of(paths[module]) if name and name in paths]
    return reached


def test_simulator_and_encoding_share_no_reading_of_the_rules() -> None:
    """What both rest on says what there is; nothing in it says how that behaves."""
    simulator, encoding = reached_from("simulator"), reached_from("encoding")
    assert not {name for name in simulator if room_of(name) == "encoding"}
    assert not {name for name in encoding if room_of(name) == "simulator"}
    shared = {room_of(name) for name in simulator & encoding}
    assert shared <= FOUNDATION | {"layout", "spec"}


def test_every_module_is_in_a_room_of_the_table() -> None:
    rooms = {room_of(name_of(path)) for path in MODULES} - set(ENTRANCES)
    assert rooms == set(TABLE)


def test_the_walk_sees_every_form_of_import(tmp_path: Path) -> None:
    """The walk itself can fail: forms it missed would make the tests above empty."""
    module = PACKAGE / "views" / "text" / "layers.py"
    seen = set(imports_of(module))
    assert {"layout", "layout.pins", "medium"} <= seen
    lazy = set(imports_of(PACKAGE / "cli" / "solve.py"))
    assert {"search", "spec.sources"} <= lazy
    assert "fields" in set(imports_of(PACKAGE / "layout" / "documents.py"))
    assert "encoding.causes" in set(imports_of(PACKAGE / "encoding" / "possibly.py"))


LOADED = """
import sys
import synth.proofs.audit
print("\\n".join(sorted(sys.modules)))
"""


def test_the_audit_loads_neither_a_solver_nor_the_search() -> None:
    """In a fresh interpreter: who made a certificate has no say in its audit."""
    command = [sys.executable, "-c", LOADED]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, check=True, text=True)
    loaded = run.stdout.split()
    assert "synth.proofs.audit" in loaded
    # Of python-sat the cardinality encodings write formulas; the solvers stay out.
    found = [
        name for name in loaded if re.match(r"pysat(\.solvers|$)|pysolvers|synth\.search", name)
    ]
    assert not found


def tracked_files() -> list[Path]:
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True, text=True
        )
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("not a git checkout")
    names = [name for name in listed.stdout.split("\0") if name]
    return [ROOT / name for name in names if (ROOT / name).is_file()]


TOP = {
    *(".ci", ".gitignore", "CHANGELOG.md", "DEVELOPERS.md", "LICENSE", "README.md"),
    *("benchmarks", "docs", "pyproject.toml", "synth", "targets", "tests"),
}
"""All that lies at the top of the project."""


def test_nothing_else_lies_at_the_top() -> None:
    """A command that keeps an answer it could not write leaves it where it was run."""
    assert {path.relative_to(ROOT).parts[0] for path in tracked_files()} <= TOP


MACHINE_PATH = re.compile(r"(?<![\w.~$}-])/(?:wor[k]|roo[t]|tm[p]|hom[e]|far[m])(?:/|\b)")
"""An absolute path of the machine somebody happened to work on."""


def test_no_tracked_file_names_a_path_of_a_machine() -> None:
    found = []
    for path in tracked_files():
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        for number, line in enumerate(text.split("\n"), 1):
            if MACHINE_PATH.search(line):
                found.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()}")
    assert not found, "\n".join(found)


def test_a_path_of_a_machine_is_seen() -> None:
    for line in ("see /" + "work/x", "'/" + "tmp/a'", "cd /" + "root"):
        assert MACHINE_PATH.search(line)
    for line in ("a/work" + "/b", "synth/home" + "/x", "https://host/" + "root"):
        assert not MACHINE_PATH.search(line)
