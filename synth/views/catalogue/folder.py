"""Writes a folder of files whole or not at all, and replaces only what it wrote itself."""

from __future__ import annotations

import json
import os
import secrets
import shutil
from collections.abc import Iterable
from pathlib import Path

from synth.errors import InputError

KIND = "catalogue"
"""What a folder is that says nothing else; its documents have the format ``gatefit-KIND``."""


def write_folder(
    path: str | Path, files: Iterable[tuple[str, str | bytes]], *, marker: str, kind: str = KIND
) -> None:
    """Write all files into a new folder, which then takes the place of an older one.

    The new folder grows beside the old one under a hidden name, so that nobody sees half of
    it; if anything fails, the old one stays as it was and the new one is taken away.

    Args:
        path: the folder.
        files: relative path and content of each file, written as they come.
        marker: name of the file that says what the folder is: a JSON object whose ``format``
            and ``contents`` (names at the top) tell an earlier folder of this kind.
        kind: what the folder is, in a word.

    Raises:
        InputError: if ``path`` is a file, holds anything that an earlier call did not write, or
            cannot be written.
    """
    check_folder(path, marker=marker, kind=kind)
    target = Path(os.path.realpath(path))
    fresh = target.with_name(f".{target.name}.{secrets.token_hex(4)}.tmp")
    try:
        try:
            fresh.mkdir()
            for name, text in files:
                file = fresh / name
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
            # Again: somebody may have put something there in the meantime.
            check_folder(path, marker=marker, kind=kind)
            _swap(fresh, target)
        finally:
            shutil.rmtree(fresh, ignore_errors=True)
    except OSError as error:
        raise InputError(f"cannot be written ({error.strerror or error})", file=str(path)) from None


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
        there = {child.name for child in target.iterdir()}
    except (OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"cannot be read ({reason})", file=str(path)) from None
    if there:
        _check_ours(path, target / marker, there, kind)


def _way_out(kind: str) -> str:
    return f"name a new or empty folder, or that of an earlier {kind}"


def _check_ours(path: str | Path, marker: Path, there: set[str], kind: str) -> None:
    try:
        document = json.loads(marker.read_text(encoding="utf-8"))
        ours = set(document["contents"]) if document["format"] == f"gatefit-{kind}" else set()
    except (OSError, ValueError, TypeError, KeyError):
        ours = set()
    if marker.name not in ours:
        raise InputError(f"holds files and is no {kind}", file=str(path), way_out=_way_out(kind))
    strays = sorted(there - ours)
    if strays:
        raise InputError(
            f"holds {strays[0]!r}, which is no part of the {kind} and would be lost",
            file=str(path),
            way_out="move it out, or name another folder",
        )


def _swap(fresh: Path, target: Path) -> None:
    """Rename the old folder away and the new one into its place; undo the first if need be."""
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
