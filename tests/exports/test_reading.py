"""Lists are read back as the layout they were written of, in any orientation and in any words."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.errors import InputError
from synth.exports.lines import DEFAULT_TEMPLATE, Names, Placing, csv_text, lines_text
from synth.exports.reading import assembled, read_csv, read_lines
from synth.layout import Layout
from synth.layout.transform import trimmed
from synth.medium import (
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    SOLID,
    WIRE,
    Direction,
    Part,
    buffer,
    inverter,
)
from tests.layout.strategies import layouts

OWN = Names(
    parts={
        "solid": "stone, grey",
        "inverter": "lamp",
        "inverter -z": "lamp on the floor",
        "buffer": "gate",
        "buffer +x": "eastern gate",
        "buffer +x 2": "slow eastern gate",
        "buffer -y 1": "gate",
    },
    orientations={"+x": "east", "-x": "west", "+y": "north", "-y": "south"},
)
"""Some parts have a name of their own, some share one."""

NO_NAMES = Names()

templates = st.sampled_from(
    [
        "{x},{y},{z},{part},{orientation},{delay}",
        "{number}: {part} [{orientation}] {{{x:>4}|{y:<3}|{z:03}}} {delay} ticks",
        "{delay} {part:>20} {orientation:<6} {z} {y} {x}",
        "at ({x}; {y}; {z}) put ({part}) delay {delay} facing {orientation}",
    ]
)


def bare(layout: Layout) -> Layout:
    """What a list holds of a layout."""
    return Layout(layout.size, layout.cells)


@settings(max_examples=50)
@given(
    layouts().filter(lambda layout: layout.cells),
    templates,
    st.sampled_from([NO_NAMES, OWN]),
    st.tuples(*[st.integers(-99, 99)] * 3),
    st.integers(0, 3),
    st.sampled_from([None, "x", "y"]),
)
def test_lines_are_read_as_the_layout_they_were_written_of(
    layout: Layout,
    template: str,
    names: Names,
    origin: tuple[int, int, int],
    quarters: int,
    mirror: str | None,
) -> None:
    placing = Placing(origin, quarters, mirror)
    text = lines_text(layout, template, names, placing)
    read = assembled(
        read_lines(text, template, names), names, placing, origin=origin, size=layout.size
    )
    assert (read.layout, read.corner, read.guessed) == (bare(layout), origin, 0)
    # Nobody has to remember where it was put: then it is as small as its parts allow.
    found = assembled(read_lines(text, template, names), names, placing).layout
    assert found == trimmed(bare(layout))


@settings(max_examples=50)
@given(layouts().filter(lambda layout: layout.cells), st.sampled_from(",;\t"))
def test_comma_separated_values_as_well(layout: Layout, delimiter: str) -> None:
    text = csv_text(layout).replace(",", delimiter)
    assert assembled(read_csv(text), NO_NAMES, Placing(), size=layout.size).layout == bare(layout)
    assert assembled(read_csv(text), NO_NAMES, Placing()).layout == trimmed(bare(layout))


@settings(max_examples=50)
@given(layouts().filter(lambda layout: layout.cells))
def test_the_plain_template_leaves_out_delays(layout: Layout) -> None:
    text = lines_text(layout)
    stripped = "\r\n".join(line.rstrip() for line in text.split("\n"))
    read = assembled(
        read_lines(stripped, DEFAULT_TEMPLATE, NO_NAMES), NO_NAMES, Placing(), size=layout.size
    )
    slow = {cell: b for cell, b in layout.cells.items() if b.part is Part.BUFFER}
    fast = {cell: buffer(b.facing, 1) for cell, b in slow.items() if b.facing}
    assert read.layout == bare(layout).with_cells(fast)
    assert read.guessed == len(slow)


@settings(max_examples=50)
@given(st.sampled_from(LEVEL_DIRECTIONS), st.integers(1, 64))
def test_names_alone_may_say_orientation_and_delay(way: Direction, delay: int) -> None:
    parts = {f"inverter {on}": f"lamp{on}" for on in HOST_DIRECTIONS}
    parts |= {f"buffer {to} {delay}": f"gate{to}" for to in LEVEL_DIRECTIONS}
    layout = Layout((2, 1, 1), {(0, 0, 0): inverter(way), (1, 0, 0): buffer(way, delay)})
    template = "{part} {x} {y} {z}"
    text = lines_text(layout, template, Names(parts))
    read = assembled(read_lines(text, template, Names(parts)), Names(parts), Placing())
    assert (read.layout, read.guessed) == (layout, 0)


def test_a_box_that_fits_is_not_moved() -> None:
    text = "x,y,z,part\n1,0,0,solid\n"
    read = assembled(read_csv(text), NO_NAMES, Placing(), size=(3, 1, 1))
    assert read.layout == Layout((3, 1, 1), {(1, 0, 0): SOLID})
    assert assembled(read_csv(text), NO_NAMES, Placing()).layout.size == (1, 1, 1)
    away = "part,z,y,x\nsolid,9,9,9\n\n wire ,9,9,10\n"
    found = assembled(read_csv(away), NO_NAMES, Placing())
    assert found.layout == Layout((2, 1, 1), {(0, 0, 0): SOLID, (1, 0, 0): WIRE})
    assert found.corner == (9, 9, 9)


HEAD = "x,y,z,part,orientation,delay\n"

WRONG_CSV = {
    "": "line 1: no column 'x'; begin with a line of the columns",
    "x,y,z\n0,0,0\n": "line 1: no column 'part'",
    "x,y,z,prat\n": "line 1: unknown column 'prat'; did you mean 'part'?",
    "x,y,z,part,x\n": "a column that stands twice",
    HEAD: "no part is listed",
    f"{HEAD}0,0,0,solid\n": "line 2: 4 values for 6 columns",
    f"{HEAD}0,0,0.5,solid,,\n": "line 2, z: '0.5' is no coordinate; use a whole number",
    f"{HEAD}0,0,0,solod,,\n": "line 2: no part 'solod'; did you mean 'solid'?",
    f"{HEAD}0,0,0,solid,+x,\n": "line 2: no 'solid' has the orientation '+x'; use ''",
    f"{HEAD}0,0,0,inverter,+z,\n": "no 'inverter' has the orientation '+z'; use '+x', '+y', '-x'",
    f"{HEAD}0,0,0,solid,,2\n": "line 2: 'solid' with a delay of 2; only buffers have a delay",
    f"{HEAD}0,0,0,buffer,+x,65\n": "line 2: '65' is no delay of a buffer; use 1 to 64",
    f"{HEAD}0,0,0,buffer,+x,soon\n": "'soon' is no delay of a buffer",
    f"{HEAD}0,0,0,solid,,\n0,0,0,wire,,\n": "line 3: two parts at [0, 0, 0], this one and that of",
    f"{HEAD}0,0,0,solid,,\n999,0,0,solid,,\n": "a size of 1000 cells along x; use 1 to 256",
    'x,y,z,part\n0,0,0,"so\0lid\n': "no part 'so\\x00lid'",
    "x,y,z,part\n0,0,0,buffer\n": "'buffer' may be buffer to +x, delay 1, buffer to +y, delay 1,",
}


@pytest.mark.parametrize("text", WRONG_CSV)
def test_a_wrong_table_says_where_and_what(text: str) -> None:
    with pytest.raises(InputError) as caught:
        assembled(read_csv(text), NO_NAMES, Placing())
    assert WRONG_CSV[text] in str(caught.value)


WRONG_LINES = [
    ("{x} {y} {part}", "", "no {z}; a line has to say the part and its cell"),
    ("{x} {y} {z} {y} {part}", "", "{y} stands twice; name it once"),
    ("{x}{y} {z} {part}", "", "{y} stands right behind another; part them by a space"),
    ("{x:b} {y} {z} {part}", "", "the format 'b' of 'x'; use a width such as {x:>3}"),
    ("{x:*>5} {y} {z} {part}", "", "the format '*>5' of 'x'"),
    ("{x} {y}\n{z} {part}", "", "it has an end of a line in it"),
    ("{x} {y} {z} {parts}", "", "no placeholder '{parts}'"),
    ("{x} {y} {z} {part}", "\n0 0 0 solod\n", "line 2: '0 0 0 solod' is no line of the template"),
    ("{x} {y} {z} {part}", "0 0 solid\n", "line 1: '0 0 solid' is no line of the template"),
    ("{x} {y} {z} {part}", f"0 0 {'0' * 3000} solid\n", "line 1: a line of 3,010 characters"),
    ("{x} {y} {z} {part}", "0 0 0 inverter\n", "line 1: 'inverter' may be inverter on +x, inv"),
]


@pytest.mark.parametrize(("template", "text", "said"), WRONG_LINES)
def test_wrong_lines_say_where_and_what(template: str, text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        assembled(read_lines(text, template, NO_NAMES), NO_NAMES, Placing())
    assert said in str(caught.value)


@settings(max_examples=50)
@given(st.text(max_size=60), st.booleans())
def test_any_text_is_read_or_refused(text: str, table: bool) -> None:
    entries = read_csv(text) if table else read_lines(text, DEFAULT_TEMPLATE, NO_NAMES)
    with contextlib.suppress(InputError):
        assert assembled(entries, NO_NAMES, Placing()).layout.cells
