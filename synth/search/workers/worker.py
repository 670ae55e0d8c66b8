"""A child process that answers one task after another.

The child encodes and solves, so that a time limit stops both and the parent stays free. It reads
pickled ``Task`` values from its standard input and writes pickled ``Reply`` values (or the
exception that a task raised), each behind its length. It ends when its input ends, and when its
parent is gone.
"""

from __future__ import annotations

import os
import pickle
import signal
import struct
import sys
from typing import IO, Any

from synth.search.workers.task import Reply, Task, answer

LENGTH = struct.Struct(">Q")


def send(stream: IO[bytes], value: Any) -> None:
    """Write one value to the other side."""
    data = pickle.dumps(value)
    stream.write(LENGTH.pack(len(data)) + data)
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """Read one value from the other side.

    Raises:
        EOFError: if the other side is gone, or sent no value: a kill cut it short, or something
            that does not belong there came in between. Whoever is there is not to be used again.
    """
    head = stream.read(LENGTH.size)
    if len(head) < LENGTH.size:
        raise EOFError("the other side is gone")
    (length,) = LENGTH.unpack(head)
    try:
        data = stream.read(length)
    except (OverflowError, MemoryError):
        raise EOFError("the other side sent no length of a value") from None
    if len(data) < length:
        raise EOFError("the other side went in the middle of a value")
    try:
        return pickle.loads(data)
    except Exception as error:  # What broken data raises is up to that data.
        raise EOFError(f"the other side sent no whole value ({error})") from error


def sendable(error: Exception) -> Exception:
    """An exception that arrives on the other side: itself, or one that says the same in words."""
    try:
        if isinstance(pickle.loads(pickle.dumps(error)), Exception):
            return error
    except Exception:
        pass
    return RuntimeError(f"{type(error).__name__}: {error}")


def _die_with_parent() -> None:
    """Ask the kernel, where it can (Linux), to end this process when its parent ends."""
    if not sys.platform.startswith("linux"):
        return
    import ctypes

    set_parent_death_signal = 1
    libc = ctypes.CDLL(None, use_errno=True)
    libc.prctl(set_parent_death_signal, signal.SIGKILL, 0, 0, 0)


def main() -> None:
    """Serve tasks until the input ends."""
    parent = os.getppid()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _die_with_parent()
    # The protocol owns the real standard output; whatever else prints goes to standard error.
    output = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    try:
        while True:
            task: Task = receive(sys.stdin.buffer)
            try:
                reply = answer(task, parent)
            except MemoryError:
                reply = Reply("undecided", reason="the memory of this machine ran out")
            except Exception as error:
                send(output, sendable(error))
                continue
            send(output, reply)
    except (EOFError, BrokenPipeError):
        return
