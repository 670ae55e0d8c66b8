"""Text files: read with one clear error, written whole or not at all.

Floor 1: imports ``synth.errors`` only.
"""

from __future__ import annotations

import errno
import os
import secrets
import stat
from pathlib import Path
from typing import IO

from synth.errors import InputError, OutputError, reason_of

MAX_BYTES = 24 * 1024 * 1024
"""The most bytes that are read from any document: one and a half times the largest layout that may
be read (200,000 parts, one on each line). JSON of that length takes well below 1 GB of memory."""


def read_text(path: str | Path, most_bytes: int = MAX_BYTES) -> str:
    """The text of a UTF-8 file (a byte order mark at its start is skipped).

    Raises:
        InputError: if the file is missing, is a directory, cannot be read, is longer than
            ``most_bytes`` or is not UTF-8.
    """
    try:
        return decoded(read_bytes(path, most_bytes))
    except InputError as error:
        raise error.in_file(str(path)) from None


def read_bytes(path: str | Path, most_bytes: int = MAX_BYTES) -> bytes:
    """The content of a file. Devices and pipes are read as well, up to the same limit.

    Raises:
        InputError: if the file is missing, is a directory, cannot be read or is longer than
            ``most_bytes``.
    """
    try:
        with Path(path).open("rb") as stream:
            return bounded(stream, most_bytes)
    except FileNotFoundError:
        raise InputError("no such file", file=str(path), way_out="check the path") from None
    except IsADirectoryError:
        raise InputError("is a directory", file=str(path), way_out="name a file in it") from None
    except InputError as error:
        raise error.in_file(str(path)) from None
    except (OSError, ValueError) as error:
        raise InputError(f"cannot be read ({reason_of(error)})", file=str(path)) from None


def bounded(stream: IO[bytes], most_bytes: int = MAX_BYTES) -> bytes:
    """Everything that a stream gives, if it is no more than ``most_bytes``.

    Raises:
        InputError: if it is more; the error names no file.
    """
    blocks = []
    left = most_bytes + 1
    while left > 0 and (block := stream.read(min(left, _BLOCK))):
        blocks.append(block)
        left -= len(block)
    if left <= 0:
        raise InputError(
            f"is longer than {most_bytes:,} bytes, the most that is read",
            way_out="check that it is the right file",
        )
    return b"".join(blocks)


def decoded(data: bytes) -> str:
    """The text that UTF-8 bytes stand for (a byte order mark at the start is skipped).

    Raises:
        InputError: if they are not UTF-8; the error names no file.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            f"is not UTF-8 text (byte {data[error.start]:#04x})",
            place=f"byte {error.start}",
            way_out="save the file as UTF-8",
        ) from None


_BLOCK = 1 << 20


def write_text(path: str | Path, text: str) -> None:
    """Write ``text`` as UTF-8, whole or not at all: nobody ever sees a half-written file.

    The text goes to a new file in the same folder, which then replaces the old one. Anything but a
    regular file (a pipe, a terminal) is written to directly.

    Raises:
        InputError: if the file cannot be written (an ``OutputError``, unless it is a directory);
            an older file of that name is untouched.
    """
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: str | Path, data: bytes) -> None:
    """``write_text`` for bytes.

    Raises:
        InputError: as ``write_text``.
    """
    try:
        # Follow links, so that the file that they lead to is replaced, and not the link.
        target = Path(os.path.realpath(path))
        if target.is_dir():
            raise InputError("is a directory", file=str(path), way_out="name a file in it")
        if not target.exists():
            _replace(target, data, mode=None)
            return
        if not os.access(target, os.W_OK):
            raise PermissionError(errno.EACCES, "it may not be written to")
        mode = target.stat().st_mode
        if stat.S_ISREG(mode):
            _replace(target, data, mode=stat.S_IMODE(mode))
        else:
            target.write_bytes(data)
    except (OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise OutputError(f"cannot be written ({reason_of(error)})", file=str(path)) from None


def _replace(target: Path, data: bytes, mode: int | None) -> None:
    """``mode`` is that of the file replaced; None leaves it to the user's mask."""
    fresh = target.with_name(f".{secrets.token_hex(8)}.tmp")
    # ``tempfile`` would make a file that is private to the user, and stays so after the rename.
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if mode is not None:
            os.chmod(fresh, mode)
        os.replace(fresh, target)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
