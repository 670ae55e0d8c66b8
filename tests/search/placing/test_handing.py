"""Networks that hand a link on: they compute its output, and few inverters are on its way."""

from __future__ import annotations

from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.medium import ChainLink
from synth.search.placing.handing import KEPT_ROW, TURNED_ROW, handing
from synth.search.placing.networks import LinkPath, Network, networks
from synth.search.placing.steps import on_the_way
from synth.spec import BooleanFunction
from synth.spec.targets import load_target

LINK = ChainLink("co", "ci")
DEPTH, SOME = 5, 4


def handed(function: BooleanFunction, row: int) -> list[Network]:
    return [*islice(handing(function, LINK, row, DEPTH, SOME), SOME)]


def computed(network: Network) -> str:
    """The truth table of its only output."""
    rows = {signal.name: signal.rows for signal in network.signals()}
    (gathered,) = network.outputs
    return "".join(
        "01"[any(rows[name] >> row & 1 for name in gathered)]
        for row in range(network.function.rows)
    )


def ways(function: BooleanFunction) -> set[tuple[str, str]]:
    """What the output is while the input is off and on, of each assignment of the others."""
    column, place = function.outputs["co"], function.inputs.index("ci")
    bit = 1 << len(function.inputs) - 1 - place
    return {(column[row], column[row | bit]) for row in range(function.rows) if not row & bit}


@given(
    st.text("01-", min_size=8, max_size=8),
    st.permutations(("a", "b", "ci")),
    st.sampled_from((TURNED_ROW, KEPT_ROW)),
)
def test_they_compute_the_output_whenever_it_is_made_in_this_way(
    column: str, inputs: list[str], row: int
) -> None:
    function = BooleanFunction(tuple(inputs), {"co": column})
    found = handed(function, row)
    for network in found:
        made = computed(network)
        assert all(wanted in ("-", value) for wanted, value in zip(column, made, strict=True))
        way = on_the_way(network, (LINK,)) - {"ci"}
        assert len(way) <= row
        assert not any("ci" in network.hears[n] for n in range(len(network.hears) - len(way)))
    # Without any kill it needs no inverter, and other networks are there for that.
    kept = ("1", "0") not in ways(function) and bool(ways(function) & {("0", "0"), ("-", "0")})
    turned = ("0", "1") not in ways(function) and bool(ways(function) & {("0", "0"), ("0", "-")})
    assert bool(found) == (turned or (kept and row == KEPT_ROW))


def test_the_carry_of_an_adder_is_handed_on_by_two_signals() -> None:
    """Of networks with fewest inverters none does."""
    spec = load_target("full-adder-slice")
    first = handed(spec.function, KEPT_ROW)[0]
    assert first.hears[-2] == ("ci",)
    carry = BooleanFunction(spec.function.inputs, {"co": spec.function.outputs["co"]})
    path = LinkPath(spec.chain, KEPT_ROW)
    fewest = next(networks(carry, DEPTH, most=1, path=path))
    assert len(first.hears) >= len(fewest.hears)


@pytest.mark.parametrize("row", [0, TURNED_ROW])
def test_none_keeps_a_carry_with_fewer_turns(row: int) -> None:
    assert handed(load_target("full-adder-slice").function, row) == []
