"""Functions and their classes: numbers of the literature, and images under every permutation."""

from __future__ import annotations

from collections import Counter
from itertools import permutations, product
from math import factorial

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
    npn_classes,
    p_classes,
    representative,
)

P_CLASSES = {1: 4, 2: 12, 3: 80, 4: 3984}
"""OEIS A003180: classes of functions of n variables under permutation of the variables."""

NPN_CLASSES = {1: 2, 2: 4, 3: 14, 4: 222}
"""OEIS A000370: the same, also under negation of variables and of the value."""

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


def image(table: str, order: tuple[int, ...], negated: tuple[int, ...], value: int) -> str:
    """Exchange inputs, negate some of them and perhaps the value, by plain definition."""
    of = values(table)
    return "".join(
        str(of[tuple(bits[old] ^ flip for old, flip in zip(order, negated, strict=True))] ^ value)
        for bits in of
    )


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


@pytest.mark.parametrize("inputs", NPN_CLASSES)
def test_number_of_npn_classes(inputs: int) -> None:
    found = npn_classes(inputs)
    assert len(found) == len(set(found)) == NPN_CLASSES[inputs]
    assert set(found) <= set(p_classes(inputs))


@pytest.mark.parametrize("inputs", DEPENDS_ON_ALL)
def test_number_of_functions_without_idle_inputs(inputs: int) -> None:
    found = [table for table in all_tables(inputs) if depends_on_all(table)]
    assert len(found) == DEPENDS_ON_ALL[inputs]


@pytest.mark.parametrize("inputs", [-1, 5])
def test_numbers_of_inputs_beyond_those_enumerated(inputs: int) -> None:
    with pytest.raises(ValueError, match=f"classes of {inputs} inputs"):
        p_classes(inputs)


@given(tables, st.data())
def test_every_image_has_the_same_representative(table: str, data: st.DataObject) -> None:
    inputs = inputs_of(table)
    order = tuple(data.draw(st.permutations(range(inputs))))
    assert representative(image(table, order, (0,) * inputs, 0)) == representative(table)


@given(tables)
def test_the_representative_is_the_least_image(table: str) -> None:
    inputs = inputs_of(table)
    plain = (0,) * inputs
    images = {image(table, order, plain, 0) for order in permutations(range(inputs))}
    assert representative(table) == min(images)
    assert representative(table) in p_classes(inputs)


@pytest.mark.parametrize("inputs", [1, 2, 3])
def test_npn_classes_part_all_functions(inputs: int) -> None:
    """The images of the representatives, by definition, are all functions, each once."""
    counted: Counter[str] = Counter()
    for table in npn_classes(inputs):
        counted.update(
            {
                image(table, order, negated, value)
                for order in permutations(range(inputs))
                for negated in product((0, 1), repeat=inputs)
                for value in (0, 1)
            }
        )
    assert counted == Counter(all_tables(inputs))


@pytest.mark.parametrize("inputs", [1, 2, 3])
def test_p_classes_part_all_functions(inputs: int) -> None:
    counted = Counter(map(representative, all_tables(inputs)))
    assert sorted(counted) == p_classes(inputs)
    assert counted.total() == 2 ** (2**inputs)
    assert max(counted.values()) <= factorial(inputs)


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
