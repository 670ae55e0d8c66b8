"""Comparing the encoding, with a layout fixed, to the simulator's three-valued play."""

from __future__ import annotations

from collections.abc import Iterator

from pysat.solvers import Solver

from synth.encoding import Encoding, Question, encode
from synth.encoding.formula import FALSE, TRUE
from synth.encoding.question import Play
from synth.layout import Layout
from synth.medium import Joint, Part
from synth.simulator import Settling, settle
from synth.spec import BooleanFunction, PinDemand, Spec

Signal = tuple[str, int, int, bool, bool]
"""Name, literal on the sure rail, on the possible rail, surely on, possibly on."""


def spec_of(layout: Layout) -> Spec:
    """A specification that asks for the layout's pins where they are, and for no value."""
    inputs = tuple(pin.name for pin in layout.inputs)
    function = BooleanFunction(
        inputs, {pin.name: "-" * (1 << len(inputs)) for pin in layout.outputs}
    )
    asks = {pin.name: PinDemand((pin.face,), pin.at, pin.joint) for pin in layout.pins}
    buffers = {cell: block for cell, block in layout.cells.items() if block.part is Part.BUFFER}
    return Spec(function, pins=asks, ground=layout.ground, fixed=buffers)


def encoding_of(layout: Layout, delay: int, count_links: bool) -> Encoding:
    """The plays of every layout that has the pins and buffers of this one."""
    question = Question(
        spec_of(layout),
        layout.size,
        delay,
        break_symmetry=False,
        count_links=count_links,
        allow_held=True,
    )
    return encode(question, goal=False)


def signals(encoding: Encoding, settling: Settling, play: Play, tick: int) -> Iterator[Signal]:
    """Every wire, solid, inverter, buffer and lead, as both sides see it."""
    layout, rails = settling.layout, encoding.rails
    assert play.row is not None
    row = play.row

    def both(masks: tuple[int, int]) -> tuple[bool, bool]:
        return bool(masks[0] >> row & 1), bool(masks[1] >> row & 1)

    for cell, block in layout.cells.items():
        if block.part in (Part.CLEAR, Part.LEDGE):
            continue
        reads = both((settling.surely(cell, tick), settling.possibly(cell, tick)))
        if block.part is Part.BUFFER:
            assert block.facing is not None
            surely, possibly = (
                rails.buffer(rail, play, cell, block.facing, tick)
                for rail in ("surely", "possibly")
            )
            yield f"buffer {cell}", surely, possibly, *reads
        family = {Part.WIRE: "wire", Part.SOLID: "charged", Part.INVERTER: "inverter"}
        if block.part in family:
            surely, possibly = (
                rails.power(rail, family[block.part], play, cell, tick)
                for rail in ("surely", "possibly")
            )
            yield f"{family[block.part]} {cell}", surely, possibly, *reads
        if block.part is Part.SOLID:
            driven = (settling.surely_driven(cell, tick), settling.possibly_driven(cell, tick))
            surely, possibly = (
                rails.power(rail, "driven", play, cell, tick) for rail in ("surely", "possibly")
            )
            yield f"driven {cell}", surely, possibly, *both(driven)
    for pin in layout.pins:
        if pin.joint is Joint.WIRE:
            surely, possibly = (
                rails.lead(rail, play, pin.at, pin.face, tick) for rail in ("surely", "possibly")
            )
            masks = (settling.surely_lead(pin.name, tick), settling.possibly_lead(pin.name, tick))
            yield f"lead {pin.name}", surely, possibly, *both(masks)


def assert_agreement(layout: Layout, delay: int, count_links: bool = False) -> int:
    """Assert that both sides agree everywhere; returns how many signals were compared.

    The exact play is one model of the formula, and no model says more: nothing else can be
    surely on, nothing that is possibly on can be off. (Only where a strength might run beyond
    the reach, an inexact formula may say more.)
    """
    encoding = encoding_of(layout, delay, count_links)
    chosen = encoding.literals_of(layout)
    settling = settle(layout)
    compared = 0
    with Solver(name="cadical195", bootstrap_with=encoding.clauses) as solver:
        exact = list(chosen)
        for play in encoding.question.plays:
            for tick in encoding.question.ticks:
                for name, surely, possibly, is_sure, is_possible in signals(
                    encoding, settling, play, tick
                ):
                    where = (name, play.row, tick)
                    exact += [surely if is_sure else -surely]
                    exact += [possibly if is_possible else -possibly]
                    compared += 1
                    if not is_sure and surely != FALSE and encoding.exact:
                        assert not solver.solve(assumptions=[*chosen, surely]), where
                    if is_possible and possibly != TRUE:
                        assert not solver.solve(assumptions=[*chosen, -possibly]), where
        assert solver.solve(assumptions=exact)
    return compared
