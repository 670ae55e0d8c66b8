"""Text, files and targets, told apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from synth.errors import InputError
from synth.spec import StackDemand
from synth.spec.documents import parse_spec
from synth.spec.sources import resolve_spec
from synth.spec.targets import load_target


def test_text_a_file_and_a_target(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert resolve_spec("q = a ^ b") == parse_spec("q = a ^ b")
    assert resolve_spec("xor2") == load_target("xor2")
    monkeypatch.chdir(tmp_path)
    Path("mine.toml").write_text('[outputs]\nq = "a"\n[limits]\nlength = 4\n')
    assert resolve_spec("mine.toml").limits.length == 4
    Path("mine.toml").rename("no_ending")
    assert resolve_spec("no_ending").limits.length == 4


def test_limits_are_laid_over_all_three(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text('[outputs]\nq = "a"\n[limits]\nlength = 4\nwidth = 3\n')
    limits = resolve_spec(str(path), length=2).limits
    assert (limits.length, limits.width) == (2, 3)
    assert resolve_spec("xor2", stack="y").stack == StackDemand("y")
    assert resolve_spec("q = a", length=2).limits.length == 2


def test_a_missing_toml_file_is_a_missing_file() -> None:
    with pytest.raises(InputError, match=r"nowhere\.toml: no such file; check the path"):
        resolve_spec("nowhere.toml")


@pytest.mark.parametrize(
    ("argument", "message"),
    [
        ("xor", "'xor' is no function, file or target; did you mean the target xor2"),
        ("half_adder", "did you mean the target half-adder"),
        ("zzz", "'zzz' is no function, file or target; write a function as 'q = a & b', or name"),
        ("", "'' is no function, file or target; write a function as"),
        ("a ^ b", "'a ^ b' is no function, file or target; name the output .*: q = a ^ b"),
        ("a\0", "is no function, file or target"),
        ("x" * 5000, "is no function, file or target"),
    ],
)
def test_what_is_none_of_them(argument: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        resolve_spec(argument)
    plain = str(caught.value)
    head, _, tail = message.partition(".*")
    assert head in plain
    assert tail in plain
