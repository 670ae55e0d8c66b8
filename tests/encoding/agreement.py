"""Comparing the encoding, with a layout fixed, to the simulator's three-valued play."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from operator import methodcaller

from pysat.solvers import Solver

from synth.encoding import Encoding, Question, encode
from synth.encoding.formula import FALSE, TRUE
from synth.encoding.question import Play
from synth.encoding.rails import RAILS, Instant
from synth.layout import Layout
from synth.medium import Joint, Part
from synth.simulator import Settling, settle
from synth.spec import BooleanFunction, PinDemand, Spec

Signal = tuple[str, list[int], list[int], bool, bool]
"""Name, literals on the sure rail, on the possible rail (any of them says that it is on), surely
on, possibly on."""


def spec_of(layout: Layout) -> Spec:
    """A specification that asks for the layout's pins where they are, and for no value."""
    inputs = tuple(pin.name for pin in layout.inputs)
    function = BooleanFunction(
        inputs, {pin.name: "-" * (1 << len(inputs)) for pin in layout.outputs}
    )
    asks = {pin.name: PinDemand((pin.face,), pin.at, pin.joint) for pin in layout.pins}
    buffers = {cell: block for cell, block in layout.cells.items() if block.part is Part.BUFFER}
    return Spec(function, pins=asks, ground=layout.ground, fixed=buffers)


def encoding_of(layout: Layout, delay: int, without: Iterable[str] = ()) -> Encoding:
    """The plays of every layout that has the pins and buffers of this one.

    Args:
        without: accelerations left out.
    """
    question = Question(
        spec_of(layout),
        layout.size,
        delay,
        break_symmetry=False,
        allow_held=True,
    )
    return encode(question.without(without), goal=False)


def signals(encoding: Encoding, settling: Settling, play: Play, tick: int) -> Iterator[Signal]:
    """Every wire, solid, inverter, buffer and lead, as both sides see it."""
    layout, rails = settling.layout, encoding.rails
    assert play.row is not None
    row = play.row

    def signal(name: str, masks: tuple[int, int], look: Callable[[Instant], int]) -> Signal:
        surely, possibly = (
            [look(now) for now in rails.instants(rail, play, tick)] for rail in RAILS
        )
        return name, surely, possibly, bool(masks[0] >> row & 1), bool(masks[1] >> row & 1)

    for cell, block in layout.cells.items():
        if block.part in (Part.CLEAR, Part.LEDGE):
            continue
        reads = (settling.surely(cell, tick), settling.possibly(cell, tick))
        if block.part is Part.BUFFER:
            yield signal(f"buffer {cell}", reads, methodcaller("buffer", cell, block.facing))
            continue
        family = {Part.WIRE: "wire", Part.SOLID: "charged", Part.INVERTER: "inverter"}[block.part]
        yield signal(f"{family} {cell}", reads, methodcaller("power", family, cell))
        if block.part is Part.SOLID:
            driven = (settling.surely_driven(cell, tick), settling.possibly_driven(cell, tick))
            yield signal(f"driven {cell}", driven, methodcaller("power", "driven", cell))
    for pin in layout.pins:
        if pin.joint is Joint.WIRE:
            masks = (settling.surely_lead(pin.name, tick), settling.possibly_lead(pin.name, tick))
            yield signal(f"lead {pin.name}", masks, methodcaller("lead", pin.at, pin.face))


def assert_agreement(layout: Layout, delay: int, without: Iterable[str] = ()) -> int:
    """Assert that both sides agree everywhere; returns how many signals were compared.

    The exact play is one model of the formula, and no model says more: nothing else can be
    surely on, nothing that is possibly on can be off. (Only where a strength might run beyond
    the reach, an inexact formula may say more.)
    """
    encoding = encoding_of(layout, delay, without)
    chosen = encoding.literals_of(layout)
    settling = settle(layout)
    compared = 0
    with Solver(name="cadical195", bootstrap_with=encoding.clauses) as solver:
        exact = list(chosen)
        for play in encoding.question.plays:
            for tick in encoding.question.ticks:
                # Where a strength may fade, what an input alone reaches at tick 0 may be more.
                may_fade = tick not in encoding.question.own_ticks(play) and not encoding.exact
                for name, surely, possibly, is_sure, is_possible in signals(
                    encoding, settling, play, tick
                ):
                    where = (name, play.row, tick)
                    for literals, is_on in ((surely, is_sure), (possibly, is_possible)):
                        if literals is surely and may_fade:
                            continue
                        if not is_on:
                            exact += [-literal for literal in literals]
                        elif len(literals) == 1:
                            exact += literals
                    compared += 1
                    if not is_sure and encoding.exact:
                        for literal in surely:
                            if literal != FALSE:
                                assert not solver.solve(assumptions=[*chosen, literal]), where
                    if is_possible and TRUE not in possibly:
                        off = [-literal for literal in possibly]
                        assert not solver.solve(assumptions=[*chosen, *off]), where
        assert solver.solve(assumptions=exact)
    return compared
