"""What a layout was made for, as a specification; and that a damaged layout fails as that."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.errors import InputError
from synth.layout import Layout, MadeFor, Pin
from synth.layout.made_for import Table
from synth.layout.transform import ALL_SYMMETRIES
from synth.medium import SOLID, Direction, Role
from synth.search import solve
from synth.simulator import check
from synth.simulator.made_for import made_for, spec_made_for
from synth.spec import BooleanFunction, Spec
from tests.spec.strategies import functions


def pinned(function: BooleanFunction) -> Layout:
    """A layout with the pins of a function, and nothing else that matters."""
    names = [*((name, Role.INPUT) for name in function.inputs)]
    names += [(name, Role.OUTPUT) for name in function.outputs]
    pins = [
        Pin(name, role, (0, 0, 2 * number), Direction.NX)
        for number, (name, role) in enumerate(names)
    ]
    return Layout((1, 1, 2 * len(pins) + 1), {}, tuple(pins))


@settings(deadline=None)
@given(functions(), st.none() | st.integers(0, 9))
def test_every_function_comes_back(function: BooleanFunction, delay: int | None) -> None:
    layout = pinned(function).replace(made_for=made_for(function, delay))
    again = Layout.from_document(layout.document())
    spec = spec_made_for(again)
    assert spec is not None
    assert spec.function == function
    assert spec.limits.delay == delay


def test_dont_cares_and_long_functions_are_kept_as_tables() -> None:
    loose = BooleanFunction(("a",), {"q": "1-"})
    assert made_for(loose, 1).function == Table(("a",), ("q",), ("0 1", "1 -"))
    many = "abcdefgh"
    parity = "".join(str(row.bit_count() % 2) for row in range(256))
    long = BooleanFunction(tuple(many), {"q": parity})
    kept = made_for(long, 9)
    assert isinstance(kept.function, Table)
    spec = spec_made_for(pinned(long).replace(made_for=kept))
    assert spec is not None
    assert spec.function == long


@pytest.mark.parametrize(("inputs", "output"), [(("or",), "q"), (("a",), "nand"), ((), "assign")])
def test_names_that_no_equation_can_hold_are_kept_in_tables(
    inputs: tuple[str, ...], output: str
) -> None:
    function = BooleanFunction(inputs, {output: "01"[: 1 << len(inputs)]})
    kept = made_for(function, None)
    assert isinstance(kept.function, Table)
    spec = spec_made_for(pinned(function).replace(made_for=kept))
    assert spec is not None
    assert spec.function == function


def test_a_layout_that_does_not_say_has_no_purpose() -> None:
    assert spec_made_for(pinned(BooleanFunction(("a",), {"q": "10"}))) is None


@pytest.mark.parametrize(
    ("kept", "said"),
    [
        (MadeFor("q = a ^"), "function, column"),
        (MadeFor("q = ~b"), "function"),
        (MadeFor("r = ~a"), "surplus output 'q'"),
        (MadeFor("q = ~a", 1000), "delay"),
        (MadeFor(Table(("a",), ("q",), ("0 1",))), "function, table"),
    ],
)
def test_what_is_no_function_of_its_pins_is_said(kept: MadeFor, said: str) -> None:
    layout = pinned(BooleanFunction(("a",), {"q": "10"})).replace(made_for=kept)
    with pytest.raises(InputError) as caught:
        spec_made_for(layout)
    assert said in str(caught.value)


@pytest.fixture(scope="module")
def found() -> Layout:
    spec = Spec.parse("q = a & ~b", length=2, width=2, height=3, stack="y", delay=2)
    outcome = solve(spec, workers=1)
    assert outcome.layout is not None
    return outcome.layout


def test_the_search_says_what_it_made(found: Layout) -> None:
    assert found.made_for == MadeFor("q = a & ~b", 2)


def test_every_part_that_is_missing_fails_it_as_what_it_was_made_for(found: Layout) -> None:
    """Mutation: without its purpose a layout short of a part may pass as another function."""
    passing_as_another = 0
    for cell in found.cells:
        for symmetry in ALL_SYMMETRIES[::3]:
            damaged = symmetry(found.with_cells({cell: None}))
            spec = spec_made_for(damaged)
            assert spec is not None
            assert not check(damaged, spec).passes, cell
            passing_as_another += check(damaged).passes
    assert passing_as_another


def test_every_wrong_part_is_judged_as_the_search_asked(found: Layout) -> None:
    """Mutation: the purpose judges a layout exactly as the question that it was found for."""
    asked = Spec.parse("q = a & ~b", delay=2)
    for cell in found.cells:
        damaged = found.with_cells({cell: SOLID})
        spec = spec_made_for(damaged)
        assert spec is not None
        assert check(damaged, spec).passes == check(damaged, asked).passes


def test_a_smallest_delay_is_what_it_was_made_for() -> None:
    spec = Spec.parse("q = ~a", length=2, width=1, height=2, delay=3)
    slow, fast = (solve(spec, minimize=measures, workers=1) for measures in (["volume"], ["delay"]))
    assert slow.layout is not None
    assert fast.layout is not None
    assert slow.layout.made_for == MadeFor("q = ~a", 3)
    assert fast.layout.made_for == MadeFor("q = ~a", 1)
