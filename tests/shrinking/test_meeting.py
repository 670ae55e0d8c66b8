"""What a cut brings together or apart: nothing in a row that only gets shorter, else the ends."""

from __future__ import annotations

from synth.layout import Layout
from synth.medium import LEDGE, SOLID, WIRE, Block, Cell, Direction, inverter
from synth.shrinking.aim import Aim, Pinning
from synth.shrinking.draft import Draft, cut
from synth.shrinking.meeting import meeting_anew
from synth.shrinking.seams import straight
from synth.spec import Spec

AIM = Aim(Spec.parse("q = a"), 9, ("volume",), Pinning.FREE, ())


def met_anew(cells: dict[Cell, Block], at: int) -> set[Cell]:
    """What a cut along x at a place makes meet anew in a box of 6 x 2 x 3 cells."""
    before = Draft.of(Layout((6, 2, 3), cells))
    seam = straight(before, 0, at)
    after = cut(before, 0, seam, AIM)
    assert after is not None
    return meeting_anew(before, after, 0, seam)


def row(x: range, z: int = 1) -> dict[Cell, Block]:
    return {(at, 0, z): WIRE for at in x} | {(at, 0, z - 1): LEDGE for at in x}


def test_a_row_that_gets_shorter_meets_nothing_anew() -> None:
    for at in range(6):
        assert met_anew(row(range(6)), at) == set()


def test_rows_that_are_joined_meet_at_their_ends() -> None:
    apart = row(range(2)) | row(range(3, 6))
    assert met_anew(apart, 2) == {(1, 0, 1), (2, 0, 1)}


def test_a_wire_one_step_up_is_met_over_the_step() -> None:
    stairs = row(range(2)) | row(range(3, 6), z=2)
    assert met_anew(stairs, 2) == {(1, 0, 1), (2, 0, 2)}
    covered = stairs | {(1, 0, 2): SOLID}
    assert (1, 0, 1) not in met_anew(covered, 2)


def test_an_inverter_that_loses_its_host_is_found() -> None:
    cells: dict[Cell, Block] = {(2, 0, 1): SOLID, (3, 0, 1): inverter(Direction.NX)}
    assert (2, 0, 1) in met_anew(cells, 2)
    assert met_anew(cells, 0) == set()
