"""What tests of the library share: a new store, and the store of a build undisturbed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from synth.library import Store
from synth.library.build import Build
from tests.library.builds import TEN, contents


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "one.sqlite") as opened:
        yield opened


@pytest.fixture(scope="session")
def left_alone(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The store of a build that nothing happened to."""
    path = tmp_path_factory.mktemp("alone") / "alone.sqlite"
    with Store(path) as opened:
        summary = Build(TEN, opened).run()
    assert (summary.found + summary.impossible, summary.undecided) == (10, 0)
    assert (summary.jobs, summary.recalled, summary.stopped) == (10, 0, "")
    return contents(path)
