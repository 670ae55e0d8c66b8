"""Files are written whole or not at all."""

from __future__ import annotations

import os
import pickle
import stat
import threading
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.errors import InputError
from synth.fields import shown
from synth.files import read_text, write_text
from synth.printable import is_printable


def test_written_and_read(tmp_path: Path) -> None:
    path = tmp_path / "file.txt"
    for text in ("first\n", "", "\N{GREEK SMALL LETTER OMEGA}\n"):
        write_text(path, text)
        assert read_text(path) == text
    assert os.listdir(tmp_path) == ["file.txt"]


def test_a_failure_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "file.txt"
    path.write_text("old")

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match=r"cannot be written \(No space left on device\)"):
        write_text(path, "new")
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["file.txt"]


def test_the_mode_of_a_replaced_file_stays(tmp_path: Path) -> None:
    path = tmp_path / "file.txt"
    path.write_text("old")
    path.chmod(0o640)
    write_text(path, "new")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_new_file_has_the_mode_of_the_users_mask(tmp_path: Path) -> None:
    plain, ours = tmp_path / "plain", tmp_path / "ours"
    plain.write_text("")
    write_text(ours, "")
    assert ours.stat().st_mode == plain.stat().st_mode


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real.txt", tmp_path / "link.txt"
    real.write_text("old")
    link.symlink_to(real)
    write_text(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"


def test_a_pipe_is_written_to(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    seen: list[str] = []
    reader = threading.Thread(target=lambda: seen.append(pipe.read_text()))
    reader.start()
    write_text(pipe, "through")
    reader.join()
    assert seen == ["through"]
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_what_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is a directory; name a file in it"):
        write_text(tmp_path, "text")
    with pytest.raises(InputError, match=r"cannot be written \(No such file or directory\)"):
        write_text(tmp_path / "none" / "file.txt", "text")
    with pytest.raises(InputError, match="cannot be written"):
        write_text("nul\0", "text")


def test_no_more_is_read_than_documents_may_hold(tmp_path: Path) -> None:
    path = tmp_path / "file.txt"
    path.write_bytes(b"x" * 100)
    assert read_text(path, most_bytes=100) == "x" * 100
    with pytest.raises(InputError, match=r"file\.txt: is longer than 99 bytes"):
        read_text(path, most_bytes=99)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="reads a device without an end")
def test_a_device_without_an_end_is_refused() -> None:
    with pytest.raises(InputError, match="/dev/zero: is longer than"):
        read_text("/dev/zero", most_bytes=1 << 20)


@settings(deadline=None)
@given(st.text(max_size=2000))
def test_a_message_is_one_line_whatever_the_users_values_hold(text: str) -> None:
    error = InputError(text, file=text, place=text, way_out=text.replace("\n", " "))
    assert is_printable(str(error))
    assert len(str(error)) < 30_000
    assert isinstance(pickle.loads(pickle.dumps(error)), InputError)
    assert shown(text).isprintable()
    assert len(shown([text] * 100)) <= 60


def test_values_that_python_cannot_write_are_shown() -> None:
    deep: list[object] = []
    for _ in range(5000):
        deep = [deep]
    assert shown(deep) == "a value nested very deeply"
    assert shown(10**6000) == "a number of thousands of digits"
