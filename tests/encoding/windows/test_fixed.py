"""Windows in layouts that do something: wholly fixed they say what the simulator says."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pysat.solvers import Solver

from synth.encoding import Question, encode
from synth.encoding.windows import encode_window, labels_of, promises_of
from synth.encoding.windows.window import Window
from synth.layout import Layout
from synth.medium import Cell, Part
from synth.simulator import check, legality, settle
from synth.spec import BooleanFunction, PinDemand, Spec, StackDemand
from tests.encoding.every_layout import as_key, held
from tests.encoding.test_mutations import mutants
from tests.encoding.windows import cutting
from tests.layout.strategies import layouts

RECORDS = Path(__file__).parents[3] / "benchmarks" / "records"
XOR = Layout.load(Path(__file__).parents[2] / "data" / "xor2.json")
XOR_SPEC = Spec(
    BooleanFunction(("a", "b"), {"q": "0110"}),
    pins={pin.name: PinDemand((pin.face,), pin.at, pin.joint) for pin in XOR.pins},
    stack=StackDemand("y", 2),
)
ADDER = Layout.load(RECORDS / "full_adder_layout.json")
ADDER_SPEC = Spec(
    BooleanFunction(("a", "b", "c"), {"s": "01101001", "co": "00010111"}),
    pins={pin.name: PinDemand((pin.face,), pin.at, pin.joint) for pin in ADDER.pins},
    stack=StackDemand("y"),
)


def test_of_every_mutant_a_window_with_nothing_free_says_what_the_simulator_says() -> None:
    seen = {True: 0, False: 0}
    for mutant in mutants(XOR):
        if held(mutant):
            continue
        passes = check(mutant, XOR_SPEC, delay=2).passes
        assert cutting.has_model(cutting.cut(mutant, XOR_SPEC, 2, ())) == passes
        seen[passes] += 1
    assert seen[True] > 10
    assert seen[False] > 100


@settings(max_examples=60, deadline=None)
@given(layouts(), st.integers(0, 4), st.data())
def test_of_random_layouts_a_window_with_nothing_free_says_what_the_simulator_says(
    layout: Layout, delay: int, data: st.DataObject
) -> None:
    """Asked for what it does it has a model; asked for one value more, or another, it has none."""
    layout = layout.replace(stack=None)
    if legality(layout) or held(layout) or not layout.inputs or not layout.outputs:
        return
    settling = settle(layout)
    rows = range(1 << len(layout.inputs))
    columns = {}
    for pin in layout.outputs:
        sure = settling.surely_reads(pin.name, delay)
        possible = settling.possibly_reads(pin.name, delay)
        read = ["1" if sure >> r & 1 else "-" if possible >> r & 1 else "0" for r in rows]
        columns[pin.name] = read
    asks = {pin.name: PinDemand((pin.face,), pin.at, pin.joint) for pin in layout.pins}
    names = tuple(pin.name for pin in layout.inputs)
    fed_back = any(settling.fed_back(name, delay) for name in names)
    changed = data.draw(st.sampled_from(sorted(columns)))
    row = data.draw(st.sampled_from(rows))
    for change in (False, True):
        if change:
            columns[changed][row] = {"0": "1", "1": "0", "-": "1"}[columns[changed][row]]
        function = BooleanFunction(names, {name: "".join(c) for name, c in columns.items()})
        spec = Spec(function, pins=asks, ground=layout.ground)
        window = cutting.cut(layout, spec, delay, ())
        assert cutting.has_model(window) == (not change and not fed_back)


def test_the_models_of_a_window_are_those_of_the_whole_question_that_agree() -> None:
    """In a stack, with signals that go out of the window and come back."""
    generator = random.Random(3)
    whole = encode(Question(XOR_SPEC, XOR.size, 2, break_symmetry=False))
    pinned = dict(zip(map(abs, whole.choices), whole.literals_of(XOR), strict=True))
    cells = whole.question.geometry.cells
    for size in (1, 2, 3, 3):
        free = set(generator.sample(cells, size))
        of_free = {
            abs(literal) for cell in free for literal in _choices_at(whole.formula._numbers, cell)
        }
        settled = [literal for variable, literal in pinned.items() if variable not in of_free]
        right = set()
        with Solver(name="cadical195", bootstrap_with=whole.clauses) as solver:
            while solver.solve(assumptions=settled):
                true = set(solver.get_model())
                right.add(as_key(whole.decode(true)))
                solver.add_clause([-v if v in true else v for v in of_free & pinned.keys()])
        encoding = encode_window(cutting.cut(XOR, XOR_SPEC, 2, free))
        found = {as_key(layout) for layout in cutting.models(encoding)}
        assert found == right
        assert as_key(XOR) in found


def _choices_at(numbers: dict[tuple[object, ...], int], cell: Cell) -> list[int]:
    families = ("solid", "insulator", "wire", "inverter", "buffer")
    return [n for key, n in numbers.items() if key[0] in families and key[1] == cell]


@pytest.mark.parametrize("kind", ["plain", "promises", "labels"])
def test_the_models_of_windows_in_a_full_adder_pass(kind: str) -> None:
    promises = promises_of(ADDER, ADDER_SPEC, 4) if kind == "promises" else None
    labels = labels_of(ADDER, ADDER_SPEC, 4) if kind == "labels" else None
    for corner in ((0, 0, 0), (4, 0, 2), (9, 0, 3)):
        free = {
            (corner[0] + dx, dy, corner[2] + dz)
            for dx in range(3)
            for dy in range(2)
            for dz in range(3)
        }
        window = cutting.cut(ADDER, ADDER_SPEC, 4, free, promises, labels)
        encoding = encode_window(window)
        assert cutting.has_model(window)
        for layout in cutting.models(encoding, 4):
            verdict = check(layout, ADDER_SPEC, delay=4)
            assert verdict.passes, verdict.faults
            assert {c: b.part for c, b in layout.cells.items() if c not in free} == {
                c: (Part.LEDGE if layout.cells[c].part is Part.LEDGE else b.part)
                for c, b in ADDER.cells.items()
                if c not in free
            }


def test_with_promises_a_window_costs_the_same_in_a_larger_layout() -> None:
    """Adders side by side, one of which has the pins: what stands far away is not looked at."""
    free = {(x, y, z) for x in (4, 5) for y in range(2) for z in range(6)}
    clauses, near = [], []
    for copies in (3, 9):
        size = (ADDER.length, 4 * copies, ADDER.height)
        cells = {
            (x, y + 4 * copy, z): block
            for (x, y, z), block in ADDER.cells.items()
            for copy in range(copies)
        }
        row = ADDER.replace(size=size, cells=cells, stack=None)
        spec = ADDER_SPEC.replace(stack=None)
        assert check(row, spec, delay=4).passes
        promises = promises_of(row, spec, 4)
        encoding = encode_window(cutting.cut(row, spec, 4, free, promises))
        clauses.append(len(encoding.clauses))
        near.append(len(encoding.statics.cells))
        assert next(cutting.models(encoding, 1)).size == size
    assert clauses[0] == clauses[1]
    assert near[0] == near[1] < row.part_count


def test_a_window_knows_what_was_asked_by_content() -> None:
    free = {(1, 0, 1), (1, 0, 2)}
    window = cutting.cut(XOR, XOR_SPEC, 2, free)
    again = cutting.cut(Layout.from_document(XOR.document()), XOR_SPEC, 2, free)
    other: Window = cutting.cut(XOR, XOR_SPEC, 2, free | {(2, 0, 1)})
    assert window.key == again.key != other.key


def test_where_nothing_is_fixed_a_window_is_known_by_the_signals_that_are_placed() -> None:
    """Else what holds of one network would be taken to hold of every other one."""
    labels = labels_of(ADDER, ADDER_SPEC, 4)
    fewer = replace(labels, signals=labels.signals[:-1])
    everywhere = set(product(*map(range, ADDER.size)))
    whole, part = (cutting.cut(ADDER, ADDER_SPEC, 4, free) for free in (everywhere, {(1, 0, 1)}))
    assert not whole.cells
    keys = [replace(whole, labels=own).near_key(2) for own in (None, labels, fewer, labels)]
    assert keys[1] == keys[3]
    assert len(set(keys)) == 3
    assert replace(part, labels=labels).near_key(2) == replace(part, labels=fewer).near_key(2)
