"""Functions and their classes: numbers of the literature, and images under every permutation."""

from __future__ import annotations

from collections import Counter
from itertools import permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.spec.classes import (
    NAMES,
    all_tables,
    classes_of,
    depends_on_all,
    every_input_matters,
    function_of,
    members,
    p_classes,
)

P_CLASSES = {1: 4, 2: 12, 3: 80, 4: 3984}
"""OEIS A003180: classes of functions of n variables under permutation of the variables."""

DEPENDS_ON_ALL = {0: 2, 1: 2, 2: 10, 3: 218}
"""OEIS A000371: functions that depend on each of their n variables."""

tables = st.integers(0, 4).flatmap(
    lambda inputs: st.text("01", min_size=1 << inputs, max_size=1 << inputs)
)


def values(table: str) -> dict[tuple[int, ...], int]:
    """A table as a mapping from assignments, by plain definition."""
    inputs = len(table).bit_length() - 1
    return {
        bits: int(value) for bits, value in zip(product((0, 1), repeat=inputs), table, strict=True)
    }


def image(table: str, order: tuple[int, ...]) -> str:
    """Exchange inputs, by plain definition."""
    of = values(table)
    return "".join(str(of[tuple(bits[old] for old in order)]) for bits in of)


def inputs_of(table: str) -> int:
    return len(table).bit_length() - 1


@pytest.mark.parametrize(("inputs", "count"), [(0, 2), (1, 4), (2, 16), (3, 256)])
def test_number_of_functions(inputs: int, count: int) -> None:
    found = list(all_tables(inputs))
    assert len(found) == len(set(found)) == count
    assert {len(table) for table in found} == {1 << inputs}
    assert found == sorted(found)


@pytest.mark.parametrize("inputs", P_CLASSES)
def test_number_of_p_classes(inputs: int) -> None:
    found = p_classes(inputs)
    assert len(found) == len(set(found)) == P_CLASSES[inputs]
    assert found == sorted(found)


@pytest.mark.parametrize("inputs", DEPENDS_ON_ALL)
def test_number_of_functions_without_idle_inputs(inputs: int) -> None:
    found = [table for table in all_tables(inputs) if depends_on_all(table)]
    assert len(found) == DEPENDS_ON_ALL[inputs]


@pytest.mark.parametrize("inputs", [-1, 5])
def test_numbers_of_inputs_beyond_those_enumerated(inputs: int) -> None:
    with pytest.raises(ValueError, match=f"classes of {inputs} inputs"):
        p_classes(inputs)


@pytest.mark.parametrize("inputs", [1, 2, 3])
def test_classes_part_all_functions(inputs: int) -> None:
    """The images of the representatives, by definition, are all functions, each once; none of them
    comes before its representative.
    """
    counted: Counter[str] = Counter()
    for table in p_classes(inputs):
        images = {image(table, order) for order in permutations(range(inputs))}
        assert min(images) == table
        counted.update(images)
    assert counted == Counter(all_tables(inputs))


@given(tables, st.data())
def test_idle_inputs_are_those_that_change_nothing(table: str, data: st.DataObject) -> None:
    of = values(table)
    inputs = inputs_of(table)

    def is_idle(index: int) -> bool:
        return all(
            value == of[(*bits[:index], 1 - bits[index], *bits[index + 1 :])]
            for bits, value in of.items()
        )

    assert depends_on_all(table) == (not any(map(is_idle, range(inputs))))


@given(tables)
def test_a_table_as_a_function(table: str) -> None:
    function = function_of(table)
    assert function.inputs == tuple(NAMES[: inputs_of(table)])
    assert dict(function.outputs) == {"q": table}


def test_classes_of_two_outputs_counted_by_orbits() -> None:
    """Burnside's lemma, from memory: the mean number of functions that an exchange leaves alone.

    Of two inputs and two outputs: all 256 by no exchange; 16 have equal outputs; 8 * 8 pairs of
    functions do not change as the inputs are exchanged; 16 turn into each other as both are.
    """
    found = classes_of(2, 2)
    assert len(found) == (256 + 16 + 64 + 16) // 4
    every = Counter(columns for one in found for columns in members(one))
    assert every == Counter(product(all_tables(2), repeat=2))


@pytest.mark.parametrize("inputs", P_CLASSES)
def test_classes_of_one_output_are_the_p_classes(inputs: int) -> None:
    assert classes_of(inputs, 1) == [(table,) for table in p_classes(inputs)]


def test_classes_that_are_too_many_to_list() -> None:
    with pytest.raises(ValueError, match="too many"):
        classes_of(4, 2)


@given(tables)
def test_an_input_matters_where_it_changes_an_output(table: str) -> None:
    constant = "0" * len(table)
    assert every_input_matters((table,)) == depends_on_all(table)
    assert every_input_matters((constant, table)) == depends_on_all(table)
    assert every_input_matters(("-" * len(table),)) == (len(table) == 1)
