"""Seams of least cost: no seam that runs straight across breaks less, but for the chance in it."""

from __future__ import annotations

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout
from synth.medium import LEDGE, SOLID, WIRE, Cell, Direction, Size, inverter
from synth.shrinking.draft import Draft, line_hurts, lines_of, parted, sheared
from synth.shrinking.seams import FARTHEST_JOG, least, straight

BLOCKS = (SOLID, LEDGE, WIRE, inverter(Direction.PX), inverter(Direction.NZ))


def broken(draft: Draft, axis: int, seam: dict[tuple[int, int], int]) -> float:
    """What a seam breaks: lines, and lines that meet anew."""
    cost = sum(3.0 for line, at in seam.items() if line_hurts(draft.cells, axis, line, at))
    for line, at in seam.items():
        for other in ((line[0] + 1, line[1]), (line[0], line[1] + 1)):
            if other in seam:
                ends = ((line, at), (other, seam[other]))
                cost += len(sheared(draft.cells, axis, *ends))
                cost += 2 * len(parted(draft.cells, axis, *ends))
    return cost


@settings(max_examples=60)
@given(
    st.integers(0, 2**32), st.integers(0, 2), st.tuples(*[st.integers(1, 6)] * 3), st.floats(0, 1)
)
def test_no_straight_seam_breaks_much_less(seed: int, axis: int, size: Size, share: float) -> None:
    rng = Random(seed)
    cells: dict[Cell, object] = {
        (x, y, z): rng.choice(BLOCKS)
        for x in range(size[0])
        for y in range(size[1])
        for z in range(size[2])
        if rng.random() < share
    }
    draft = Draft.of(Layout(size, cells))  # type: ignore[arg-type]
    seam = dict(least(draft, axis, rng))
    assert seam.keys() == set(lines_of(size, axis))
    assert all(0 <= at < size[axis] for at in seam.values())
    sides = [side for other, side in enumerate(size) if other != axis]
    assert any(
        all(
            seam[line] == seam[other]
            for line in seam
            for other in seam
            if line[across] == other[across]
        )
        and all(
            abs(seam[line] - seam[other]) <= FARTHEST_JOG
            for line in seam
            for other in seam
            if abs(line[across] - other[across]) <= 1
        )
        for across in range(2)
    )
    # Chance costs less than 1 a row, and passing by the place that is drawn 1 a cell.
    slack = max(sides) + size[axis]
    best = min(broken(draft, axis, dict(straight(draft, axis, at))) for at in range(size[axis]))
    assert broken(draft, axis, seam) <= best + slack
