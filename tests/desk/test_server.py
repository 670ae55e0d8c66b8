"""The door: who is let in, and that no message, however broken, brings the desk down."""

from __future__ import annotations

import json
from base64 import b64decode
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient, WebSocketTestSession
from starlette.websockets import WebSocketDisconnect

from synth.desk.desk import Desk
from synth.desk.page import ASSETS
from synth.desk.server import MAX_MESSAGE, Server
from synth.layout import Layout
from tests.desk.orders import broken_edits, broken_orders, edits
from tests.stored import DATA, stored_layout

ORIGIN = "http://127.0.0.1:8000"
TOKEN = "a-token-of-a-test"
TALK = f"ws://127.0.0.1:8000/{TOKEN}/talk"


@contextmanager
def served(folder: Path, first: str | None = None, **options: Any) -> Iterator[TestClient]:
    desk = Desk(folder, None if first is None else folder / first, **options)
    try:
        with TestClient(Server(desk, TOKEN).app, base_url=ORIGIN) as client:
            yield client
    finally:
        desk.close()


@contextmanager
def talking(client: TestClient, **headers: str) -> Iterator[WebSocketTestSession]:
    given = {"origin": ORIGIN} | headers
    with client.websocket_connect(TALK, headers=given) as socket:
        yield socket


def told(socket: WebSocketTestSession) -> Any:
    return json.loads(socket.receive_text())


def answer(socket: WebSocketTestSession, message: Any) -> Any:
    """The answer to a message; what is told in between is passed over."""
    socket.send_text(message if isinstance(message, str) else json.dumps(message))
    while "re" not in (heard := told(socket)):
        pass
    return heard


def next_of(socket: WebSocketTestSession, key: str) -> Any:
    """What is told next under a key; all else that is told before is passed over."""
    while key not in (heard := told(socket)):
        pass
    return heard[key]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "xor2.json").write_bytes((DATA / "xor2.json").read_bytes())
    return tmp_path


def test_the_page_and_each_of_its_files_are_there(folder: Path) -> None:
    with served(folder) as client:
        page = client.get(f"/{TOKEN}/")
        assert page.status_code == 200
        policy = page.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert page.headers["referrer-policy"] == "no-referrer"
        for name in ASSETS:
            got = client.get(f"/{TOKEN}/assets/{name}")
            assert got.status_code == 200, name
            assert got.content
        imports = json.loads(page.text.split("importmap", 1)[1].split(">", 1)[1].split("</", 1)[0])
        assert {path.removeprefix("./assets/") for path in imports["imports"].values()} <= set(
            ASSETS
        )


@pytest.mark.parametrize(
    "path",
    [
        "assets/../page.py",
        "assets/%2e%2e/page.py",
        "assets//etc/passwd",
        "assets/desk/none.js",
        "x",
    ],
)
def test_no_other_file_is_served(folder: Path, path: str) -> None:
    with served(folder) as client:
        assert client.get(f"/{TOKEN}/{path}").status_code in (403, 404)


@pytest.mark.parametrize(
    ("path", "headers"),
    [
        ("/", {}),
        ("/wrong/", {}),
        (f"/{TOKEN[:-1]}/", {}),
        (f"/{TOKEN}/", {"host": "desk.example"}),
        (f"/{TOKEN}/", {"host": "127.0.0.1.example:8000"}),
        (f"/{TOKEN}/", {"origin": "http://elsewhere.example"}),
        (f"/{TOKEN}/", {"origin": "null"}),
        (f"/{TOKEN}/", {"origin": "http://127.0.0.1:9999"}),
    ],
)
def test_strangers_are_not_let_in(folder: Path, path: str, headers: dict[str, str]) -> None:
    with served(folder) as client:
        assert client.get(path, headers=headers).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://elsewhere.example"}, {"origin": ""}, {"host": "desk.example"}],
)
def test_a_talk_from_elsewhere_is_refused(folder: Path, headers: dict[str, str]) -> None:
    with served(folder) as client, pytest.raises(WebSocketDisconnect), talking(client, **headers):
        pass


def test_a_talk_without_an_origin_is_refused(folder: Path) -> None:
    with (
        served(folder) as client,
        pytest.raises(WebSocketDisconnect),
        client.websocket_connect(TALK),
    ):
        pass


def test_an_edit_is_answered_with_all_that_is_shown_and_then_judged(folder: Path) -> None:
    with served(folder, "xor2.json") as client, talking(client) as socket:
        first = answer(socket, {"n": 1, "do": "hello", "design": None})
        assert first["re"] == 1
        assert first["state"]["design"] == "xor2.json"
        assert next_of(socket, "judged")["computes"] == ["q = a ^ b"]
        cell = first["state"]["scene"]["cells"][0]["at"]
        edit = {"kind": "put", "empty": [cell]}
        second = answer(socket, {"n": 2, "do": "edit", "edit": edit})
        assert len(second["state"]["scene"]["cells"]) < len(first["state"]["scene"]["cells"])
        judged = next_of(socket, "judged")
        assert judged["revision"] == second["state"]["revision"]
        assert judged["stand"] == "fails"


def test_what_one_page_does_the_other_is_told(folder: Path) -> None:
    with served(folder, "xor2.json") as client, talking(client) as one, talking(client) as other:
        for socket in (one, other):
            answer(socket, {"n": 1, "do": "hello", "design": None})
            next_of(socket, "judged")
        answer(one, {"n": 2, "do": "edit", "edit": {"kind": "ground", "on": True}})
        assert next_of(other, "state")["ground"] is True
        answer(other, {"n": 2, "do": "undo"})
        assert next_of(one, "state")["ground"] is False


def test_a_copy_of_the_stack_is_edited_like_the_first(folder: Path) -> None:
    with served(folder, "xor2.json") as client, talking(client) as socket:
        shown = answer(socket, {"n": 1, "do": "copies", "count": 3})["state"]["scene"]
        assert shown["size"] == [4, 6, 4]
        assert shown["play"]["inputs"] == ["a_0", "b_0", "a_1", "b_1", "a_2", "b_2"]
        edit = {"kind": "put", "parts": [{"at": [0, 4, 0], "part": "ledge"}]}
        after = answer(socket, {"n": 2, "do": "edit", "edit": edit})["state"]["scene"]
        ledges = [cell["at"] for cell in after["cells"] if cell["part"] == "ledge"]
        assert ledges[0] == [0, 0, 0]
        assert [0, 2, 0] in ledges
        assert [0, 4, 0] in ledges
        played = answer(socket, {"n": 3, "do": "switch", "tick": 0, "inputs": {"b_1": 1}})["play"]
        assert played["ticks"][-1][0] == "000100"


def test_versions_are_kept_shown_beside_and_taken(folder: Path) -> None:
    with served(folder, "xor2.json") as client, talking(client) as socket:
        answer(socket, {"n": 1, "do": "keep", "words": "as found", "delay": 2})
        edit = {"kind": "put", "parts": [{"at": [0, 1, 0], "part": "clear"}]}
        answer(socket, {"n": 2, "do": "edit", "edit": edit})
        state = answer(socket, {"n": 3, "do": "beside", "version": 1})["state"]
        assert state["beside"]["difference"] == {"added": [[0, 1, 0]], "taken": [], "changed": []}
        switched = answer(socket, {"n": 4, "do": "switch", "tick": 0, "inputs": {"a": 1}})
        assert switched["play"]["ticks"][-1][1] == "1"
        assert switched["beside"]["scene"]["play"]["ticks"][-1][:2] == ["10", "1"]
        row = answer(socket, {"n": 8, "do": "copies", "count": 2})["state"]
        assert row["scene"]["play"]["ticks"][-1][0] == "1010", "copies begin with the same inputs"
        assert row["beside"]["scene"]["play"]["ticks"][-1][0] == "10"
        alone = answer(socket, {"n": 9, "do": "copies", "count": 1})["state"]
        assert alone["scene"]["play"]["ticks"][-1][0] == "10"
        taken = answer(socket, {"n": 5, "do": "take", "version": 1})["state"]
        assert taken["versions"][0]["same"] is True
        assert answer(socket, {"n": 6, "do": "undo"})["state"]["versions"][0]["same"] is False


def test_a_save_cannot_leave_the_folder(folder: Path) -> None:
    inner = folder / "inner"
    inner.mkdir()
    (inner / "out").symlink_to(folder)
    with served(inner) as client, talking(client) as socket:
        for name in ("../x.json", "/x.json", "out/x.json", ".gatefit-desk/x.json", "", None, 3):
            got = answer(socket, {"n": 1, "do": "save", "name": name, "delay": None})
            assert "error" in got, name
        assert "error" in answer(socket, {"n": 2, "do": "open", "name": "../xor2.json"})
    assert sorted(path.name for path in folder.iterdir()) == ["inner", "xor2.json"]


def test_every_export_is_handed_over(folder: Path) -> None:
    with served(folder, "xor2.json") as client, talking(client) as socket:
        kinds = answer(socket, {"n": 1, "do": "files"})["exports"]
        assert len(kinds) == 9
        starts = {"svg": b"<?xml", "png": b"\x89PNG", "json": b"{", "vcd": b"$", "verilog": b"//"}
        for kind, _ in kinds:
            got = answer(socket, {"n": 2, "do": "export", "kind": kind})["export"]
            data = b64decode(got["data"])
            assert data.startswith(starts.get(kind, b"")), (kind, data[:20])
            assert got["name"].startswith("xor2.")
        text = answer(socket, {"n": 3, "do": "export", "kind": "drawing"})["export"]["data"]
        assert Layout.from_text(b64decode(text).decode()) == stored_layout("xor2")


def test_gates_of_a_store_are_listed_and_opened(folder: Path) -> None:
    store = Path(__file__).parents[2] / "benchmarks" / "demo_library.sqlite"
    copied = folder / "gates.sqlite"
    copied.write_bytes(store.read_bytes())
    with served(folder, store=copied) as client, talking(client) as socket:
        gates = answer(socket, {"n": 1, "do": "files"})["gates"]
        assert len(gates) > 100
        got = answer(socket, {"n": 2, "do": "gate", "number": gates[0]["number"]})
        assert got["state"]["design"] == "untitled-2"
        assert got["state"]["scene"]["cells"]
        assert "error" in answer(socket, {"n": 3, "do": "gate", "number": 10**9})


def test_a_lesson_is_opened_done_and_remembered(folder: Path) -> None:
    with served(folder) as client, talking(client) as socket:
        lessons = answer(socket, {"n": 1, "do": "lessons"})["lessons"]
        assert [lesson["done"] for lesson in lessons] == [False] * 10
        state = answer(socket, {"n": 2, "do": "open", "name": "lesson 1"})["state"]
        assert state["lesson"]["done"] is False
        edit = {"kind": "place", "cells": [[0, 0, 1]], "part": "inverter"}
        state = answer(socket, {"n": 3, "do": "edit", "edit": edit})["state"]
        assert state["lesson"]["done"] is True
        assert state["lesson"]["next"] == "lesson 2"
        lessons = answer(socket, {"n": 4, "do": "lessons"})["lessons"]
        assert [lesson["done"] for lesson in lessons] == [True] + [False] * 9


def test_a_remedy_of_the_review_is_one_edit(folder: Path) -> None:
    stored_layout("xor2").with_cells({(0, 0, 0): None}).save(folder / "short.json")
    with served(folder, "short.json") as client, talking(client) as socket:
        answer(socket, {"n": 1, "do": "hello", "design": None})
        found = next_of(socket, "review")["findings"][0]
        assert found["severity"] == "fault"
        edit = found["remedies"][0]["edit"]
        answer(socket, {"n": 2, "do": "edit", "edit": edit})
        assert next_of(socket, "judged")["faults"] == []


messages = st.lists(
    broken_orders()
    | edits.map(lambda edit: {"n": 1, "do": "edit", "edit": edit})
    | broken_edits().map(lambda edit: {"n": 1, "do": "edit", "edit": edit})
    | st.text(max_size=20),
    max_size=8,
)


@given(messages)
@settings(max_examples=30)
def test_no_message_breaks_the_desk(sent: list[Any]) -> None:
    with TemporaryDirectory() as name:
        path = Path(name)
        (path / "xor2.json").write_bytes((DATA / "xor2.json").read_bytes())
        with served(path, "xor2.json") as client, talking(client) as socket:
            for message in sent:
                got = answer(socket, message)
                assert "a fault of the desk" not in got.get("error", ""), (message, got)
                assert "Traceback" not in got.get("error", "")
            assert "state" in answer(socket, {"n": 1, "do": "hello", "design": None})


@pytest.mark.parametrize(
    "text", ["", "nonsense", "[]", "{", '{"do": 1e999}', '{"n": NaN}', "\ud800", "[" * 100_000]
)
def test_what_is_no_message_is_said_to_be_none(folder: Path, text: str) -> None:
    with served(folder) as client, talking(client) as socket:
        socket.send_text(text.encode("utf-8", "replace").decode())
        assert "error" in told(socket)
        socket.send_bytes(b"\x00\xff")
        assert "error" in told(socket)
        assert "state" in answer(socket, {"n": 1, "do": "hello", "design": None})


def test_a_message_that_is_too_long_is_not_read(folder: Path) -> None:
    with served(folder) as client, talking(client) as socket:
        socket.send_text(" " * (MAX_MESSAGE + 1))
        assert "too long" in told(socket)["error"]


def test_a_fault_of_ours_is_answered_and_loses_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with served(folder) as client, talking(client) as socket:
        with monkeypatch.context() as patch:
            patch.setattr("synth.desk.seat.scene_of", lambda *_: 1 // 0)
            edit = {"kind": "put", "parts": [{"at": [0, 0, 0], "part": "solid"}]}
            got = answer(socket, {"n": 1, "do": "edit", "edit": edit})
            assert "a fault of the desk (ZeroDivisionError)" in got["error"]
        state = answer(socket, {"n": 2, "do": "hello", "design": None})["state"]
        assert [cell["part"] for cell in state["scene"]["cells"]] == ["solid"]
    assert "Traceback" not in capsys.readouterr().err
