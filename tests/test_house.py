"""The house keeps its floors: who may import whom, and what no tracked file may hold.

The table is the one in DEVELOPERS.md. Imports inside functions and under ``TYPE_CHECKING`` count
like all others.
"""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "synth"

FOUNDATION = {"errors", "fields", "files", "medium", "medium_document"}
"""Floor 1: single modules."""

MAY_IMPORT: dict[str, set[str]] = {
    "errors": set(),
    "medium": set(),
    "fields": {"errors"},
    "files": {"errors"},
    "medium_document": {"errors", "fields", "files", "medium"},
    "layout": FOUNDATION,
    "spec": FOUNDATION,
    "simulator": FOUNDATION | {"layout", "spec"},
    "encoding": FOUNDATION | {"layout", "spec"},
    "search": FOUNDATION | {"layout", "spec", "simulator", "encoding"},
    "shrinking": FOUNDATION | {"layout", "spec", "simulator", "encoding", "search"},
    "library": FOUNDATION | {"layout", "spec", "simulator", "encoding", "search"},
    "views": FOUNDATION | {"layout", "spec", "simulator", "library"},
    # "": the version that a dump is stamped with.
    "exports": FOUNDATION | {"layout", "simulator", "views", ""},
    "cli": FOUNDATION
    | {"layout", "spec", "simulator", "encoding", "search", "library", "views", "exports", ""}
    | {"shrinking"},
    # The package itself is the door to all of it, and fetches names on first use.
    "": FOUNDATION
    | {"layout", "spec", "simulator", "encoding", "search", "shrinking", "library", "views"},
}
"""What each room may import of ours, besides itself; "" is ``synth/__init__.py``."""

ENTRANCES = {"__main__": {"cli"}}
"""Modules that only hand over to a room."""

MODULES = sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    """The dotted name of a module, without ``synth``; "" for the package itself."""
    parts = list(path.relative_to(PACKAGE).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room_of(module: str) -> str:
    return module.partition(".")[0]


def imports_of(path: Path) -> Iterator[str]:
    """Every module of ours that a module imports, by dotted name without ``synth``."""
    package = name_of(path) if path.name == "__init__.py" else name_of(path).rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            # `import synth` alone loads no room; what is then taken from it is seen below.
            names = [alias.name for alias in node.names if alias.name != "synth"]
        elif isinstance(node, ast.Attribute):
            whole = isinstance(node.value, ast.Name) and node.value.id == "synth"
            if not whole or node.attr.startswith("__"):
                continue
            names = [f"synth.{node.attr}" if is_room(node.attr) else "synth"]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = ["synth", *filter(None, package.split("."))]
                above = above[: len(above) - node.level + 1]
                base = ".".join([*above, *filter(None, [base])])
            # `from synth import fields` names a room, `from synth import Spec` the package.
            names = [
                f"{base}.{alias.name}" if base == "synth" and is_room(alias.name) else base
                for alias in node.names
            ]
        else:
            continue
        for name in names:
            if name == "synth" or name.startswith("synth."):
                yield name.removeprefix("synth").removeprefix(".")


def is_room(name: str) -> bool:
    return (PACKAGE / name).is_dir() or (PACKAGE / f"{name}.py").is_file()


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_run_downwards_only(path: Path) -> None:
    room = room_of(name_of(path))
    allowed = ENTRANCES.get(room) or MAY_IMPORT.get(room)
    assert allowed is not None, f"room {room!r} has no line in MAY_IMPORT and DEVELOPERS.md"
    for target in imports_of(path):
        assert room_of(target) == room or room_of(target) in allowed, (
            f"{path.relative_to(ROOT)} imports synth.{target}: {room or 'synth'} may import "
            f"{sorted(allowed)}"
        )


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


def test_every_room_is_on_a_floor_and_described() -> None:
    rooms = {room_of(name_of(path)) for path in MODULES} - set(ENTRANCES)
    assert rooms <= set(MAY_IMPORT)
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for room in rooms - {""}:
        assert re.search(rf"synth/{room}(\.py|/)", page), f"DEVELOPERS.md says nothing of {room}"


def test_the_walk_sees_every_form_of_import(tmp_path: Path) -> None:
    """The walk itself can fail: forms it missed would make the tests above empty."""
    module = PACKAGE / "views" / "text.py"
    seen = set(imports_of(module))
    assert {"layout", "layout.layout", "medium"} <= seen
    lazy = set(imports_of(PACKAGE / "layout" / "layout.py"))
    assert "layout.documents" in lazy
    assert "fields" in set(imports_of(PACKAGE / "layout" / "documents.py"))


def tracked_files() -> list[Path]:
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True, text=True
        )
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("not a git checkout")
    names = [name for name in listed.stdout.split("\0") if name]
    return [ROOT / name for name in names if (ROOT / name).is_file()]


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
