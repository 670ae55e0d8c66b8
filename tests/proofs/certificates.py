"""Certificates to take apart: made once a run, copied for each test, forged with skill."""

from __future__ import annotations

import gzip
import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import synth
from synth.proofs.certificate_index import INDEX, Index, read_index
from synth.proofs.index_entries import FileEntry
from synth.questions.outcome import Outcome

ASKED: dict[str, tuple[str, tuple[str, ...], dict[str, Any]]] = {
    "smallest": (
        "q = ~(a | b)",
        ("volume",),
        {"length": 3, "width": 2, "height": 3, "delay": 1, "stack": "y"},
    ),
    "impossible": (
        "q = ~(a | b)",
        ("volume",),
        {"length": 2, "width": 2, "height": 2, "delay": 1, "stack": "y"},
    ),
    "parts": ("q = ~a", ("parts", "delay"), {"length": 2, "width": 1, "height": 2, "delay": 2}),
}
"""Function, measures and limits of each certificate."""


def spec_of(name: str) -> synth.Spec:
    function, _, limits = ASKED[name]
    return synth.Spec.parse(function, **limits)


def make(name: str, folder: Path, **options: Any) -> Outcome:
    """Search, with a certificate in ``folder``."""
    return synth.solve(spec_of(name), minimize=ASKED[name][1], certificate=folder, **options)


@cache
def _original(name: str) -> Path:
    folder = Path(mkdtemp()) / name
    make(name, folder, workers=1)
    return folder


def copy_of(name: str, tmp_path: Path) -> Path:
    """A certificate of one's own."""
    folder = tmp_path / name
    shutil.copytree(_original(name), folder)
    return folder


def forge(folder: Path, change: Callable[[Index], Index] = lambda index: index) -> None:
    """Change the index, and make sizes, hashes and its seal right again: a careful forger."""
    index, _ = read_index(folder)
    present = {path.name for path in folder.iterdir()}
    files = tuple(
        FileEntry.of(folder / entry.name) for entry in index.files if entry.name in present
    )
    (folder / INDEX).write_text(change(replace(index, files=files)).render(), encoding="utf-8")


def unpack(path: Path) -> str:
    return gzip.decompress(path.read_bytes()).decode("utf-8")


def pack(path: Path, text: str) -> None:
    path.write_bytes(gzip.compress(text.encode("utf-8"), mtime=0))


def forged(folder: Path, change: Callable[[Index], Index]) -> list[str]:
    """What an audit says of an index changed with care."""
    forge(folder, change)
    report = synth.audit(folder, symmetry=False)
    assert not report.passes
    return [f"{problem.file}: {problem.text}" for problem in report.problems]
