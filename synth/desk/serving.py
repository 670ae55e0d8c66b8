"""The desk served at an address of this machine alone, until it is told to end."""

from __future__ import annotations

import socket
from collections.abc import Callable

from synth.desk.desk import Desk
from synth.errors import InputError, reason_of

LOOPBACK = "127.0.0.1"


def serve(desk: Desk, port: int, told: Callable[[str], None]) -> None:
    """Serve a desk until the keyboard, or a signal, ends it.

    Args:
        desk: what is served.
        port: of the loopback; 0: a free one.
        told: called with the address once it answers.

    Raises:
        InputError: if the server is not installed, or the port is taken.
    """
    try:
        import uvicorn

        from synth.desk.server import MAX_MESSAGE, Server
    except ImportError as error:
        raise InputError(
            f"the desk needs {error.name}, which is not installed",
            way_out="install it: pip install 'gatefit[desk]'",
        ) from None

    class Announcing(uvicorn.Server):
        """Says the address once the server answers there."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets=sockets)
            if self.started:
                told(address)

    bound = _bound(port)
    server = Server(desk)
    address = f"http://{LOOPBACK}:{bound.getsockname()[1]}/{server.token}/"
    config = uvicorn.Config(
        server.app,
        log_level="error",
        access_log=False,
        lifespan="off",
        ws="websockets-sansio",
        ws_max_size=MAX_MESSAGE,
        timeout_graceful_shutdown=2,
    )
    try:
        Announcing(config).run(sockets=[bound])
    except KeyboardInterrupt:
        pass  # how it is meant to be ended
    finally:
        bound.close()


def _bound(port: int) -> socket.socket:
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((LOOPBACK, port))
    except OSError as error:
        made.close()
        raise InputError(
            f"cannot listen at port {port} ({reason_of(error)})",
            place="--port",
            way_out="leave --port out, or use another one",
        ) from None
    return made
