"""Recipes with anything in them: read whole before a store is made, or refused in one line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.cli.conftest import Run

FUZZED = settings(
    max_examples=50,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)

PLAIN: dict[str, Any] = {
    "functions.tables": ["01"],
    "functions.all_of": [1],
    "time.first": 1,
    "time.most": 4,
    "delays": [1],
    "length": 1,
    "width": 1,
    "height": 2,
}

VALUES = st.one_of(
    st.integers(-(1 << 70), 1 << 70),
    st.integers(-2, 66),
    st.floats(),
    st.booleans(),
    st.text(max_size=5),
    st.lists(st.one_of(st.integers(-2, 66), st.text(max_size=3), st.booleans()), max_size=3),
)
KEYS = (
    *PLAIN,
    "minimize",
    "seed",
    "solver",
    "stack",
    "joints",
    "inputs",
    "volume",
    "parts",
    "more",
)


def toml(value: object) -> str:
    if isinstance(value, float):
        return repr(value)
    return json.dumps(value)


def text_of(changed: dict[str, Any]) -> str:
    values = PLAIN | changed
    asks = ("delays", "length", "width", "height", "stack", "joints", "inputs", "volume", "parts")
    top = [f"{key} = {toml(value)}" for key, value in values.items() if key not in asks]
    ask = [f"{key} = {toml(value)}" for key, value in values.items() if key in asks]
    return "\n".join([*top, "[[asks]]", *ask])


@FUZZED
@given(changed=st.dictionaries(st.sampled_from(KEYS), VALUES, min_size=1, max_size=2))
def test_a_recipe_with_anything_in_it(
    gatefit: Run, tmp_path: Path, changed: dict[str, Any]
) -> None:
    """With no time at all, so that nothing is asked: what is read is what is tested."""
    store = tmp_path / "gates.sqlite"
    store.unlink(missing_ok=True)
    (tmp_path / "gates.toml").write_text(text_of(changed), encoding="utf-8")
    options = ("--store", "gates.sqlite", "--time-limit", "1e-9", "--quiet")
    ended = gatefit("library", "build", "gates.toml", *options)
    assert ended.code in (0, 2, 3), ended.err
    assert "Traceback" not in ended.err
    if ended.code == 2:
        assert ended.err.startswith("gatefit: gates.toml: "), ended.err
        assert ended.err.count("\n") == 1
        assert not store.exists()


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"delays": [1, 65]}, "gates.toml: asks[0].delays[1]: a delay of 65; use 0 to 64"),
        ({"length": 65}, "gates.toml: asks[0].length: a length of 65; use 1 to 64"),
        (
            {"functions.tables": "none.txt"},
            "gates.toml: functions.tables: the file of tables 'none.txt': no such file",
        ),
        ({"functions.all_of": [5]}, "gates.toml: functions.all_of[0]: all functions of 5 inputs"),
    ],
)
def test_what_cannot_be_asked_is_said_with_its_place_and_leaves_no_store(
    gatefit: Run, tmp_path: Path, changed: dict[str, Any], said: str
) -> None:
    (tmp_path / "gates.toml").write_text(text_of(changed), encoding="utf-8")
    ended = gatefit("library", "build", "gates.toml")
    assert (ended.code, ended.out) == (2, "")
    assert said in ended.err
    assert [path.name for path in tmp_path.iterdir()] == ["gates.toml"]


def test_all_functions_of_four_inputs_are_prepared_with_signs_of_life(
    gatefit: Run, tmp_path: Path
) -> None:
    """One of each class that depends on all four: 3,904 of them."""
    changed = {"functions.all_of": [4], "functions.tables": [], "delays": [1, 2]}
    (tmp_path / "gates.toml").write_text(text_of(changed), encoding="utf-8")
    ended = gatefit("library", "build", "gates.toml", "--time-limit", "1e-9")
    assert ended.code == 3
    assert "5000 questions prepared\n" in ended.err
    assert "7808 questions, 0 answered already" in ended.err
