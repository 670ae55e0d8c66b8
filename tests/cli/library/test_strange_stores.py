"""Stores that were damaged, or made by somebody who means harm: one clear line, never more."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from synth.printable import is_printable
from tests.cli.conftest import Run
from tests.library.spoiling import SPOILS, Spoil, good_store

FUZZED = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)

COMMANDS = (
    ("list",),
    ("list", "--json"),
    ("show", "1"),
    ("show", "2", "--json"),
    ("verify", "--quiet"),
    ("find", "q = a & ~b"),
    ("export", "out"),
    ("site", "pages"),
)


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return good_store(tmp_path_factory.mktemp("good") / "good.sqlite")


def require_one_line(ended: object, command: object) -> None:
    """An answer, or one line that names the store and the way out."""
    code, out, err = ended.code, ended.out, ended.err  # type: ignore[attr-defined]
    assert code in (0, 1, 2), command
    assert "Traceback" not in err, command
    assert is_printable(out, lines=True), command
    assert is_printable(err, lines=True), command
    if code == 2:
        assert err.startswith("gatefit: "), command
        assert err.count("\n") == 1, command
        assert "sqlite: " in err, err
        assert "; " in err, err


@FUZZED
@given(spoils=SPOILS)
def test_a_store_that_was_changed_by_anything(
    gatefit: Run, good: Path, tmp_path: Path, spoils: list[Spoil]
) -> None:
    store, ours = tmp_path / "gatefit.sqlite", tmp_path / "ours.sqlite"
    data = tmp_path / "spoilt.sqlite"
    shutil.copy(good, data)
    for spoil in spoils:
        spoil(data)
    for command in COMMANDS:
        shutil.copy(data, store)
        require_one_line(gatefit("library", *command), command)
    shutil.copy(data, store)
    shutil.copy(good, ours)
    require_one_line(
        gatefit("library", "merge", "gatefit.sqlite", "--store", "ours.sqlite"), "merge"
    )
    # Whatever came, what was ours is as good as before.
    ended = gatefit("library", "verify", "--store", "ours.sqlite", "--quiet")
    assert ended.code == 0, ended.out
