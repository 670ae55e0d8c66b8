"""Turning, mirroring, moving, repeating: the laws of the eight symmetries, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.errors import InputError
from synth.layout import Layout, Pin, Stack
from synth.layout.transform import (
    ALL_SYMMETRIES,
    IDENTITY,
    Symmetry,
    canonical,
    mirrored,
    moved,
    repeated,
    same_up_to_symmetry,
    symmetries,
    trimmed,
    turned,
)
from synth.medium import AXES, SOLID, WIRE, Direction, Role, buffer, inverter
from tests.layout.strategies import layouts

L_SHAPE = Layout(
    size=(3, 2, 1),
    cells={
        (0, 0, 0): SOLID,
        (1, 0, 0): inverter(Direction.NX),
        (2, 0, 0): buffer(Direction.PY, 3),
        (2, 1, 0): WIRE,
    },
    pins=(Pin("a", Role.INPUT, (0, 1, 0), Direction.PY),),
    stack=Stack("x", 4),
)


def test_a_quarter_turn_takes_plus_x_to_plus_y() -> None:
    turn = turned(L_SHAPE)
    assert turn == Layout(
        size=(2, 3, 1),
        cells={
            (1, 0, 0): SOLID,
            (1, 1, 0): inverter(Direction.NY),
            (1, 2, 0): buffer(Direction.NX, 3),
            (0, 2, 0): WIRE,
        },
        pins=(Pin("a", Role.INPUT, (0, 0, 0), Direction.NX),),
        stack=Stack("y", 4),
    )


def test_a_mirror_along_x_counts_x_from_the_other_end() -> None:
    assert mirrored(L_SHAPE, "x") == Layout(
        size=(3, 2, 1),
        cells={
            (2, 0, 0): SOLID,
            (1, 0, 0): inverter(Direction.PX),
            (0, 0, 0): buffer(Direction.PY, 3),
            (0, 1, 0): WIRE,
        },
        pins=(Pin("a", Role.INPUT, (2, 1, 0), Direction.PY),),
        stack=Stack("x", 4),
    )


def test_there_is_no_mirror_along_z() -> None:
    with pytest.raises(InputError, match=r"no mirror along z: up .*; mirror along x"):
        mirrored(L_SHAPE, "z")
    with pytest.raises(InputError, match="no axis 'w'; use one of x, y"):
        mirrored(L_SHAPE, "w")


@given(layouts(), st.integers(-9, 9), st.sampled_from("xy"))
def test_turns_and_mirrors_are_those_of_a_square(layout: Layout, quarters: int, axis: str) -> None:
    assert turned(turned(layout, quarters), 4 - quarters) == layout, "four quarter turns are none"
    assert turned(layout, quarters) == turned(layout, quarters % 4)
    assert mirrored(mirrored(layout, axis), axis) == layout, "two mirrors are none"
    assert mirrored(mirrored(layout, "x"), "y") == turned(layout, 2), "both are half a turn"
    # A mirror turns a turn round.
    assert turned(mirrored(layout, "x"), 1) == mirrored(turned(layout, -1), "x")
    assert mirrored(layout, "y") == turned(mirrored(turned(layout, 1), "x"), -1)


def test_a_pin_may_face_an_end_of_the_box_that_holds_nothing() -> None:
    longer = moved(L_SHAPE, (0, 0, 0), (3, 4, 1))
    assert longer.pins == L_SHAPE.pins
    assert trimmed(longer).size == (3, 2, 1)


@given(layouts(), st.sampled_from(ALL_SYMMETRIES))
def test_images_keep_all_that_is_counted_and_named(layout: Layout, symmetry: Symmetry) -> None:
    image = symmetry(layout)
    assert image.bill_of_materials() == layout.bill_of_materials()
    assert (image.volume, image.height) == (layout.volume, layout.height)
    assert [pin.name for pin in image.pins] == [pin.name for pin in layout.pins]
    assert [pin.role for pin in image.pins] == [pin.role for pin in layout.pins]
    assert [pin.joint for pin in image.pins] == [pin.joint for pin in layout.pins]
    assert (image.name, image.ground) == (layout.name, layout.ground)


@given(layouts(), st.sampled_from(ALL_SYMMETRIES))
def test_hosts_fronts_and_supports_stay_beside_their_parts(
    layout: Layout, symmetry: Symmetry
) -> None:
    """What a part faces, and what lies above and below it, is the same block, turned."""
    image = symmetry(layout)

    def around(of: Layout) -> list[tuple[str, int, str, str, str]]:
        def kind(cell: tuple[int, int, int]) -> str:
            return str(of.cells[cell].part) if cell in of.cells else ""

        return sorted(
            (
                str(block.part),
                block.delay,
                kind(block.facing.step(cell)) if block.facing else "",
                kind(Direction.NZ.step(cell)),
                kind(Direction.PZ.step(cell)),
            )
            for cell, block in of.cells.items()
        )

    assert around(image) == around(layout)


@given(layouts(), st.tuples(*[st.integers(0, 3)] * 3))
def test_moved_in_a_larger_box_and_back(layout: Layout, offset: tuple[int, int, int]) -> None:
    plain = layout.replace(pins=(), stack=None)
    size = tuple(side + 3 for side in plain.size)
    there = moved(plain, offset, (size[0], size[1], size[2]))
    assert there.bill_of_materials() == plain.bill_of_materials()
    x, y, z = offset
    assert moved(there, (-x, -y, -z), plain.size) == plain


def test_moving_takes_pins_along_and_grows_the_pitch() -> None:
    there = moved(L_SHAPE, (2, 1, 0), (5, 3, 1))
    assert there.pins[0].at == (2, 2, 0)
    assert there.stack == Stack("x", 5)
    assert moved(L_SHAPE, (0, 0, 1), (3, 2, 2)).stack == Stack("x", 4)


def test_what_moving_refuses() -> None:
    with pytest.raises(InputError, match=r"the part at \[3, 0, 0\] lies outside the box"):
        moved(L_SHAPE, (1, 0, 0))
    with pytest.raises(InputError, match="lies outside the box of 2 x 2 x 1"):
        moved(L_SHAPE, (0, 0, 0), (2, 2, 1))
    with pytest.raises(InputError, match=r"'a' .* leads to a cell inside the box"):
        moved(L_SHAPE, (1, 0, 0), (5, 3, 1))
    with pytest.raises(InputError, match="a size of 0 cells"):
        moved(L_SHAPE, (0, 0, 0), (3, 0, 1))


@given(layouts())
def test_trimmed_is_the_smallest_box_and_keeps_all(layout: Layout) -> None:
    small = trimmed(layout)
    assert small.bill_of_materials() == layout.bill_of_materials()
    assert small.stack == layout.stack
    assert trimmed(small) == small
    occupied = [*small.cells, *(pin.at for pin in small.pins)] or [(0, 0, 0)]
    for axis in range(3):
        assert max(cell[axis] for cell in occupied) == small.size[axis] - 1
        if axis < 2 or not layout.ground:
            assert min(cell[axis] for cell in occupied) == 0


def test_a_layout_on_ground_keeps_its_height() -> None:
    floating = Layout((1, 1, 4), {(0, 0, 2): SOLID}, ground=True)
    assert trimmed(floating) == Layout((1, 1, 3), {(0, 0, 2): SOLID}, ground=True)
    assert trimmed(floating.replace(ground=False)) == Layout((1, 1, 1), {(0, 0, 0): SOLID})


@given(layouts(pin_axes="x"), st.sampled_from(["y", "z"]), st.integers(1, 4), st.integers(0, 2))
def test_repeated_is_every_copy_at_its_place(
    layout: Layout, axis: str, copies: int, gap: int
) -> None:
    layout = layout.replace(ground=False, stack=None)
    index = AXES.index(axis)
    pitch = layout.size[index] + gap
    row = repeated(layout, axis, copies, pitch)
    assert row.part_count == copies * layout.part_count
    assert row.size[index] == pitch * (copies - 1) + layout.size[index]
    assert row.stack is None
    for copy in range(copies):
        for cell, block in layout.cells.items():
            there = tuple(c + copy * pitch * (a == index) for a, c in enumerate(cell))
            assert row.cells[there[0], there[1], there[2]] == block
        for number, pin in enumerate(layout.pins):
            copied = row.pins[copy * len(layout.pins) + number]
            assert copied.name == f"{pin.name}_{copy}"
            assert copied.at[index] == pin.at[index] + copy * pitch
            assert (copied.role, copied.face, copied.joint) == (pin.role, pin.face, pin.joint)


def test_names_that_look_like_copies_do_not_clash() -> None:
    pins = tuple(
        Pin(name, Role.INPUT, (0, 0, z), Direction.NX)
        for z, name in enumerate(["a", "a_1", "a_1_1", "a_"])
    )
    row = repeated(Layout((1, 1, 4), {}, pins), "y", 12)
    assert len({pin.name for pin in row.pins}) == 48


def test_the_pitch_of_a_repeated_layout() -> None:
    plain = L_SHAPE.replace(pins=())
    assert repeated(plain, "x", 3).size == (11, 2, 1)  # its own stack: pitch 4
    assert repeated(plain, "y", 3).size == (3, 6, 1)  # another axis: the box's size
    assert repeated(plain, "x", 3, 3).size == (9, 2, 1)


def test_what_repeating_refuses() -> None:
    with pytest.raises(InputError, match=r"pin 'a' faces \+y, along the stacking axis"):
        repeated(L_SHAPE, "y", 2)
    with pytest.raises(InputError, match="a pitch of 2 is less than the box's 3 cells along x"):
        repeated(L_SHAPE, "x", 2, 2)
    with pytest.raises(InputError, match="0 copies; use 1 or more"):
        repeated(L_SHAPE, "x", 0)
    with pytest.raises(InputError, match="no axis 'w'; use one of x, y, z"):
        repeated(L_SHAPE, "w", 2)
    with pytest.raises(InputError, match="on ground does not stack along z"):
        repeated(L_SHAPE.replace(ground=True), "z", 2)
    with pytest.raises(InputError, match="cells along x; use 1 to 256"):
        repeated(L_SHAPE, "x", 10**9)


@given(layouts(), st.sampled_from(ALL_SYMMETRIES), st.tuples(*[st.integers(0, 2)] * 3))
def test_canonical_is_the_same_for_all_images_and_moves(
    layout: Layout, symmetry: Symmetry, offset: tuple[int, int, int]
) -> None:
    image = symmetry(layout)
    assert canonical(image) == canonical(layout)
    assert same_up_to_symmetry(layout, image)
    loose = layout.replace(pins=(), stack=None, ground=False)
    x, y, z = (side + 2 for side in loose.size)
    assert canonical(symmetry(moved(loose, offset, (x, y, z)))) == canonical(loose)


@given(layouts())
def test_canonical_is_one_of_the_images(layout: Layout) -> None:
    least = canonical(layout)
    assert least in [symmetry(trimmed(layout)) for symmetry in ALL_SYMMETRIES]
    assert canonical(least) == least
    assert least.name == layout.name
    assert [pin.name for pin in least.pins] == [pin.name for pin in layout.pins]


def test_what_differs_is_not_the_same() -> None:
    assert not same_up_to_symmetry(L_SHAPE, L_SHAPE.replace(stack=None))
    assert not same_up_to_symmetry(L_SHAPE, L_SHAPE.replace(ground=True))
    assert not same_up_to_symmetry(L_SHAPE, L_SHAPE.with_cells({(0, 0, 0): None}))
    up = Layout((1, 1, 2), {(0, 0, 0): SOLID, (0, 0, 1): WIRE})
    assert not same_up_to_symmetry(up, Layout((1, 1, 2), {(0, 0, 1): SOLID, (0, 0, 0): WIRE}))


def test_the_symmetries_of_known_layouts() -> None:
    assert symmetries(Layout((2, 2, 1), {})) == ALL_SYMMETRIES
    assert symmetries(L_SHAPE) == (IDENTITY,)
    pointing = Layout((1, 1, 1), {(0, 0, 0): buffer(Direction.PX)})
    assert symmetries(pointing) == (IDENTITY, Symmetry(2, True))


@given(layouts())
def test_symmetries_form_a_group_whose_order_divides_eight(layout: Layout) -> None:
    found = symmetries(layout)
    assert found[0] == IDENTITY
    assert 8 % len(found) == 0
    assert len({symmetry(layout) for symmetry in ALL_SYMMETRIES}) * len(found) == 8
