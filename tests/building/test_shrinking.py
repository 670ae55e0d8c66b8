"""Circuits shrunk over their seams: never worse, right, the same in every run."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.building import build
from synth.building.sampled import MOST_ROWS, TRIED, sampled
from synth.circuits.judging import judge
from synth.circuits.reading.equations import parse_equations
from synth.questions.outcome import Status
from synth.simulator import check
from synth.spec import Spec
from tests.circuits.drawn import drawn_circuit
from tests.circuits.test_reading import C17

FUNCTION = "n22 = n1 & n3 | n2 & ~(n3 & n6); n23 = n2 & ~(n3 & n6) | n7 & ~(n3 & n6)"


def test_a_circuit_is_shrunk_after_placing_and_goes_on_from_there(tmp_path: Path) -> None:
    circuit = parse_equations(C17, "c17")
    placed = build(circuit, rounds=20, seed=1)
    journal = tmp_path / "c17.jsonl"
    shrunk = build(circuit, rounds=20, effort=20_000, seed=1, resume=journal)
    assert placed.layout is not None
    assert shrunk.layout is not None
    assert shrunk.status is Status.FOUND
    assert shrunk.layout.volume < placed.layout.volume
    assert shrunk.layout.name == "c17"
    assert shrunk.delay is not None
    assert placed.delay is not None
    assert shrunk.delay <= placed.delay
    assert check(shrunk.layout, Spec.parse(FUNCTION)).passes
    assert build(circuit, rounds=20, effort=20_000, seed=1).layout == shrunk.layout
    again = build(circuit, rounds=0, resume=journal).layout
    assert again is not None
    assert again.volume == shrunk.layout.volume


@settings(max_examples=10)
@given(st.integers(0, 2**32))
def test_few_assignments_tell_apart_what_many_do(seed: int) -> None:
    circuit = drawn_circuit(Random(seed), ands=15, outputs=3)
    built = build(circuit, rounds=1)
    assert built.layout is not None
    network = judge(built.layout, circuit, built.pins, play=False).network
    assert network is not None
    function = sampled(circuit, network, built.pins)
    rows = list(function.assignments())
    assert 1 <= len(rows) == function.rows <= MOST_ROWS
    masks = [
        sum(bits[i] << row for row, bits in enumerate(rows)) for i in range(len(circuit.inputs))
    ]
    for name, column in circuit.evaluate(masks, (1 << len(rows)) - 1).items():
        assert function.outputs[built.pins[name]] == "".join(
            str(column >> row & 1) for row in range(len(rows))
        )
    if function.rows == MOST_ROWS:
        return

    def values(own: list[int], count: int) -> list[int]:
        by_pin = {built.pins[name]: mask for name, mask in zip(circuit.inputs, own, strict=True)}
        return network.values(by_pin, (1 << count) - 1)

    rng = Random(0)
    many = values([rng.getrandbits(TRIED) for _ in circuit.inputs], TRIED)
    few = values(masks, len(rows))
    for one, other in combinations(range(len(few)), 2):
        assert (few[one] == few[other]) == (many[one] == many[other])
