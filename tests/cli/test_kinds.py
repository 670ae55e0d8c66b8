"""What a file's name says is what it holds, and no markup is poured onto a terminal."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from synth.cli.shared.kinds import ENDINGS, NO_TEXT, require_ending, require_readable
from synth.errors import InputError
from tests.cli.conftest import Run


@pytest.mark.parametrize("kind", ENDINGS)
def test_every_kind_has_its_own_endings_and_any_that_says_nothing(kind: str) -> None:
    for ending in (*ENDINGS[kind], *(ending.upper() for ending in ENDINGS[kind]), "", ".xor"):
        require_ending(f"a.b{ending}", kind)
    if kind not in NO_TEXT:
        require_ending("x.txt", kind)


@pytest.mark.parametrize("kind", ENDINGS)
def test_no_kind_takes_the_ending_of_a_picture_or_page(kind: str) -> None:
    for other in ("PNG", "PDF", "HTML"):
        if other != kind:
            with pytest.raises(InputError, match=f"says {other}, but the file would hold {kind}"):
                require_ending(f"x{ENDINGS[other][0]}", kind)


def test_lines_by_a_template_may_be_any_text() -> None:
    require_ending("x.json", "text of any kind")
    require_ending("x.csv", "text of any kind")
    with pytest.raises(InputError, match="says PNG, but"):
        require_ending("x.png", "text of any kind")


@pytest.mark.parametrize(
    "arguments",
    [
        ("plan", "-o", "plan.pdf"),
        ("plan", "-o", "plan.png"),
        ("plan", "--as", "html", "-o", "plan.json"),
        ("explain", "-o", "how.png"),
        ("explain", "--as", "svg", "-o", "how.dot"),
        ("view", "-o", "page.pdf"),
        ("export", "--as", "svg", "-o", "sheet.png"),
        ("export", "--as", "verilog", "-o", "sheet.vcd"),
        ("trace", "--drive", "a=01", "--output", "trace.html"),
    ],
)
def test_every_command_refuses_another_kind_s_name(
    arguments: tuple[str, ...], gatefit: Run, not_gate: str, tmp_path: Path
) -> None:
    before = sorted(tmp_path.iterdir())
    command, *options = arguments
    ended = gatefit(command, not_gate, *options)
    assert ended.code == 2
    assert "--output" in ended.err
    assert "but the file would hold" in ended.err
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    "arguments", [("solve", "q = ~a", "--output", "x.png"), ("frontier", "q = ~a", "--plot", "x.v")]
)
def test_searches_refuse_it_before_they_begin(arguments: tuple[str, ...], gatefit: Run) -> None:
    assert gatefit(*arguments).code == 2


@pytest.mark.parametrize(
    "arguments",
    [("view",), ("plan", "--as", "html"), ("explain", "--as", "svg"), ("export", "--as", "svg")],
)
def test_markup_goes_into_pipes_and_files_and_onto_no_terminal(
    arguments: tuple[str, ...], gatefit: Run, not_gate: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    command, *options = arguments
    assert gatefit(command, not_gate, *options).code == 0
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    ended = gatefit(command, not_gate, *options)
    assert ended.code == 2
    assert "name a file: -o" in ended.err
    assert not ended.out


def test_text_goes_onto_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    require_readable("plain text", "x.txt")


@pytest.mark.parametrize(
    ("command", "file", "begins"),
    [
        ("export", "x.svg", b"<?xml"),
        ("export", "x.PNG", b"\x89PNG"),
        ("export", "x.gltf", b"{"),
        ("export", "x.vcd", b"$comment"),
        ("export", "x.v", b"//"),
        ("export", "x.csv", b"x,y,z"),
        ("export", "x.txt", b"0 0 0 clear"),
        ("plan", "x.html", b"<!doctype html>"),
        ("plan", "x.txt", b""),
        ("explain", "x.svg", b"<?xml"),
        ("explain", "x.dot", b"digraph"),
        ("trace", "x.json", b"{"),
        ("trace", "x.vcd", b"$comment"),
        ("trace", "x.txt", b"tick"),
    ],
)
def test_the_ending_says_the_kind(
    command: str, file: str, begins: bytes, gatefit: Run, not_gate: str
) -> None:
    ended = gatefit(command, not_gate, "-o", file)
    assert ended.code == 0, ended.err
    content = Path(file).read_bytes()
    assert content.lower().startswith(begins.lower())
    assert content


def test_an_export_of_no_kind_names_the_endings(gatefit: Run, not_gate: str) -> None:
    for options in ([], ["-o", "x"], ["-o", "x.pdf"]):
        ended = gatefit("export", not_gate, *options)
        assert ended.code == 2
        assert ".svg, .png, .gltf, .vcd, .v, .csv or .txt" in ended.err
        assert not Path("x.pdf").exists()


def test_a_specification_is_given_in_one_way(gatefit: Run, not_gate: str) -> None:
    Path("not.toml").write_text('outputs = { q = "~a" }\n', encoding="utf-8")
    for spec in ("q = ~a", "not.toml", "inverter"):
        assert gatefit("check", not_gate, "--function", spec).code == 0, spec
        assert gatefit("check", not_gate, "--spec", spec).code == 0, spec
        assert gatefit("view", not_gate, "--function", spec, "-o", "x.html").code == 0, spec
        assert gatefit("plan", not_gate, "--function", spec, "-o", "x.txt").code == 0, spec
        assert gatefit("library", "add", not_gate, "--function", spec).code == 0, spec
    for command in (["check"], ["view", "-o", "y.html"], ["plan"], ["library", "add"]):
        ended = gatefit(*command, not_gate, "--function", "invertor")
        assert ended.code == 2
        assert "did you mean the target inverter" in ended.err


def test_without_drive_every_assignment_is_played(gatefit: Run, not_gate: str) -> None:
    document = gatefit("trace", not_gate).document
    assert set(document["inputs"]["a"]) == {"0", "1"}
    gatefit("trace", not_gate, "-o", "one.vcd")
    gatefit("export", not_gate, "-o", "two.vcd")
    assert Path("one.vcd").read_text() == Path("two.vcd").read_text()
