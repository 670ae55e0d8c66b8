"""Two layouts compared: what is said of both is true of both, whichever way they are laid."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout, Pin
from synth.layout.transform import mirrored, moved
from synth.medium import LEDGE, SOLID, Block, Direction, inverter
from synth.reviewing.comparing import ADDED, CHANGED, TAKEN, compare
from tests.cli.conftest import NOT_GATE, UNSUPPORTED
from tests.layout.strategies import blocks, layouts
from tests.stored import stored_layout

XOR = stored_layout("xor2")
AND_NOT = stored_layout("and_not")


@settings(max_examples=30)
@given(layouts())
def test_a_layout_differs_from_itself_in_nothing(layout: Layout) -> None:
    found = compare(layout, layout)
    assert (found.cells, found.pins, found.offset, found.image) == ((), (), (0, 0, 0), True)
    assert found.lit(second=False) == found.lit(second=True) == {}


@settings(max_examples=30)
@given(layouts(), layouts())
def test_the_differences_make_the_one_of_the_other(first: Layout, second: Layout) -> None:
    found = compare(first, second)
    x, y, z = found.offset
    cells = {(u + x, v + y, w + z): block for (u, v, w), block in first.cells.items()}
    for change in found.cells:
        assert cells.get(change.at) == change.before
        if change.after is None:
            del cells[change.at]
        else:
            cells[change.at] = change.after
    assert cells == dict(second.cells)
    for change in found.cells:
        kinds = {(False, True): TAKEN, (True, False): ADDED, (False, False): CHANGED}
        assert kinds[change.before is None, change.after is None] == change.kind
    lit = found.lit(second=False)
    assert lit.keys() <= first.cells.keys()
    assert found.lit(second=True).keys() <= second.cells.keys()
    assert sum(kind == TAKEN for kind in lit.values()) == [c.kind for c in found.cells].count(TAKEN)


@settings(max_examples=30)
@given(st.tuples(*[st.integers(0, 3)] * 3))
def test_what_was_only_moved_differs_in_no_part(offset: tuple[int, int, int]) -> None:
    x, y, z = offset
    length, width, height = XOR.size
    bare = XOR.replace(pins=(), stack=None)
    away = moved(bare, offset, (length + x, width + y, height + z))
    found = compare(bare, away)
    assert (found.cells, found.offset, found.image) == ((), offset, True)


@settings(max_examples=30)
@given(st.data())
def test_one_other_part_is_one_difference(data: st.DataObject) -> None:
    cell = data.draw(st.sampled_from(list(XOR.cells)))
    block: Block | None = data.draw(st.none() | blocks())
    found = compare(XOR, XOR.with_cells({cell: block}))
    if block == XOR.cells[cell]:
        assert found.cells == ()
    else:
        (change,) = found.cells
        assert (change.at, change.before, change.after) == (cell, XOR.cells[cell], block)


def test_functions_are_compared_by_the_names_of_pins() -> None:
    assert compare(XOR, XOR).same_function
    swapped = AND_NOT.replace(pins=(AND_NOT.pins[1], AND_NOT.pins[0], *AND_NOT.pins[2:]))
    assert [pin.name for pin in swapped.inputs] == ["b", "a"]
    assert compare(AND_NOT, swapped).same_function
    names = {"a": "b", "b": "a"}
    crossed = AND_NOT.replace(
        pins=[Pin(names.get(p.name, p.name), p.role, p.at, p.face, p.joint) for p in AND_NOT.pins]
    )
    found = compare(AND_NOT, crossed)
    assert found.same_function is False
    assert [change.name for change in found.pins] == ["a", "b"]
    assert compare(XOR, AND_NOT).same_function is False


def test_what_cannot_be_said_is_not_said() -> None:
    assert compare(NOT_GATE, UNSUPPORTED).same_function is None
    assert compare(XOR, NOT_GATE).same_function is None
    unsettled = Layout(
        (2, 1, 2),
        {(0, 0, 0): LEDGE, (0, 0, 1): SOLID, (1, 0, 1): inverter(Direction.NX)},
        tuple(pin for pin in NOT_GATE.pins),
    )
    assert compare(NOT_GATE, unsettled).same_function  # An insulator is as good as another.


def test_an_image_is_known_as_one() -> None:
    found = compare(XOR, mirrored(XOR, "x"))
    assert found.image
    assert found.cells
    assert found.same_function


def test_measures_stand_side_by_side() -> None:
    measures = compare(XOR, AND_NOT).measures
    assert measures["volume"] == (XOR.volume, AND_NOT.volume)
    assert measures["parts"] == (XOR.part_count, AND_NOT.part_count)
    assert measures["delay"] == (2, 2)
    document = compare(XOR, AND_NOT).document()
    assert document["measures"]["floor"] == [XOR.floor, AND_NOT.floor]
    assert document["cells"][0].keys() == {"at", "kind", "before", "after"}
