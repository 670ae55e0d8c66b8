"""Slices grown signal by signal: what comes is right, and the formula says what its goals say."""

from __future__ import annotations

from itertools import islice

from pysat.solvers import Solver

from synth.encoding import Question
from synth.encoding.placing.growth import encode_growth, output_goal
from synth.encoding.placing.signals import Origin
from synth.medium import Part
from synth.questions.problem import Problem
from synth.search.placing.growing import grown
from synth.search.placing.networks import networks
from synth.search.placing.pools import pools
from synth.simulator import check
from synth.simulator.rows import row_verdict
from synth.spec import Limits, Spec

AND_SLICE = Spec.parse("co = a & ci", stack="x", chain=[("co", "ci")], width=2, delay=5)


def test_a_slice_is_grown_that_works_in_a_row() -> None:
    own = Limits(length=5, width=2, height=4, delay=5)
    problem, _ = Problem.of(AND_SLICE.replace(limits=own))
    tries = islice(grown(problem, own), 1_000)
    layout = next(found for found in tries if found is not None)
    assert layout.width == 2
    verdict = check(layout, AND_SLICE)
    assert verdict.passes, verdict.faults
    row = row_verdict(layout, verdict, AND_SLICE.replace(limits=Limits()), 4, (None, None))
    assert row.passes, row.wrong


def test_limits_of_the_user_bound_the_box_and_assumed_ones_do_not() -> None:
    own = Limits(width=2, height=4, delay=5)
    problem, _ = Problem.of(AND_SLICE.replace(limits=own))
    sizes: list[tuple[int, int, int]] = []

    def fits(size: tuple[int, int, int]) -> bool:
        sizes.append(size)
        return False

    assert list(grown(problem, own, fits=fits)) == []
    assert {(width, height) for _, width, height in sizes} == {(2, 4)}


def test_goals_are_met_only_when_they_are_asked_for() -> None:
    (network,) = networks(AND_SLICE.function, 4, more=0, most=1)
    signals = pools([network], 5, chained=True)[0]
    growth = encode_growth(Question(AND_SLICE, (5, 2, 4), 5), signals)
    inverters = [signal.name for signal in signals.all if signal.origin is Origin.INVERTER]
    assert set(growth.goals) == {*inverters, output_goal("co")}
    with Solver(name="cadical195", bootstrap_with=growth.formula.clauses) as solver:
        # Nothing is asked: but for the buffer of the link, which sees nothing, all may be empty.
        empty = list(growth.empty.values())
        assert not solver.solve(assumptions=empty)
        assert solver.solve(assumptions=[-literal for literal in growth.goals.values()])
        assert solver.solve(assumptions=[growth.goals[inverters[0]]])
        layout = growth.decode(solver.get_model())
        assert any(block.part is Part.INVERTER for block in layout.cells.values())
        assert any(
            literal in solver.get_model() for literal in growth.makers[inverters[0]].values()
        )
        cell = next(cell for cell, block in layout.cells.items() if block.part is Part.INVERTER)
        solver.solve(assumptions=[growth.empty[cell]])
        assert cell not in growth.decode(solver.get_model()).cells
        assert solver.solve(assumptions=list(growth.goals.values()))
        whole = growth.decode(solver.get_model())
    assert check(whole, AND_SLICE.replace(limits=Limits()), delay=5).passes
