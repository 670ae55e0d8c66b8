"""The door: the page, its files, and messages, for this machine alone.

Whoever asks has to know the address, which holds a random token, and has to use the name of this
machine's own loopback. A page that asks has to come from this server. Files are looked up in
tables, never in the file system.
"""

from __future__ import annotations

import asyncio
import contextlib
import hmac
import json
import secrets
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from typing import Any

from starlette.applications import Starlette
from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp, Receive, Scope, Send
from starlette.websockets import WebSocket, WebSocketDisconnect

from synth.desk.desk import Desk
from synth.desk.judging import findings_of, judgement_of
from synth.desk.page import ASSETS, desk_html
from synth.desk.seat import Seat
from synth.desk.session import Session
from synth.errors import InputError
from synth.layout.documents import parse_json

MAX_MESSAGE = 4 * 1024 * 1024
"""Most characters of a message: a layout as large as the desk takes fits in."""

STILL_S = 0.3
"""Seconds that a design has to stand still before all of it is reviewed."""

HOSTS = ("127.0.0.1", "localhost", "[::1]")
"""How this machine is called by itself."""

_HEADERS = {
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


@dataclass
class _Known:
    """What is known of a revision of a design: the messages that tell it, and whether all is."""

    revision: int
    told: list[Mapping[str, Any]] = field(default_factory=list)
    whole: bool = False


class Server:
    """Serves a desk.

    Args:
        desk: what is served.
        token: in the address; None: a random one.

    Attributes:
        app: the application (ASGI).
    """

    def __init__(self, desk: Desk, token: str | None = None) -> None:
        self.desk = desk
        self.token = secrets.token_urlsafe(24) if token is None else token
        self._seats: dict[Seat, WebSocket] = {}
        self._known: dict[Session, _Known] = {}
        self._judging: dict[Session, asyncio.Task[None]] = {}
        self._telling: set[asyncio.Task[None]] = set()
        routes = [
            Route("/{token}/", self._page),
            Route("/{token}/assets/{name:path}", self._asset),
            WebSocketRoute("/{token}/talk", self._talk),
        ]
        self.app: ASGIApp = _Guard(Starlette(routes=routes), self.token)

    # Pages

    async def _page(self, request: Request) -> Response:
        nonce = secrets.token_urlsafe(16)
        policy = (
            "default-src 'none'; connect-src 'self'; img-src data: blob:; "
            f"script-src 'self' 'nonce-{nonce}'; style-src 'self' 'unsafe-inline'; "
            "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        headers = {**_HEADERS, "Content-Security-Policy": policy}
        return Response(desk_html(nonce), media_type="text/html", headers=headers)

    async def _asset(self, request: Request) -> Response:
        found = ASSETS.get(request.path_params["name"])
        if found is None:
            return PlainTextResponse("no such file", 404, headers=_HEADERS)
        package, path, kind = found
        data = files(package).joinpath("assets", *path.split("/")).read_bytes()
        return Response(data, media_type=kind, headers=_HEADERS)

    # Messages

    async def _talk(self, socket: WebSocket) -> None:
        await socket.accept()
        loop = asyncio.get_running_loop()
        self.desk.post = lambda call: _posted(loop, call)
        self.desk.changed = self._job_news
        seat = Seat(self.desk)
        self._seats[seat] = socket
        try:
            while True:
                received = await socket.receive()
                if received["type"] == "websocket.disconnect":
                    return
                text = received.get("text")
                await self._answer(seat, socket, "" if text is None else text)
        except WebSocketDisconnect:
            return
        finally:
            self._seats.pop(seat, None)

    async def _answer(self, seat: Seat, socket: WebSocket, text: str) -> None:
        number: object = None
        try:
            message = _read(text)
            number = message.get("n")
            reply = seat.handle(message)
        except InputError as error:
            reply = {"error": str(error)}
        except Exception as error:  # A fault of ours; the design is safe in its journal.
            reply = {
                "error": f"that is a fault of the desk ({type(error).__name__}); please report"
            }
            print(f"gatefit: desk: {type(error).__name__}: {error}", file=sys.stderr)
        await _send(socket, {"re": number if isinstance(number, int) else None, **reply})
        if "state" in reply:
            await self._tell_others(seat)
            await self._judge(seat.session, asked_by=seat)

    async def _tell_others(self, told: Seat) -> None:
        """Send the changed design to the other pages that show it."""
        for seat, socket in list(self._seats.items()):
            if seat is not told and seat.session is told.session and seat.behind:
                await _send(socket, seat.state())

    async def _judge(self, session: Session, asked_by: Seat) -> None:
        """Have a design judged while messages go on; what is known already is told at once."""
        known = self._known.get(session)
        if known is not None and known.revision == session.revision:
            for message in known.told:
                await _send(self._seats[asked_by], message)
        if session not in self._judging:
            self._judging[session] = asyncio.create_task(self._judge_on(session))

    async def _judge_on(self, session: Session) -> None:
        """Judge a design, then review it, until that is done for its last revision."""
        rules = self.desk.rules
        try:
            while True:
                revision, design = session.revision, session.design
                known = self._known.get(session)
                if known is not None and (known.revision, known.whole) == (revision, True):
                    return
                known = self._known[session] = _Known(revision)
                verdict = await asyncio.to_thread(judgement_of, design, rules)
                await self._learn(session, known, {"judged": {**verdict, "revision": revision}})

                def outdated(revision: int = revision) -> bool:
                    return session.revision != revision

                # Somebody who is still editing wants to see power, and can wait for remedies.
                await asyncio.sleep(STILL_S)
                if outdated():
                    continue
                found = await asyncio.to_thread(findings_of, design, rules, outdated)
                await self._learn(session, known, {"review": {**found, "revision": revision}})
                known.whole = True
        finally:
            self._judging.pop(session, None)

    async def _learn(self, session: Session, known: _Known, message: Mapping[str, Any]) -> None:
        """Take note of what is known of a revision, and tell it if it is still the last."""
        known.told.append(message)
        if known.revision == session.revision:
            await self._tell(session, message)

    def _job_news(self, session: Session) -> None:
        """Tell the pages of a design how far its jobs have come."""
        news = asyncio.create_task(self._tell_news(session))
        self._telling.add(news)
        news.add_done_callback(self._telling.discard)

    async def _tell_news(self, session: Session) -> None:
        for seat, socket in list(self._seats.items()):
            if seat.session is session:
                await _send(socket, seat.news())

    async def _tell(self, session: Session, message: Mapping[str, Any]) -> None:
        for seat, socket in list(self._seats.items()):
            if seat.session is session:
                await _send(socket, message)


def _posted(loop: asyncio.AbstractEventLoop, call: Callable[[], None]) -> None:
    """Have a call made in the thread of the talk, unless that is over."""
    with contextlib.suppress(RuntimeError):
        loop.call_soon_threadsafe(call)


async def _send(socket: WebSocket, message: Mapping[str, Any]) -> None:
    """Send a message; a page that has gone is left to its own loop."""
    try:
        await socket.send_text(json.dumps(message, ensure_ascii=False, separators=(",", ":")))
    except (WebSocketDisconnect, RuntimeError, OSError):
        return


def _read(text: str) -> dict[str, Any]:
    """A message.

    Raises:
        InputError: if it is none.
    """
    if len(text) > MAX_MESSAGE:
        raise InputError(f"a message of {len(text):,} characters is too long")
    message = parse_json(text)
    if not isinstance(message, dict):
        raise InputError("a message is a table of keys and values")
    return message


class _Guard:
    """Admits requests with the token, the loopback's name, and a page of this server or none."""

    def __init__(self, app: ASGIApp, token: str) -> None:
        self.app = app
        self.token = token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        if self._admits(scope):
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        else:
            refusal = PlainTextResponse("not for you", 403, headers=_HEADERS)
            await refusal(scope, receive, send)

    def _admits(self, scope: Scope) -> bool:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if _name_of(host) not in HOSTS:
            return False
        origin = headers.get("origin")
        if origin is None:
            if scope["type"] == "websocket":  # every browser states where its page comes from
                return False
        elif origin != f"http://{host}":
            return False
        given = scope["path"].split("/")[1] if "/" in scope["path"] else ""
        return hmac.compare_digest(given.encode(errors="replace"), self.token.encode())


def _name_of(host: str) -> str:
    """A host without its port."""
    name, colon, port = host.rpartition(":")
    return name if colon and port.isdigit() else host
