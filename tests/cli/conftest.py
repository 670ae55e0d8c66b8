"""Runs the command in this process, the way its entry does."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from synth.cli.main import main
from synth.layout import Layout, Pin
from synth.layout.documents import layout_text
from synth.medium import CLEAR, SOLID, WIRE, Direction, Role, inverter


@dataclass(frozen=True)
class Ended:
    """How a command ended: its exit code and what it wrote."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        return json.loads(self.out)


Run = Callable[..., Ended]


@pytest.fixture
def gatefit(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Run:
    """``gatefit("show", "x.json")`` in an empty folder of its own."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str, stdin: str | bytes = "") -> Ended:
        data = stdin.encode() if isinstance(stdin, str) else stdin
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
        code = main(arguments)
        captured = capsys.readouterr()
        return Ended(code, captured.out, captured.err)

    return run


NOT_GATE = Layout(
    size=(2, 1, 2),
    cells={
        (0, 0, 0): CLEAR,
        (0, 0, 1): SOLID,
        (1, 0, 1): inverter(Direction.NX),
    },
    pins=(
        Pin("a", Role.INPUT, (0, 0, 1), Direction.NX),
        Pin("q", Role.OUTPUT, (1, 0, 1), Direction.PX),
    ),
)
"""The lead of ``a`` charges the solid it runs towards; the inverter on it powers the lead of q."""

UNSUPPORTED = NOT_GATE.replace(cells={**NOT_GATE.cells, (1, 0, 0): WIRE})
"""A wire at height 0 without ground is illegal."""


@pytest.fixture
def not_gate(tmp_path: Path) -> str:
    path = tmp_path / "not.json"
    path.write_text(layout_text(NOT_GATE), encoding="utf-8")
    return path.name


@pytest.fixture
def unsupported(tmp_path: Path) -> str:
    path = tmp_path / "unsupported.json"
    path.write_text(layout_text(UNSUPPORTED), encoding="utf-8")
    return path.name
