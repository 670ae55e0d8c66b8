"""The command that opens the desk: what it refuses before anything is served.

What it serves is tested in ``tests/desk``.
"""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import pytest

from synth.desk.folder import Folder
from tests.cli.conftest import NOT_GATE, Run


def test_a_file_that_is_not_there_or_no_layout_is_refused(gatefit: Run) -> None:
    for arguments in (["missing.json"], ["--store", "missing.sqlite"]):
        ended = gatefit("desk", *arguments, "--no-browser")
        assert (ended.code, ended.out) == (2, "")
        assert ended.err == f"gatefit: {arguments[-1]}: no such file; check the path\n"
    assert not Path(".gatefit-desk").exists()
    Path("broken.json").write_text("{", encoding="utf-8")
    ended = gatefit("desk", "broken.json", "--no-browser")
    assert ended.code == 2
    assert "broken.json" in ended.err


def test_a_port_that_is_taken_is_refused(gatefit: Run) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        ended = gatefit("desk", "--port", str(taken.getsockname()[1]), "--no-browser")
    assert ended.code == 2
    assert "--port" in ended.err


def test_a_second_desk_in_one_folder_is_refused(gatefit: Run, tmp_path: Path) -> None:
    NOT_GATE.save("gate.json")
    Folder(tmp_path, (".json",)).claim()
    ended = gatefit("desk", "gate.json", "--no-browser")
    assert ended.code == 2
    assert "another desk" in ended.err


def test_without_the_extra_it_says_what_to_install(
    gatefit: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    ended = gatefit("desk", "--no-browser")
    assert ended.code == 2
    assert "gatefit[desk]" in ended.err
