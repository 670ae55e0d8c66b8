"""Recipes: what they ask, and what is said of those that cannot be used."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.errors import InputError
from synth.library.recipe import Recipe, load_recipe, read_recipe
from synth.medium import Joint
from synth.spec.classes import all_tables, depends_on_all, members, p_classes
from synth.spec.targets import target_names

PLAIN: dict[str, Any] = {
    "functions": {"all_of": 2},
    "asks": [{"delays": [1], "length": 2, "width": 3, "height": 4}],
}


def with_(path: str, value: object) -> dict[str, Any]:
    """The plain recipe with one value more, or another."""
    document = copy.deepcopy(PLAIN)
    *folders, key = path.split(".")
    inner: Any = document
    for folder in folders:
        inner = inner[0] if folder == "asks" and isinstance(inner, list) else inner[folder]
        inner = inner[0] if isinstance(inner, list) else inner
    inner[key] = value
    return document


def tables_of(recipe: Recipe) -> list[str]:
    return [table for _, function in recipe.functions for table in function.outputs.values()]


def functions(**asked: object) -> Recipe:
    return read_recipe(with_("functions", asked))


def test_a_recipe_in_full(tmp_path: Path) -> None:
    path = tmp_path / "gates.toml"
    (tmp_path / "more.txt").write_text("# parity\n01101001  # of three\n\n0111\n")
    path.write_text(
        """
        description = "Gates"
        minimize = ["floor", "volume"]
        solver = "glucose42"
        seed = 7
        [functions]
        targets = ["half-adder"]
        tables = "more.txt"
        [time]
        first = 1.5
        most = 30
        [[asks]]
        stack = "y"
        joints = ["wire", "buffer"]
        delays = [1, 3]
        length = 5
        width = 2
        height = 4
        volume = 30
        floor = 8
        parts = 20
        [[asks]]
        delays = [2]
        length = 1
        width = 1
        height = 1
        """
    )
    recipe = load_recipe(path)
    assert recipe.description == "Gates"
    assert recipe.minimize == ("floor", "volume")
    assert (recipe.solver, recipe.seed) == ("glucose42", 7)
    assert (recipe.first_s, recipe.most_s) == (1.5, 30)
    assert [name for name, _ in recipe.functions] == ["half-adder", "parity3", "or2"]
    first, second = recipe.asks
    assert (first.stack, first.joints, first.delays) == ("y", (Joint.WIRE, Joint.BUFFER), (1, 3))
    limits = first.limits
    assert (limits.length, limits.width, limits.height) == (5, 2, 4)
    assert (limits.volume, limits.floor, limits.parts, limits.delay) == (30, 8, 20, None)
    assert (second.stack, second.joints, second.delays) == (None, (Joint.WIRE,), (2,))


def test_chains_of_a_recipe() -> None:
    """One chain a function, ask and joint; in it the delays, the longest first."""
    document = with_("asks.joints", ["wire", "buffer"])
    document["asks"][0] |= {"delays": [1, 4, 2], "stack": "y"}
    chains = list(read_recipe(document).chains())
    assert len(chains) == 2 * 8
    for name, specs in chains:
        assert [spec.limits.delay for spec in specs] == [4, 2, 1]
        assert {spec.name or "" for spec in specs} == {name}
        for spec in specs:
            assert (spec.limits.length, spec.limits.width, spec.limits.height) == (2, 3, 4)
            assert spec.stack is not None
            assert spec.stack.axis == "y"
    joints = [{specs[0].joint(pin) for pin in specs[0].pin_names} for _, specs in chains]
    assert joints == [{Joint.WIRE}] * 8 + [{Joint.BUFFER}] * 8


@pytest.mark.parametrize("inputs", [0, 1, 2, 3])
def test_all_functions_and_classes(inputs: int) -> None:
    """Both ask of one of each class, and of no class less than all functions would."""
    kept = {members((table,))[0][0] for table in all_tables(inputs) if depends_on_all(table)}
    classes = [table for table in p_classes(inputs) if depends_on_all(table)]
    assert set(classes) == kept
    assert tables_of(functions(classes_of=[inputs])) == classes
    assert tables_of(functions(all_of=inputs)) == classes
    assert tables_of(functions(all_of=[inputs], idle_inputs="keep")) == p_classes(inputs)


@given(st.lists(st.sampled_from(["01", "0111", "00010111", "0000", "0110100110010110"])))
def test_tables_are_taken_as_they_are_and_once(tables: list[str]) -> None:
    document = with_("functions", {"tables": tables, "targets": "xor2"})
    assert tables_of(read_recipe(document)) == ["0110", *dict.fromkeys(tables)]


def test_every_target_will_do() -> None:
    recipe = functions(targets=list(target_names()))
    assert [name for name, _ in recipe.functions] == list(target_names())


def test_times_that_are_left_out() -> None:
    def times(**said: float) -> tuple[float, float]:
        recipe = read_recipe(with_("time", said))
        return recipe.first_s, recipe.most_s

    assert times() == (10, 160)
    assert times(first=300) == (300, 300)
    assert times(first=2) == (2, 160)
    assert times(most=5) == (5, 5)
    assert times(most=50) == (10, 50)


WRONG = [
    ("colour", 1, "unknown key 'colour'; did you mean 'solver'?"),
    ("functions", 3, "functions: 3 is no table; use keys and values"),
    ("functions", {}, "functions: no functions; give some by targets, all_of, classes_of, tables"),
    ("functions.al_of", 2, "functions: unknown key 'al_of'; did you mean 'all_of'?"),
    ("functions.all_of", 5, "functions.all_of[0]: all functions of 5 inputs; use up to 4"),
    ("functions.all_of", [1, -1], "functions.all_of[1]: -1 is too small; use a whole number from"),
    ("functions.all_of", "2", "functions.all_of[0]: '2' is no whole number; use a whole number"),
    ("functions.all_of", True, "functions.all_of[0]: True is no whole number"),
    ("functions.classes_of", [3, 9], "functions.classes_of[1]: all functions of 9 inputs; use up"),
    ("functions.targets", ["xor"], "functions.targets[0]: no target 'xor'; did you mean 'xor2'?"),
    ("functions.targets", [3], "functions.targets[0]: 3 is no text; put it in quotes"),
    ("functions.tables", ["01", "012"], "functions.tables[1]: '012' is no table of up to 4 inputs"),
    ("functions.tables", ["0110", "011"], "functions.tables[1]: '011' is no table of up to 4"),
    ("functions.tables", ["01" * 16], "is no table of up to 4 inputs; write 0 or 1 for each"),
    ("functions.tables", [""], "functions.tables[0]: '' is no table of up to 4 inputs"),
    ("functions.tables", 3, "functions.tables: 3 is no list; use a list: [...]"),
    ("functions.tables", "none.txt", "functions.tables: the file of tables 'none.txt': no such"),
    ("functions.idle_inputs", "drop", "functions.idle_inputs: no choice 'drop'; use one of skip"),
    ("time", 3, "time: 3 is no table; use keys and values"),
    ("time", {"fist": 1}, "time: unknown key 'fist'; did you mean 'first'?"),
    ("time", {"first": 0}, "time.first: 0 is no time; use seconds above 0"),
    ("time", {"first": "10"}, "time.first: '10' is no time; use seconds above 0"),
    ("time", {"first": True}, "time.first: True is no time; use seconds above 0"),
    ("time", {"first": float("inf")}, "time.first: inf is no time; use seconds above 0"),
    ("time", {"most": float("nan")}, "time.most: nan is no time; use seconds above 0"),
    (
        "time",
        {"first": 10, "most": 5},
        "time.most: the longest share, 5 seconds, is below the first, 10 seconds; use 10",
    ),
    ("minimize", ["size"], "minimize: no measure 'size'; use one of volume, floor"),
    ("minimize", [], "minimize: no measure to minimise; use one of volume, floor"),
    ("solver", "x", "solver: no solver 'x'; use one of cadical195"),
    ("solver", 3, "solver: 3 is no text; put it in quotes"),
    ("seed", -1, "seed: -1 is too small; use a whole number from 0"),
    ("seed", 1.5, "seed: 1.5 is no whole number; use a whole number from 0"),
    ("description", 3, "description: 3 is no text; put it in quotes"),
    ("description", "a\nb", "description: 'a\\nb' has characters that cannot be printed; use one"),
    ("asks", [], "asks: there are no [[asks]]; give at least one [[asks]]"),
    ("asks", {}, "asks: {} is no list; use a list: [...]"),
    ("asks", [3], "asks[0]: 3 is no table; use keys and values"),
    ("asks", [{"delays": [1], "length": 2}], "asks[0]: the key 'width' is missing; add 'width'"),
    ("asks.delays", [], "asks[0].delays: no delays; list at least one"),
    ("asks.delays", 3, "asks[0].delays: 3 is no list; use a list: [...]"),
    ("asks.delays", [2, -1], "asks[0].delays[1]: -1 is too small; use a whole number from 0"),
    ("asks.delays", ["1"], "asks[0].delays[0]: '1' is no whole number; use a whole number from 0"),
    ("asks.joints", [], "asks[0].joints: no joints; list at least one"),
    ("asks.joints", ["glue"], "asks[0].joints[0]: no joint 'glue'; use one of wire, buffer"),
    ("asks.joints", "wire", "asks[0].joints: 'wire' is no list; use a list: [...]"),
    ("asks.stack", "w", "asks[0].stack: no axis 'w'; use one of x, y, z"),
    ("asks.length", 0, "asks[0].length: a length of 0; use 1 to 64"),
    ("asks.length", True, "asks[0].length: a length of True; use a whole number"),
    ("asks.width", "2", "asks[0].width: a width of '2'; use a whole number"),
    ("asks.volume", -3, "asks[0].volume: a volume of -3; use 1 or more"),
    ("asks.heigth", 2, "asks[0]: unknown key 'heigth'; did you mean 'height'?"),
]


@pytest.mark.parametrize(("path", "value", "message"), WRONG)
def test_what_cannot_be_used(path: str, value: object, message: str) -> None:
    with pytest.raises(InputError) as caught:
        read_recipe(with_(path, value))
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)
    assert caught.value.way_out


@pytest.mark.parametrize("key", ["functions", "asks"])
def test_keys_that_are_missing(key: str) -> None:
    document = {other: value for other, value in PLAIN.items() if other != key}
    with pytest.raises(InputError, match=f"the key '{key}' is missing; add '{key}'"):
        read_recipe(document)


def test_errors_name_the_file_and_the_place_in_it(tmp_path: Path) -> None:
    path = tmp_path / "gates.toml"
    with pytest.raises(InputError, match=r"gates\.toml: no such file"):
        load_recipe(path)
    path.write_text("functions = 3\nasks = []\n")
    with pytest.raises(InputError, match=r"gates\.toml: functions: 3 is no table"):
        load_recipe(path)
    path.write_text("functions = \n")
    with pytest.raises(InputError, match=r"gates\.toml: .*line 1"):
        load_recipe(path)
    (tmp_path / "some.txt").write_text("0111 # or\n\n01x1\n")
    path.write_text('[functions]\ntables = "some.txt"\n[[asks]]\n')
    with pytest.raises(InputError, match=r"some\.txt: line 3: '01x1' is no table"):
        load_recipe(path)
