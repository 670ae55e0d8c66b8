"""One cell of a right layout changed: encoding and simulator judge every mutant alike."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from pysat.solvers import Solver

from synth.encoding import Question, encode
from synth.layout import Layout
from synth.simulator import check, legality
from synth.spec import BooleanFunction, PinDemand, Spec, StackDemand
from tests.encoding.every_layout import BLOCKS, held

XOR = Path(__file__).parents[1] / "data" / "xor2.json"
DELAY = 2


def mutants(layout: Layout) -> Iterator[Layout]:
    """Every layout that differs in one cell, clear and ledge taken for one."""
    length, width, height = layout.size
    for x in range(length):
        for y in range(width):
            for z in range(height):
                for block in BLOCKS:
                    if layout.cells.get((x, y, z)) != block:
                        yield layout.with_cells({(x, y, z): block})


def test_encoding_and_simulator_judge_every_mutant_alike() -> None:
    """Illegal mutants have no place in the formula; of the others most are refused by both."""
    right = Layout.load(XOR)
    function = BooleanFunction(("a", "b"), {"q": "0110"})
    asks = {pin.name: PinDemand((pin.face,), pin.at, pin.joint) for pin in right.pins}
    spec = Spec(function, pins=asks, stack=StackDemand("y", 2))
    encoding = encode(Question(spec, right.size, DELAY, break_symmetry=False))
    passed = refused = illegal = 0
    with Solver(name="cadical195", bootstrap_with=encoding.clauses) as solver:
        assert check(right, spec, delay=DELAY).passes
        assert solver.solve(assumptions=encoding.literals_of(right))
        for mutant in mutants(right):
            barred = bool(legality(mutant)) or held(mutant)
            try:
                chosen = encoding.literals_of(mutant)
            except ValueError:
                # A part where the box or the stack admits none: the simulator agrees.
                assert barred or not check(mutant, spec, delay=DELAY).passes
                illegal += 1
                continue
            allowed = solver.solve(assumptions=chosen)
            if barred:
                assert not allowed
                illegal += 1
                continue
            passes = check(mutant, spec, delay=DELAY).passes
            assert allowed == passes, mutant.document()
            passed += passes
            refused += not passes
    assert passed + refused + illegal == 32 * (len(BLOCKS) - 1)
    assert refused > 2 * passed > 0
    assert illegal > 0
