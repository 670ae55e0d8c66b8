"""Every legal layout of a tiny box, found by trying everything, and every model of a formula."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import count, product

from pysat.solvers import Solver

from synth.encoding import Encoding
from synth.layout import Layout, Pin
from synth.medium import (
    HOST_DIRECTIONS,
    LEDGE,
    LEVEL_DIRECTIONS,
    SOLID,
    WIRE,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
    Role,
    Size,
    buffer,
    inverter,
)
from synth.simulator import legality

# One insulator stands for clear and ledge: a ledge bears all that a clear cube bears.
BLOCKS: tuple[Block | None, ...] = (
    None,
    SOLID,
    LEDGE,
    WIRE,
    *(inverter(on) for on in HOST_DIRECTIONS),
    *(buffer(to) for to in LEVEL_DIRECTIONS),
)


def legal_layouts(size: Size, ground: bool = False) -> Iterator[Layout]:
    """Every legal layout of a box without pins, by trying every block in every cell.

    Cells are filled column by column from the ground up, and only what plainly lacks a support
    or can have no host is passed over early; the simulator judges every full box.
    """
    cells = [(x, y, z) for x in range(size[0]) for y in range(size[1]) for z in range(size[2])]

    def fill(index: int, chosen: dict[Cell, Block]) -> Iterator[Layout]:
        if index == len(cells):
            layout = Layout(size, dict(chosen), ground=ground)
            if not legality(layout):
                yield layout
            return
        cell = cells[index]
        for block in BLOCKS:
            if block is None:
                yield from fill(index + 1, chosen)
            elif _may_stand(block, cell, size, ground, chosen):
                chosen[cell] = block
                yield from fill(index + 1, chosen)
                del chosen[cell]

    yield from fill(0, {})


@cache
def every_legal_layout(size: Size, ground: bool = False) -> tuple[Layout, ...]:
    """``legal_layouts``, found once for all tests."""
    return tuple(legal_layouts(size, ground))


def _may_stand(
    block: Block, cell: Cell, size: Size, ground: bool, chosen: dict[Cell, Block]
) -> bool:
    if block.part in (Part.WIRE, Part.BUFFER) and not (ground and cell[2] == 0):
        below = chosen.get(Direction.NZ.step(cell))
        return below is not None and below.part in (Part.SOLID, Part.LEDGE)
    if block.part is Part.INVERTER:
        assert block.facing is not None
        host = block.facing.step(cell)
        inside = all(0 <= at < side for at, side in zip(host, size, strict=True))
        return inside and (host > cell or chosen.get(host) == SOLID)
    return True


def pin_places(
    size: Size, roles: dict[str, Role], joints: dict[str, Joint], faces: set[str]
) -> Iterator[tuple[Pin, ...]]:
    """Every way to put the pins on the faces admitted, legal or not."""
    cells = product(*(range(side) for side in size))
    slots = [
        (cell, face)
        for cell in cells
        for face in LEVEL_DIRECTIONS
        if str(face) in faces
        and not all(0 <= at < side for at, side in zip(face.step(cell), size, strict=True))
    ]
    for places in product(slots, repeat=len(roles)):
        if len(set(places)) == len(places):
            yield tuple(
                Pin(name, role, cell, face, joints[name])
                for (name, role), (cell, face) in zip(roles.items(), places, strict=True)
            )


def held(layout: Layout) -> bool:
    """Whether a buffer points into the side of another, an input's outside buffer included."""
    points_into: dict[Cell, list[Direction]] = {}
    for cell, block in layout.cells.items():
        if block.part is Part.BUFFER and block.facing is not None:
            points_into.setdefault(block.facing.step(cell), []).append(block.facing)
    for pin in layout.inputs:
        if pin.joint is Joint.BUFFER:
            points_into.setdefault(pin.at, []).append(pin.face.opposite)
    return any(
        block.part is Part.BUFFER
        and block.facing is not None
        and any(into in block.facing.sides for into in points_into.get(cell, []))
        for cell, block in layout.cells.items()
    )


def as_key(layout: Layout) -> tuple[object, ...]:
    """What tells layouts apart once clear and ledge are one insulator."""
    cells = tuple(
        (cell, LEDGE if block.part is Part.CLEAR else block) for cell, block in layout.cells.items()
    )
    return (cells, frozenset(layout.pins))


def models(encoding: Encoding, most: int | None = None) -> Iterator[Layout]:
    """The layout of every model of a formula, each layout once, ``most`` at most."""
    for true in _static_models(encoding, most):
        yield encoding.decode(true)


def named_models(encoding: Encoding) -> Iterator[frozenset[object]]:
    """For every layout of a formula the names of the static variables that are true.

    They tell layouts apart, for formulas about one box, and cost less than layouts do.
    """
    name_of = {literal: encoding.formula.name(literal) for literal in encoding.choices}
    for true in _static_models(encoding, None):
        yield frozenset(map(name_of.__getitem__, true))


def _static_models(encoding: Encoding, most: int | None) -> Iterator[list[int]]:
    """For every layout of a formula the static literals that are true."""
    choices = encoding.choices
    with Solver(name="cadical195", bootstrap_with=encoding.clauses) as solver:
        for _ in count() if most is None else range(most):
            if not solver.solve():
                return
            model = set(solver.get_model())
            yield [literal for literal in choices if literal in model]
            solver.add_clause([-literal if literal in model else literal for literal in choices])
