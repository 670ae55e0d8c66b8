"""The audit of files: each file exists and is as it was written, and there is no other."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from synth.errors import reason_of
from synth.proofs.audit_bounds import MOST_BYTES
from synth.proofs.audit_report import Problem
from synth.proofs.certificate_index import INDEX, UNFINISHED
from synth.proofs.index_entries import FileEntry


def file_problems(folder: Path, files: Sequence[FileEntry], expected: set[str]) -> list[Problem]:
    """What is wrong with the files of a certificate.

    Args:
        folder: the certificate.
        files: the files that its index lists.
        expected: the names of the files that the entries of its index need.
    """
    found = []
    listed = {entry.name: entry for entry in files}
    if len(listed) != len(files):
        found.append(Problem(INDEX, "it lists a file twice"))
    present = {entry.name: entry for entry in folder.iterdir()}
    for name in sorted(expected - set(listed)):
        found.append(Problem(INDEX, f"it does not list {name}, which the claim needs"))
    for name in sorted(set(listed) - expected):
        found.append(Problem(INDEX, f"it lists {name}, which belongs to nothing in it"))
    for name in sorted(set(present) - set(listed) - {INDEX, UNFINISHED}):
        found.append(Problem(name, "it is not in the index"))
    for name, entry in listed.items():
        if name not in present:
            found.append(Problem(name, "it is missing"))
        elif not present[name].is_file():
            found.append(Problem(name, "it is no file"))
        elif (wrong := _altered(present[name], entry)) is not None:
            found.append(Problem(name, wrong))
    return found


def _altered(path: Path, entry: FileEntry) -> str | None:
    """How a file differs from its entry in the index; None if it does not."""
    try:
        if entry.size > MOST_BYTES:
            return f"it has more than {MOST_BYTES:,} bytes, the most of a file of a certificate"
        # Compare the size first: it costs nothing, while a hash has to read the whole file.
        if path.stat().st_size != entry.size or FileEntry.of(path) != entry:
            return "its size or hash is not the one in the index"
    except OSError as error:
        return f"it cannot be read: {reason_of(error)}"
    return None
