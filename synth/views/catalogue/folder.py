"""Writes a folder of files whole or not at all, and replaces only what it wrote itself.

One file, the marker, says what the folder is. It also holds a manifest: the name and the hash
(SHA-256, FIPS 180-4) of every file written. A file that is not in the manifest, or has changed
since, belongs to the user: the folder is then left alone, and the error names the file.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import shutil
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from synth import fields
from synth.errors import InputError, reason_of
from synth.printable import cleaned

KIND = "catalogue"
"""The kind of folder where the caller names none; its marker has the format ``gatefit-KIND``."""

MANIFEST = "sha256"
"""The key of the manifest in the marker."""


def write_folder(
    path: str | Path, files: Iterable[tuple[str, str | bytes]], *, marker: str, kind: str = KIND
) -> None:
    """Write all files into a new folder, which then takes the place of an older one.

    The new folder grows beside the old one under a hidden name, so that nobody sees half of
    it; if anything fails, the old one stays as it was and the new one is taken away.

    Args:
        path: the folder.
        files: relative path and content of each file, written as they come.
        marker: name of the file among them that says what the folder is: a JSON object of the
            format ``gatefit-KIND``, to which the manifest is added.
        kind: what the folder is, in a word.

    Raises:
        InputError: if ``path`` is a file, holds anything that an earlier call did not write or
            that was changed since, or cannot be written.
    """
    check_folder(path, marker=marker, kind=kind)
    target = Path(os.path.realpath(path))
    fresh = target.with_name(f".{target.name}.{secrets.token_hex(4)}.tmp")
    try:
        try:
            fresh.mkdir()
            note, written = b"{}", {}
            for name, content in files:
                data = content if isinstance(content, bytes) else content.encode("utf-8")
                if name == marker:
                    note = data
                else:
                    written[name] = _write(fresh / name, data)
            marked = _with_manifest(json.loads(note), written, marker)
            _write(fresh / marker, marked.encode("utf-8"))
            # Check once more: somebody may have put something there in the meantime.
            check_folder(path, marker=marker, kind=kind)
            _swap(fresh, target)
        finally:
            shutil.rmtree(fresh, ignore_errors=True)
    except OSError as error:
        raise InputError(f"cannot be written ({reason_of(error)})", file=str(path)) from None


def _write(file: Path, data: bytes) -> str:
    """Write a file and return its hash."""
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(data)
    return hashlib.sha256(data).hexdigest()


def _with_manifest(document: dict[str, Any], written: Mapping[str, str], marker: str) -> str:
    """The text of the marker: its document with the manifest added."""
    hashes = {**written, marker: _hash_of(document)}
    return json.dumps(document | {MANIFEST: hashes}, indent=1, ensure_ascii=False) + "\n"


def _hash_of(document: Mapping[str, Any]) -> str:
    """The hash of the marker's document without the manifest; formatting does not change it."""
    return hashlib.sha256(json.dumps(document, sort_keys=True).encode()).hexdigest()


def check_folder(path: str | Path, *, marker: str, kind: str = KIND) -> None:
    """Refuse early what ``write_folder`` would refuse.

    Raises:
        InputError: see ``write_folder``.
    """
    target = Path(os.path.realpath(path))
    try:
        if not target.exists():
            if not target.parent.is_dir():
                raise InputError(
                    "there is no folder to put it in",
                    file=str(path),
                    way_out=f"make {str(target.parent)!r} first",
                )
            if not os.access(target.parent, os.W_OK):
                raise InputError("its parent may not be written to", file=str(path))
            return
        if not target.is_dir():
            raise InputError("is a file", file=str(path), way_out=_way_out(kind))
        _check_ours(path, target, marker, kind)
    except (OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(f"cannot be read ({reason_of(error)})", file=str(path)) from None


def _way_out(kind: str) -> str:
    return f"name a new or empty folder, or that of an earlier {kind}"


def _check_ours(path: str | Path, target: Path, marker: str, kind: str) -> None:
    """Refuse a folder that holds anything but what an earlier call wrote."""
    if not any(target.iterdir()):
        return
    document = _read_marker(target / marker, kind)
    if document is None:
        raise InputError(f"holds files, and no {kind}", file=str(path), way_out=_way_out(kind))
    ours = document.pop(MANIFEST, None)
    if not isinstance(ours, dict):
        raise InputError(
            f"is a {kind} without a list of its files, as earlier versions of gatefit made them",
            file=str(path),
            way_out="remove the folder yourself if nothing in it is yours, or name another",
        )
    folders = {str(parent) for name in ours for parent in Path(name).parents}
    for name in _within(target):
        file = target / name
        if file.is_dir() and not file.is_symlink():
            known, same = name in folders, True
        elif name == marker:
            known, same = True, ours.get(name) == _hash_of(document)
        else:
            known, same = name in ours, ours.get(name) == _hash(file)
        if not known:
            raise _stray(path, name, f"is not part of the {kind}")
        if not same:
            raise _stray(path, name, f"was changed since the {kind} was made")


def _within(target: Path) -> Iterator[str]:
    """The name of everything in a folder, at any depth, in order; links are not followed."""
    for folder, folders, files in os.walk(target, followlinks=False):
        folders.sort()
        for name in sorted([*folders, *files]):
            yield Path(folder, name).relative_to(target).as_posix()


def _hash(file: Path) -> str:
    if file.is_symlink() or not file.is_file():
        return ""  # A link, or a pipe that a reader would wait for: not a file that we wrote.
    return hashlib.sha256(file.read_bytes()).hexdigest()


def _read_marker(file: Path, kind: str) -> dict[str, Any] | None:
    """The marker's document, if the folder has one of this kind; else None."""
    try:
        document = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(document, dict) or document.get("format") != f"gatefit-{kind}":
        return None
    return document


def _stray(path: str | Path, name: str, what: str) -> InputError:
    return InputError(
        f"holds {fields.shown(cleaned(name))}, which {what} and would be lost",
        file=str(path),
        way_out="move it out, or name another folder",
    )


def _swap(fresh: Path, target: Path) -> None:
    """Rename the old folder away and the new one into its place.

    If the second renaming fails, the old folder gets its name back.
    """
    if not target.exists():
        fresh.rename(target)
        return
    fresh.chmod(target.stat().st_mode & 0o7777)
    old = fresh.with_suffix(".old")
    target.rename(old)
    try:
        fresh.rename(target)
    except BaseException:
        old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)
