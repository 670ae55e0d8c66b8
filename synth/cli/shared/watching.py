"""A command that runs again whenever its layout's file is saved."""

from __future__ import annotations

import functools
import os
import sys
import time
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from synth.cli.shared.ending import BAD_INPUT, refuse, say
from synth.cli.shared.files import STANDARD_INPUT
from synth.errors import InputError
from synth.files import read_bytes

INTERVAL_S = 0.2
"""Seconds from one look at the file to the next."""

LOOKS_GONE = 5
"""After so many looks a file that is not there is gone, and not just being replaced."""

CLEAR = "\x1b[H\x1b[2J"
"""To the upper left corner, and erase the page (ECMA-48, 8.3.21 and 8.3.39, from memory)."""

_Seen = tuple[int, int, int, int] | None


def watchable(command: Callable[..., int]) -> Callable[..., int]:
    """Give a command that takes a LAYOUT the option ``--watch``.

    Its exit code is then that of its last run, once the keyboard ends it.
    """

    @click.option(
        "--watch",
        is_flag=True,
        help="Do it again whenever the file is saved, until Ctrl-C; the exit code is the last one.",
    )
    @functools.wraps(command)
    def run(*, watch: bool, layout: str, **given: Any) -> int:
        if not watch:
            return command(layout=layout, **given)
        return watched(layout, lambda: command(layout=layout, **given))

    return run


def watched(layout: str, run: Callable[[], int]) -> int:
    """Run now and after every save of the layout's file; the last exit code once Ctrl-C ends it.

    A file that cannot be used is said so, and watched on.

    Args:
        layout: the file.
        run: what to do with it; gives an exit code.

    Raises:
        InputError: if the layout is no file.
    """
    if layout == STANDARD_INPUT:
        raise InputError("standard input is never saved", place="--watch", way_out="name a file")
    code: int | None = None
    try:
        while True:
            seen = _seen(layout)
            if sys.stdout.isatty():
                click.echo(CLEAR, nl=False)
            try:
                code = run()
            except InputError as error:
                code = BAD_INPUT
                refuse(str(error))
            sys.stdout.flush()
            say(f"gatefit: watching {layout}; Ctrl-C ends")
            _wait_for_change(layout, seen)
    except KeyboardInterrupt:
        if code is None:
            raise
        say("")
        return code


def _wait_for_change(layout: str, seen: _Seen) -> None:
    """Wait until the file is another and stays so for a look: it may be saved in steps."""
    gone = 0
    before = seen
    while True:
        pause()
        now = _seen(layout)
        gone = gone + 1 if now is None else 0
        if now != seen and now == before and gone in (0, LOOKS_GONE):
            return
        before = now


def pause() -> None:
    """Time until the next look."""
    time.sleep(INTERVAL_S)


def _seen(layout: str) -> _Seen:
    """What changes when a file is saved: time, length, the file itself, and what it holds.

    What it holds as well, because two saves may come within one tick of the file system's clock.
    """
    try:
        found = os.stat(Path(layout))
        return (found.st_mtime_ns, found.st_size, found.st_ino, zlib.crc32(read_bytes(layout)))
    except (OSError, InputError):
        return None
