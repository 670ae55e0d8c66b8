"""How a command ends when something beside the input went wrong: a code of its own and one line.

Codes 0, 1 and 3 are answers, and a script reads them as such; so whatever is no answer has another.
Those below have the meaning of BSD's ``sysexits.h`` (from memory), the one for a reader gone is
what shells show of a process that the signal SIGPIPE ended (common practice, no source).
"""

from __future__ import annotations

import contextlib
import errno
import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import TextIO

from synth.errors import one_line, reason_of
from synth.versions import VERSION

BAD_INPUT = 2
"""The input cannot be used."""

BUG = 70
"""An internal software error (``EX_SOFTWARE``)."""

NO_MEANS = 71
"""The operating system has no more of what is needed: memory, processes (``EX_OSERR``)."""

NOT_WRITTEN = 74
"""Input or output failed: a full disk, a file that can no longer be written (``EX_IOERR``)."""

BROKEN_PIPE = 141
"""Whoever read standard output went away before all was written."""

_MEANS = (errno.EAGAIN, errno.ENOMEM, errno.EMFILE, errno.ENFILE)
_DISK = (
    *(errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EROFS),
    *(errno.EACCES, errno.EPERM, errno.ESTALE, errno.ENXIO, errno.EBADF),
)


def ending(error: Exception, arguments: Sequence[str]) -> tuple[int, str]:
    """Exit code and line for an exception that no command expects.

    Args:
        error: the exception.
        arguments: what stood after ``gatefit``, for the report.
    """
    if isinstance(error, MemoryError):
        return NO_MEANS, "stopped: this machine has no memory left"
    if isinstance(error, BrokenPipeError):
        return BROKEN_PIPE, "stopped: the reader of standard output is gone"
    if isinstance(error, OSError) and error.errno in (*_DISK, *_MEANS):
        where = f"{error.filename}: " if error.filename is not None else ""
        reason = f"{where}{reason_of(error).lower()}"
        if error.errno in _MEANS:
            return NO_MEANS, f"stopped: {reason}"
        # Whatever is opened has a name; what fails without one was open from the beginning.
        what = "cannot be read or written" if where else "the output cannot be written"
        return NOT_WRITTEN, f"{what}: {reason}"
    return BUG, _bug(error, arguments)


def _bug(error: Exception, arguments: Sequence[str]) -> str:
    """The line about a bug; all that is known of it goes into a file."""
    command = " ".join(map(repr, ["gatefit", *arguments]))
    details = (
        f"gatefit {VERSION}, Python {platform.python_version()}, {platform.platform()}\n"
        f"{command}\n\n{''.join(traceback.format_exception(error))}"
    )
    kept = keep(details, "gatefit-error", ".txt", folders=(_temporary_folder(), "."))
    where = f"the details are in {kept}" if kept else "the details could not be kept"
    what = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
    return f"this is a bug in gatefit, please report this: {_short(what)}; {where}"


def _short(text: str) -> str:
    return text if len(text) <= 120 else f"{text[:117]}..."


def keep(content: str | bytes, stem: str, suffix: str, folders: Sequence[str] = ()) -> Path | None:
    """Keep a text in a file of a name that is free, in the first folder that takes it.

    Args:
        content: the text, or what is no text.
        stem, suffix: the beginning and the end of the name.
        folders: where to try; by default here, then where temporary files go.

    Returns:
        The file, or None if no folder takes it.
    """
    data = content if isinstance(content, bytes) else content.encode("utf-8", "replace")
    for folder in folders or (".", _temporary_folder()):
        for name in (stem, *(f"{stem}-{number}" for number in range(2, 1000))):
            path = Path(folder, name + suffix)
            try:
                descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            except FileExistsError:
                continue
            except OSError:
                break
            try:
                with os.fdopen(descriptor, "wb") as stream:
                    stream.write(data)
                    stream.flush()
                    os.fsync(stream.fileno())
            except OSError:
                path.unlink(missing_ok=True)
                break
            return path
    return None


def _temporary_folder() -> str:
    try:
        return tempfile.gettempdir()
    except OSError:  # There is none that can be written to.
        return "."


def say(line: str) -> None:
    """Say one line on standard error; if nobody can read it there, nobody does."""
    with contextlib.suppress(OSError, ValueError):
        print(one_line(line), file=sys.stderr, flush=True)


def refuse(message: str) -> None:
    """Say what is wrong in one line; the text concerned follows, with a caret below it."""
    line, *excerpt = message.split("\n")
    say(f"gatefit: {line}")
    for below in excerpt:
        say(f"  {below}")


def _is_broken(stream: TextIO) -> bool:
    """Whether a stream holds something that it cannot get rid of."""
    try:
        stream.flush()
    except (OSError, ValueError):
        return True
    return False


def let_go(stream: TextIO) -> None:
    """Keep the interpreter from complaining, at its end, of a stream that cannot be written."""
    if _is_broken(stream):
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
