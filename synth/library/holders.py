"""Who is asking about which boxes just now, so that two builds on one store ask nothing twice.

A build holds the boxes of a question (``Canonical.box_key``) while a job of it asks about them. It
lets go when the job ends; if it dies, others see that: at once on its own machine, where there is
no such process any more or the machine was started anew, and elsewhere when the time is up that it
said it would hold them until (``LEASE_S``). A live build says so anew again and again.

If all else fails a question is asked twice: nothing wrong comes of that, only time is lost.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import socket
import time
import uuid
from dataclasses import dataclass
from pathlib import Path

from synth.library.file import StoreFile

LEASE_S = 120.0
"""Seconds that boxes are held for without another word; more than a store may be waited for."""

RENEW_S = LEASE_S / 4
"""Seconds after which a build says anew that it holds them."""


@dataclass(frozen=True, slots=True)
class Holder:
    """A process that builds.

    Attributes:
        name: names the build, and no other ever.
        host: names the machine.
        boot: names the machine's run, from one start to the next; "" where that is not told.
        space: names the group of processes whose numbers mean the same; "" where there is one.
        process: its number.
        started: when it was started, as the kernel counts; "" where that is not told.
    """

    name: str
    host: str
    boot: str
    space: str
    process: int
    started: str

    @staticmethod
    def this() -> Holder:
        """This process, as a new build."""
        process = os.getpid()
        return Holder(uuid.uuid4().hex, _host(), _boot(), _space(), process, _started(process))

    def is_gone(self) -> bool:
        """Whether the process is known to have ended; False if it cannot be told from here."""
        if self.host != _host():
            return False
        if self.boot != _boot():
            return bool(self.boot and _boot())
        if self.space != _space():
            return False
        return not _lives(self.process) or _started(self.process) != self.started


class Holding(StoreFile):
    """Boxes that builds hold."""

    def hold(self, box_key: str, holder: Holder) -> bool:
        """Hold boxes for a build, unless another one that lives holds them; whether it does."""
        now = time.time()
        with self.writing():
            rows = self.select(
                "SELECT holder, host, boot, space, process, started, until FROM held"
                " WHERE box_key = ?",
                (box_key,),
            )
            if rows:
                *values, until = rows[0]
                other = Holder(*values)
                mine = other.name == holder.name
                if not mine and _is_time(until, now) and not other.is_gone():
                    return False
            self.connection.execute(
                "INSERT OR REPLACE INTO held VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    box_key,
                    holder.name,
                    holder.host,
                    holder.boot,
                    holder.space,
                    holder.process,
                    holder.started,
                    now + LEASE_S,
                ),
            )
        return True

    def hold_on(self, holder: Holder) -> None:
        """Say anew that a build lives and holds what it holds."""
        with self.writing():
            self.connection.execute(
                "UPDATE held SET until = ? WHERE holder = ?", (time.time() + LEASE_S, holder.name)
            )

    def let_go(self, holder: Holder, box_key: str | None = None) -> None:
        """Hold boxes no longer; None: all that a build holds."""
        with self.writing():
            self.connection.execute(
                "DELETE FROM held WHERE holder = ? AND (box_key = ? OR ? IS NULL)",
                (holder.name, box_key, box_key),
            )


def _is_time(until: object, now: float) -> bool:
    """Whether a time up to which boxes are held is still to come, and can be meant: a clock that
    was put back must not hold them for years.
    """
    return isinstance(until, int | float) and now < until <= now + 2 * LEASE_S


def _read(path: str) -> str:
    with contextlib.suppress(OSError, UnicodeDecodeError):
        return Path(path).read_text(encoding="utf-8").strip()
    return ""


def _host() -> str:
    # Machines in a network may share a name; what systemd writes at installation is apart. It is
    # not to be told (machine-id(5)), and a store may be sent to others: so only a hash is kept.
    name = f"gatefit {socket.gethostname()} {_read('/etc/machine-id')}"
    return hashlib.sha256(name.encode(errors="replace")).hexdigest()[:16]


def _boot() -> str:
    return _read("/proc/sys/kernel/random/boot_id")


def _space() -> str:
    """Containers on one machine each count their processes from 1."""
    with contextlib.suppress(OSError):
        return os.readlink("/proc/self/ns/pid")
    return ""


def _lives(process: int) -> bool:
    try:
        # Signal 0 asks only whether the process is there (POSIX.1-2017, kill).
        os.kill(process, 0)
    except PermissionError:
        return True
    except (OSError, OverflowError, TypeError):
        return False
    return True


def _started(process: int) -> str:
    """When a process was started, in ticks of the kernel since the machine was (proc(5), field
    22 of ``stat``); numbers of processes are given again, this is not.
    """
    # The name, in brackets, may hold anything; what follows it is plain: first the state. "Z" and
    # "X" are of processes that have ended and are not yet forgotten.
    after = _read(f"/proc/{process}/stat").rpartition(")")[2].split()
    return after[19] if len(after) > 19 and after[0] not in ("Z", "X") else ""
