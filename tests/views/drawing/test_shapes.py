"""Bodies: one for every block, within its cell, closed, facing outwards, told apart by shape."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.medium import LEVEL_DIRECTIONS, Direction, buffer, inverter
from synth.views.drawing.meshes import cut_into_triangles, mesh_of
from synth.views.drawing.shapes import (
    BUFFER_OUTLINE,
    MOST_NOTCHES,
    Corner,
    Material,
    Prism,
    body_of,
    notched,
    pin_arrow,
    riser,
)
from tests.views.layouts import BLOCKS

TO = Direction.PX
PRISMS = [
    *(prism for block in BLOCKS for prism in body_of(block, LEVEL_DIRECTIONS, power=1)),
    *(prism for way in LEVEL_DIRECTIONS for prism in pin_arrow(way)),
    *(prism for way in LEVEL_DIRECTIONS for prism in riser(way, both=False)),
    *(prism for ticks in range(1, MOST_NOTCHES + 3) for prism in body_of(buffer(TO, ticks))),
]


def test_every_block_has_a_body_of_its_own() -> None:
    outlines = [
        tuple((prism.outline, prism.axis, prism.low, prism.high) for prism in body_of(block))
        for block in BLOCKS
        if block.facing is not None
    ]
    assert len(set(outlines)) == len(outlines)
    assert len({body_of(block) for block in BLOCKS}) == len(BLOCKS)


def test_bodies_stay_in_their_cell() -> None:
    for block in BLOCKS:
        for prism in body_of(block, LEVEL_DIRECTIONS, power=1):
            for corner in mesh_of(prism).corners:
                assert all(-1e-9 <= value <= 1 + 1e-9 for value in corner)


@pytest.mark.parametrize("prism", PRISMS, ids=range(len(PRISMS)))
def test_surfaces_are_closed_and_face_outwards(prism: Prism) -> None:
    mesh = mesh_of(prism)
    sides = Counter(
        (triangle[index], triangle[index - 1]) for triangle in mesh.triangles for index in range(3)
    )
    assert all(count == 1 and sides[b, a] == 1 for (a, b), count in sides.items())
    area = sum(
        here[0] * after[1] - after[0] * here[1]
        for here, after in zip(prism.outline, (*prism.outline[1:], prism.outline[0]), strict=True)
    )
    whole = area / 2 * (prism.high - prism.low)
    assert whole > 0
    assert _volume([mesh.corners[i] for t in mesh.triangles for i in t]) == pytest.approx(whole)


def _volume(corners: list[Corner]) -> float:
    """What triangles that face outwards enclose."""
    total = 0.0
    for at in range(0, len(corners), 3):
        (ax, ay, az), (bx, by, bz), (cx, cy, cz) = corners[at : at + 3]
        total += ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    return total / 6


@given(st.integers(0, MOST_NOTCHES))
def test_a_buffer_has_a_notch_for_each_tick(ticks: int) -> None:
    """A notch is two corners that lie within the triangle, and two on its back."""
    outline = notched(BUFFER_OUTLINE, ticks)
    back = BUFFER_OUTLINE[0][0]
    inner = [u for u, _ in outline if back < u < BUFFER_OUTLINE[1][0]]
    assert len(inner) == 2 * ticks
    assert len(outline) == 3 + 4 * ticks
    assert len(cut_into_triangles(outline)) == len(outline) - 2


def test_a_longer_delay_is_not_cut() -> None:
    assert notched(BUFFER_OUTLINE, MOST_NOTCHES + 1) == BUFFER_OUTLINE


def test_a_wire_with_power_is_thicker_and_the_stronger_the_higher() -> None:
    def highest(power: float) -> float:
        return max(prism.high for prism in body_of(BLOCKS[3], [Direction.PX], power=power))

    assert highest(0) < highest(1 / 15) < highest(1)


@pytest.mark.parametrize("on", [*LEVEL_DIRECTIONS, Direction.NZ])
def test_an_inverter_touches_its_host_and_its_disc_is_furthest(on: Direction) -> None:
    def away(corner: Corner) -> float:
        """How far from the face towards the host, 0 to 1."""
        axis = "xyz".index(on.axis)
        positive = on in (Direction.PX, Direction.PY)
        return 1 - corner[axis] if positive else corner[axis]

    body = body_of(inverter(on))
    nearest = min(body, key=lambda prism: min(away(c) for c in mesh_of(prism).corners))
    furthest = max(body, key=lambda prism: max(away(c) for c in mesh_of(prism).corners))
    assert min(away(corner) for corner in mesh_of(nearest).corners) == pytest.approx(0)
    assert (nearest.material, furthest.material) == (Material.INVERTER, Material.DISC)
