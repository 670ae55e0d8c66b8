"""Structure first, bit by bit: a placement whose signals are asked for one after another.

A whole placement (``placement``) is hard to find at once where a box has a hundred cells. Here each
inverter, and each output, is a *goal* of its own: a literal that is assumed once its turn has come.
Until then its signal need not be made, and an output may read nothing. The buffer of a link may see
nothing meanwhile. Further literals hold a cell to what it has, or empty it, so that a search can go
from one placement to the next by changing a few cells at a time.

With every goal assumed a model is a right layout, as in ``placement``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from synth.encoding.decode import decode
from synth.encoding.formula import FALSE, Formula
from synth.encoding.placing.placement import PlacementRules, state_flow
from synth.encoding.placing.signals import Origin, Signals
from synth.encoding.question import Question
from synth.encoding.statics import Statics
from synth.layout import Layout
from synth.medium import HOST_DIRECTIONS, LEVEL_DIRECTIONS, Cell

LONGEST_RUN = 6
"""Most links between a wire and its source, in the first place: later moves may make it longer."""


@dataclass(frozen=True)
class Growth:
    """The formula, and what its literals mean.

    Attributes:
        formula: all clauses; without a goal the empty box is a model.
        goals: for each signal that an inverter makes, and for each output, the literal that asks
            for it, by name.
        parts: for each cell the literals of what it may hold.
        empty: for each cell the literal that empties it.
        makers: for each signal that an inverter makes, by name: the literals that say where.
        carriers: for each signal, by name: the literals that say which cells carry it, by cell.
    """

    question: Question
    formula: Formula
    statics: Statics
    goals: dict[str, int]
    parts: dict[Cell, tuple[int, ...]]
    empty: dict[Cell, int]
    makers: dict[str, dict[Cell, int]]
    carriers: dict[str, dict[Cell, int]]

    def decode(self, model: Iterable[int]) -> Layout:
        """The layout that a model describes."""
        return decode(self.question, self.statics, model)


def encode_growth(question: Question, signals: Signals) -> Growth:
    """Write the formula of a placement in which each signal and output is a goal.

    Args:
        question: the box, the delay (T) and the specification.
        signals: what may be used; those known after T are left out.
    """
    formula, statics, shape, flow = state_flow(question, signals, LONGEST_RUN)
    used = flow.signals
    made_names = [signal.name for signal in used if signal.origin is Origin.INVERTER]
    goals = {name: formula.declare("goal", name) for name in made_names}
    outputs = {name: formula.declare("read", name) for name in question.spec.function.outputs}
    rules = PlacementRules(formula, question, statics, shape, flow, used, outputs)
    rules.state(signals)
    makers: dict[str, dict[Cell, int]] = {}
    carriers: dict[str, dict[Cell, int]] = {}
    for number, signal in enumerate(used):
        made = {cell: flow.of(number).power("inverter", cell) for cell in statics.cells}
        wires = {cell: flow.of(number).power("wire", cell) for cell in statics.cells}
        carriers[signal.name] = _possible(wires) | _possible(made)
        if signal.origin is Origin.INVERTER:
            makers[signal.name] = _possible(made)
            formula.add("a goal is a signal made", [-goals[signal.name], *_possible(made).values()])
    parts = {cell: _parts(statics, cell) for cell in statics.cells}
    empty = {cell: formula.declare("emptied", cell) for cell in statics.cells}
    for cell, literals in parts.items():
        for literal in literals:
            formula.add("an emptied cell", [-empty[cell], -literal])
    goals |= {output_goal(name): literal for name, literal in outputs.items()}
    return Growth(question, formula, statics, goals, parts, empty, makers, carriers)


def output_goal(name: str) -> str:
    """What the goal of an output is called: no signal has such a name."""
    return f"output {name}"


def _possible(literals: dict[Cell, int]) -> dict[Cell, int]:
    return {cell: literal for cell, literal in literals.items() if literal != FALSE}


def _parts(statics: Statics, cell: Cell) -> tuple[int, ...]:
    found = [statics.solid(cell), statics.insulator(cell), statics.wire(cell)]
    found += [statics.inverter(cell, on) for on in HOST_DIRECTIONS]
    found += [statics.buffer(cell, to) for to in LEVEL_DIRECTIONS]
    return tuple(literal for literal in found if literal != FALSE)
