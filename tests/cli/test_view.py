"""``gatefit view``: the page goes where it is sent, whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Run


def test_the_page_is_written_to_a_file(gatefit: Run, not_gate: str, tmp_path: Path) -> None:
    ended = gatefit("view", not_gate, "-o", "page.html")
    assert ended.code == 0
    assert ended.out == "page.html: open it in a browser\n"
    assert (tmp_path / "page.html").read_text(encoding="utf-8").startswith("<!doctype html>")


def test_without_a_file_the_page_is_printed(gatefit: Run, not_gate: str, tmp_path: Path) -> None:
    text = (tmp_path / not_gate).read_bytes()
    ended = gatefit("view", "-", stdin=text)
    assert ended.code == 0
    assert ended.out == gatefit("view", not_gate).out
    assert "q = ~a" in ended.out


def test_a_layout_that_is_not_legal_has_a_page_as_well(gatefit: Run, unsupported: str) -> None:
    ended = gatefit("view", unsupported)
    assert ended.code == 0
    assert "not legal" in ended.out


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["bad.json"], ("bad.json", "'format'")),
        (["none.json"], ("none.json", "no such file")),
        (["not.json", "-o", "nowhere/x.html"], ("--output", "nowhere/x.html")),
        (["not.json", "-o", "."], ("--output", "directory")),
        (["not.json", "--rules", "none.toml"], ("none.toml",)),
    ],
)
def test_what_cannot_be_used_is_one_line(
    options: list[str], words: tuple[str, ...], gatefit: Run, not_gate: str, tmp_path: Path
) -> None:
    (tmp_path / "bad.json").write_text("{}", encoding="utf-8")
    before = sorted(tmp_path.iterdir())
    ended = gatefit("view", *options)
    assert ended.code == 2
    assert ended.out == ""
    assert len(ended.err.splitlines()) == 1
    assert all(word in ended.err for word in words), ended.err
    assert sorted(tmp_path.iterdir()) == before
