"""Which build is asking about which boxes, so that two builds on one store ask nothing twice.

A build holds the boxes of a question (``Canonical.box_key``) while one of its jobs asks about them,
and lets them go when the job ends. If the build dies, others notice: on the same machine at once,
because the process no longer exists or the machine was restarted; elsewhere when the time has run
out until which it had announced to hold them (``LEASE_S``). A live build keeps renewing that time.

If all this fails, a question is asked twice. That costs time and does no other harm.
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
from synth.machine import process_fields

LEASE_S = 120.0
"""Seconds for which boxes are held unless renewed; longer than a process waits for a store."""

RENEW_S = LEASE_S / 4
"""Seconds after which a build renews that it holds them."""


@dataclass(frozen=True, slots=True)
class Holder:
    """A process that builds.

    Attributes:
        name: a name that no other build ever has.
        host: a name for the machine.
        boot: a name for the machine's run since it was started; "" where that is not known.
        space: a name for the group of processes that share process numbers (a container, for
            example); "" where there is only one.
        process: the process number.
        started: when the process was started, as the kernel counts; "" where that is not known.
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
        """Whether the process is known to have ended; False if that cannot be known from here."""
        if self.host != _host():
            return False
        if self.boot != _boot():
            return bool(self.boot and _boot())
        if self.space != _space():
            return False
        return not _lives(self.process) or _started(self.process) != self.started


class Holding(StoreFile):
    """The part of a store that keeps which builds hold which boxes."""

    def hold(self, box_key: str, holder: Holder) -> bool:
        """Hold boxes for a build, unless another live build holds them; returns whether it does."""
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
        """Renew everything that a build holds."""
        with self.writing():
            self.connection.execute(
                "UPDATE held SET until = ? WHERE holder = ?", (time.time() + LEASE_S, holder.name)
            )

    def let_go(self, holder: Holder, box_key: str | None = None) -> None:
        """Let boxes go; None lets go of everything that the build holds."""
        with self.writing():
            self.connection.execute(
                "DELETE FROM held WHERE holder = ? AND (box_key = ? OR ? IS NULL)",
                (holder.name, box_key, box_key),
            )


def _is_time(until: object, now: float) -> bool:
    """Whether a time until which boxes are held lies in the future, and not too far.

    Boxes must not stay held for years because a clock was set back.
    """
    return isinstance(until, int | float) and now < until <= now + 2 * LEASE_S


def _read(path: str) -> str:
    with contextlib.suppress(OSError, UnicodeDecodeError):
        return Path(path).read_text(encoding="utf-8").strip()
    return ""


def _host() -> str:
    # Machines in a network may share a name; the machine id that systemd writes at installation is
    # unique. It should not be published (machine-id(5)), and a store may be sent to others: so only
    # a hash of it is stored.
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
    """When a process was started, in kernel ticks since the machine started.

    Process numbers are reused, but not together with this time. Source: proc(5), field 22 of
    ``stat``.
    """
    # "Z" and "X" mark processes that have ended but are still listed.
    after = process_fields(process)
    return after[19] if len(after) > 19 and after[0] not in ("Z", "X") else ""
