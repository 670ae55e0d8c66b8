"""What the solver counts: the cells and pins of a window that are not as they were."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from synth.encoding.formula import FALSE, TRUE
from synth.encoding.geometry import Slot
from synth.encoding.windows import WindowEncoding
from synth.medium import CLEAR, LEVEL_DIRECTIONS, Block, Cell, Direction, Part

RULE = "changes counted"


@dataclass(frozen=True)
class Counted:
    """Literals over a window's formula that bound the number of changes.

    Attributes:
        more_than: ``more_than[k]`` is true if more than ``k`` things changed.
    """

    more_than: Sequence[int]

    @property
    def most(self) -> int:
        """The largest bound that can be asked."""
        return len(self.more_than) - 1

    def at_most(self, changes: int) -> list[int]:
        """Assumptions: no more than so many changes."""
        return [-self.more_than[changes]]


def count_changes(
    encoding: WindowEncoding,
    before: Mapping[Cell, Block],
    pins: Mapping[str, Slot],
    most: int,
) -> Counted:
    """Add to the formula what counts changes, up to ``most``.

    A buffer that only has another delay is not counted: in the formula every buffer that may change
    has the shortest, and whoever reads a model gives it its own delay again if the layout is right
    with it.

    Args:
        encoding: the window's formula.
        before: what its cells held.
        pins: where each pin was.
        most: the largest bound that will be asked.
    """
    formula, statics, window = encoding.formula, encoding.statics, encoding.window
    changed = []
    for cell in sorted(window.free):
        literal = formula.fresh("changed", cell)
        for effect in _differing(encoding, cell, before.get(cell)):
            formula.add(RULE, [-part for part in effect] + [literal])
        changed.append(literal)
    for cell, block in window.cells.items():
        # A clear cube that stays must bear no buffer; elsewhere it would become a ledge.
        above = Direction.PZ.step(cell)
        if block == CLEAR and above in window.free:
            for to in LEVEL_DIRECTIONS:
                formula.add(RULE, [-statics.buffer(above, to)])
    for name, slots in window.pins.items():
        if pins[name] not in slots:
            changed.append(TRUE)  # It has to move.
        elif len(slots) > 1:
            literal = formula.fresh("pin changed", name)
            formula.add(RULE, [statics.pin(name, pins[name]), literal])
            changed.append(literal)
    return Counted(_counter(encoding, changed, most))


def _differing(encoding: WindowEncoding, cell: Cell, block: Block | None) -> Iterable[list[int]]:
    """Sets of literals; a cell has changed exactly if all literals of a set of it are true."""
    statics = encoding.statics
    if block is None:
        for part in (
            statics.solid(cell),
            statics.insulator(cell),
            statics.wire(cell),
            statics.any_inverter(cell),
            *(statics.buffer(cell, to) for to in LEVEL_DIRECTIONS),
        ):
            if part != FALSE:
                yield [part]
        return
    same = statics.holds(cell, block)
    if same != TRUE:
        yield [] if same == FALSE else [-same]
    if block.part is Part.CLEAR:
        above = Direction.PZ.step(cell)
        for to in LEVEL_DIRECTIONS:
            bears = statics.buffer(above, to)
            if bears != FALSE:
                yield [statics.insulator(cell), bears]


def _counter(encoding: WindowEncoding, literals: Sequence[int], most: int) -> list[int]:
    """``counts[j]``: more than ``j`` of the literals are true, for ``j`` up to ``most``.

    Source: C. Sinz, Towards an Optimal CNF Encoding of Boolean Cardinality Constraints, CP 2005.
    """
    formula = encoding.formula
    before: list[int] = []
    for index, literal in enumerate(literals):
        counts = [formula.fresh("changes", index, number) for number in range(most + 1)]
        formula.add(RULE, [-literal, counts[0]])
        for number, earlier in enumerate(before):
            formula.add(RULE, [-earlier, counts[number]])
            if number < most:
                formula.add(RULE, [-earlier, -literal, counts[number + 1]])
        before = counts
    return before or [FALSE] * (most + 1)
