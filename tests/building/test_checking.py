"""A layout held against a circuit: as the play of every assignment says, and proven beyond it."""

from __future__ import annotations

from functools import cache
from random import Random

import pytest

from synth.building import build
from synth.building.checking import check_circuit
from synth.circuits.circuit import Circuit
from synth.circuits.pins import spec_of
from synth.circuits.reading.equations import parse_equations
from synth.errors import InputError
from synth.layout import Layout, Pin, Stack
from synth.medium import LEDGE, SOLID, WIRE, Block, Cell, Direction, Part, Role, inverter
from synth.simulator import check
from tests.circuits.drawn import drawn_circuit
from tests.circuits.test_miter import laid_out


def parity(inputs: int, *, wrong: bool = False) -> Circuit:
    """Whether the last input, and an odd number of the first two, or else all others, are on.

    ``wrong``: another value in a single assignment.
    """
    names = [f"a[{index}]" for index in range(inputs)]
    alone = " & ".join(["~a[0]", *names[1:]])
    text = f"q = {names[-1]} & (a[0] ^ a[1] | {' & '.join(names[2:])})"
    return parse_equations(f"{text} ^ {alone}" if wrong else text, "parity")


@cache
def built(inputs: int) -> Layout:
    layout = build(parity(inputs), rounds=0, effort=1).layout
    assert layout is not None
    return layout


@pytest.mark.parametrize("seed", range(8))
def test_it_says_what_the_play_of_every_assignment_says(seed: int) -> None:
    draw = Random(seed)
    circuit = drawn_circuit(draw)
    layout = laid_out(circuit)
    cells = [cell for cell, block in layout.cells.items() if block.part is not Part.LEDGE]
    mutants = [
        layout.replace(cells={at: block for at, block in layout.cells.items() if at != gone})
        for gone in draw.sample(cells, min(5, len(cells)))
    ]
    for one in (layout, *mutants):
        played = check(one, spec_of(circuit))
        found = check_circuit(one, circuit)
        assert (found.legal, found.function) == (played.legal, played.function)
        assert found.passes is played.passes
        if found.passes:
            assert found.least == found.most == played.delay


def test_many_inputs_are_proven_and_a_single_wrong_assignment_is_seen() -> None:
    found = check_circuit(built(17), parity(17))
    assert found.passes
    assert found.function
    assert "equal in every assignment of 17 inputs, by a proof" in found.how
    assert found.least is not None
    assert found.most is not None
    assert 0 < found.least <= found.most
    for circuit in (parity(17, wrong=True), parity(9, wrong=True)):
        found = check_circuit(built(len(circuit.inputs)), circuit)
        assert found.function is False
        assert not found.passes
        ones = dict(word.split("=") for word in found.faults[0].split() if "=" in word)
        assert ones == {name: "0" if name == "a[0]" else "1" for name in circuit.inputs}


def test_a_delay_is_kept_broken_or_not_known() -> None:
    layout, circuit = built(17), parity(17)
    own = check_circuit(layout, circuit)
    assert own.least is not None
    assert own.most is not None
    assert check_circuit(layout, circuit, delay=own.most).passes
    late = check_circuit(layout, circuit, delay=own.least - 1)
    assert late.function
    assert late.faults == (f"{own.least - 1} ticks asked; it takes at least {own.least}",)
    unknown = check_circuit(layout, None, delay=own.most - 1)
    assert "is not known" in unknown.faults[0]


def with_a_ring(layout: Layout) -> Layout:
    """The layout, and beside it an inverter that switches itself: no netlist, and no other output.

    The inverter hangs on a solid; its wire climbs to the top of that solid.
    """
    length, width, height = layout.size
    y = width + 1
    ring: dict[Cell, Block] = {
        (1, y, 1): SOLID,
        (2, y, 1): inverter(Direction.NX),
        (2, y + 1, 0): LEDGE,
        (2, y + 1, 1): WIRE,
        (1, y + 1, 0): LEDGE,
        (1, y + 1, 1): WIRE,
        (1, y, 2): WIRE,
    }
    size = (length, width + 3, height)
    return layout.replace(size=size, cells={**layout.cells, **ring}, pieces=())


def test_what_is_no_netlist_is_played_and_only_plays_of_all_assignments_pass() -> None:
    found = check_circuit(with_a_ring(built(9)), parity(9))
    assert found.passes
    assert found.how == "right in all 512 assignments, by play"
    assert found.least == found.most == check(built(9), spec_of(parity(9))).delay
    wrong = check_circuit(with_a_ring(built(9)), parity(9, wrong=True))
    assert wrong.function is False
    assert "output 'q' does not settle at its value in all of 512" in wrong.faults[0]
    some = check_circuit(with_a_ring(built(17)), parity(17), delay=100)
    assert some.function is None
    assert not some.passes
    assert (
        some.how == "right in 4,096 assignments played at random, which is no proof for 17 inputs"
    )
    assert "an inverter or buffer depends on itself" in some.faults[0]
    assert "is not known" in some.faults[1]


def test_an_input_that_is_fed_back_is_a_fault() -> None:
    layout = Layout(
        size=(3, 1, 2),
        cells={
            (0, 0, 0): LEDGE,
            (0, 0, 1): WIRE,
            (1, 0, 1): inverter(Direction.PX),
            (2, 0, 1): SOLID,
        },
        pins=(
            Pin("a", Role.INPUT, (0, 0, 1), Direction.NX),
            Pin("q", Role.OUTPUT, (0, 0, 1), Direction.PY),
        ),
    )
    found = check_circuit(layout, parse_equations("inputs = a\nq = 1'b1"))
    assert found.function is False
    assert found.faults == ("input 'a' is fed back",)
    assert not check(layout, spec_of(parse_equations("inputs = a\nq = 1'b1"))).passes


def test_without_a_circuit_it_is_legal_and_settles() -> None:
    found = check_circuit(built(17), None)
    assert found.passes
    assert found.function is None
    assert found.most == check_circuit(built(17), parity(17)).most
    assert "not asked; 17 inputs are too many for a table" in found.text()
    with pytest.raises(InputError, match="depends on itself"):
        check_circuit(with_a_ring(built(17)), None)


def test_what_cannot_be_judged_so_is_refused_and_faults_of_legality_are_told() -> None:
    layout = built(9)
    with pytest.raises(InputError, match="only one that stands alone is judged"):
        check_circuit(layout.replace(stack=Stack("y", layout.width)), parity(9))
    with pytest.raises(InputError, match=r"not those of the circuit: surplus input 'a\[8\]'"):
        check_circuit(layout, parity(8))
    bare = layout.replace(
        cells={cell: block for cell, block in layout.cells.items() if block is not LEDGE}
    )
    found = check_circuit(bare, parity(9))
    assert not found.legal
    assert found.function is None
    assert found.faults
    assert f"Faults: {len(found.faults)}" in found.text()
