"""Child processes that exchange values with their parent: how they begin, talk and end.

Values go through standard input and output, pickled, each after its length. A child ends when its
input ends, and when its parent has ended.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import struct
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO, Any

from synth.machine import look_for_garbage_seldom

LENGTH = struct.Struct(">Q")


def send(stream: IO[bytes], value: Any) -> None:
    """Write one value to the other side."""
    data = pickle.dumps(value)
    stream.write(LENGTH.pack(len(data)) + data)
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """Read one value from the other side.

    Raises:
        EOFError: if the other side has ended, or sent no value: a kill cut it short, or other text
            came in between. That process must not be used again.
    """
    head = stream.read(LENGTH.size)
    if len(head) < LENGTH.size:
        raise EOFError("the other side is gone")
    (length,) = LENGTH.unpack(head)
    try:
        data = stream.read(length)
    except (OverflowError, MemoryError):
        raise EOFError("the other side sent a value without its length") from None
    if len(data) < length:
        raise EOFError("the other side ended in the middle of a value")
    try:
        return pickle.loads(data)
    except Exception as error:  # Broken data can raise anything.
        raise EOFError(f"the other side sent a broken value ({error})") from error


def sendable(error: Exception) -> Exception:
    """An exception that can be sent: the exception itself, or one with the same message."""
    try:
        if isinstance(pickle.loads(pickle.dumps(error)), Exception):
            return error
    except Exception:
        pass
    return RuntimeError(f"{type(error).__name__}: {error}")


def started(module: str) -> subprocess.Popen[bytes]:
    """Start a child process that runs ``main`` of one of our modules."""
    root = str(Path(__file__).resolve().parents[3])
    path = os.pathsep.join(filter(None, [root, os.environ.get("PYTHONPATH")]))
    # The keyboard stops the parent; a child must not answer it while it still imports either.
    deaf = "import signal; signal.signal(signal.SIGINT, signal.SIG_IGN)"
    return subprocess.Popen(
        [sys.executable, "-c", f"{deaf}; from {module} import main; main()"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": path},
    )


def ended(process: subprocess.Popen[bytes]) -> None:
    """End a child process at once, whatever it is doing."""
    process.kill()
    process.wait()
    for stream in (process.stdin, process.stdout):
        if stream is not None:
            with contextlib.suppress(OSError):
                stream.close()


CAN_STAND_STILL = hasattr(signal, "SIGSTOP")
"""Whether this system can let a process stand still."""


def stand_still(process: subprocess.Popen[bytes]) -> bool:
    """Let a child process stand still in the middle of its work; returns whether it does."""
    if not CAN_STAND_STILL or process.poll() is not None:
        return False
    process.send_signal(signal.SIGSTOP)
    return True


def go_on(process: subprocess.Popen[bytes]) -> None:
    """Let a child process that stands still go on."""
    process.send_signal(signal.SIGCONT)


@contextlib.contextmanager
def served() -> Iterator[tuple[IO[bytes], IO[bytes]]]:
    """In a child: the streams to read values from and to write them to.

    The child ends without a message when the other side has ended.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _die_with_parent()
    look_for_garbage_seldom()
    # Only the protocol writes to the real standard output; everything else goes to standard error.
    output = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    with contextlib.suppress(EOFError, BrokenPipeError):
        yield sys.stdin.buffer, output


def serve(answer: Callable[[Any, int], object], too_large: object, *, hello: object = None) -> None:
    """In a child: answer orders until the other side has ended.

    What an order raises is sent in place of its answer.

    Args:
        answer: answers an order; it is given the process to live as long as.
        too_large: the answer where memory does not suffice.
        hello: sent first of all; None: nothing is.
    """
    parent = os.getppid()
    with served() as (source, output):
        if hello is not None:
            send(output, hello)
        while True:
            order = receive(source)
            try:
                reply = answer(order, parent)
            except MemoryError:
                reply = too_large
            except Exception as error:
                reply = sendable(error)
            send(output, reply)


def _die_with_parent() -> None:
    """Ask the kernel to end this process when its parent ends, where it can (Linux)."""
    if not sys.platform.startswith("linux"):
        return
    import ctypes

    set_parent_death_signal = 1
    libc = ctypes.CDLL(None, use_errno=True)
    libc.prctl(set_parent_death_signal, signal.SIGKILL, 0, 0, 0)
