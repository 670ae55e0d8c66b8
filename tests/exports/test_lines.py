"""Lists of parts read back to the layout, in any orientation and in any words."""

from __future__ import annotations

import csv
import io
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.errors import InputError
from synth.exports.lines import Names, Placing, csv_text, lines_text, load_names, mirror_warning
from synth.layout import Layout
from synth.medium import CLEAR, LEDGE, SOLID, Block, Direction, Part, buffer
from tests.views.layouts import BLOCKS, layouts

XOR = Layout.load(Path(__file__).parent.parent / "data" / "xor2.json")


@given(layouts())
def test_comma_separated_values_read_back(layout: Layout) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_text(layout))))
    cells = {
        (int(row["x"]), int(row["y"]), int(row["z"])): Block(
            Part(row["part"]),
            Direction(row["orientation"]) if row["orientation"] else None,
            int(row["delay"] or 0),
        )
        for row in rows
    }
    assert cells == dict(layout.cells)
    assert len(rows) == layout.part_count


@given(
    layouts(),
    st.tuples(*[st.integers(-99, 99)] * 3),
    st.integers(0, 3),
    st.sampled_from([None, "x", "y"]),
)
def test_lines_read_back_in_any_orientation(
    layout: Layout, origin: tuple[int, int, int], quarters: int, mirror: str | None
) -> None:
    text = lines_text(
        layout,
        "{x},{y},{z},{part},{orientation},{delay}",
        placing=Placing(origin, quarters, mirror),
    )
    cells = {}
    for line in text.splitlines():
        x, y, z, part, orientation, delay = line.split(",")
        cell = (int(x) - origin[0], int(y) - origin[1], int(z) - origin[2])
        cells[cell] = Block(Part(part), Direction(orientation) if orientation else None, int(delay))
    turned = layout if mirror is None else layout.mirrored(mirror)
    assert cells == dict(turned.turned(quarters).cells)


def test_lines_come_in_an_order_of_work() -> None:
    numbers = lines_text(XOR, "{number}").split()
    assert numbers == [str(number) for number in range(1, XOR.part_count + 1)]
    parts = lines_text(XOR, "{part}").split()
    assert parts.index("wire") > parts.index("solid")


def test_the_most_exact_name_counts(tmp_path: Path) -> None:
    path = tmp_path / "names.toml"
    path.write_text(
        '[parts]\nsolid = "brick"\nbuffer = "valve"\n"buffer +x" = "valve east"\n'
        '"buffer +x 2" = "slow valve east"\n[orientations]\n"+x" = "east"\n',
        encoding="utf-8",
    )
    names = load_names(path)
    assert names.part(Block(Part.SOLID)) == "brick"
    assert names.part(Block(Part.WIRE)) == "wire"
    assert names.part(Block(Part.BUFFER, Direction.NY, 1)) == "valve"
    assert names.part(Block(Part.BUFFER, Direction.PX, 1)) == "valve east"
    assert names.part(Block(Part.BUFFER, Direction.PX, 2)) == "slow valve east"
    assert [names.orientation(way) for way in (None, Direction.PX, Direction.NZ)] == [
        "",
        "east",
        "-z",
    ]


@given(st.sampled_from(BLOCKS))
def test_without_names_words_are_those_of_the_medium(block: Block) -> None:
    assert Names().part(block) == str(block.part)


@pytest.mark.parametrize(
    ("template", "message"),
    [
        ("{x} {what}", "no placeholder '{what}'"),
        ("{part.__class__}", "no placeholder '{part.__class__}'"),
        ("{}", "no placeholder '{}'"),
        ("{0}", "no placeholder '{0}'"),
        ("{part!r}", "no placeholder '{part!r}'"),
        ("{x", "no template"),
        ("}", "no template"),
        ("{x:{y}}", "a placeholder inside the format"),
        ("{part:d}", "does not fit"),
        ("{x:s}", "does not fit"),
    ],
)
def test_a_template_that_cannot_be_filled_in_is_refused(template: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        lines_text(XOR, template)
    assert message in caught.value.problem
    assert caught.value.place == "--template"


def test_braces_and_formats_of_a_template() -> None:
    assert lines_text(XOR, "{{{x:>3}}}").splitlines()[1] == "{  1}"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[part]\nsolid = "a"', "part"),
        ('[parts]\nsolids = "a"', "no part 'solids'"),
        ('[parts]\n"solid +x" = "a"', "no part 'solid +x'"),
        ('[parts]\n"buffer +x fast" = "a"', "no part 'buffer +x fast'"),
        ("[parts]\nsolid = 3", "3"),
        ('[orientations]\nup = "a"', "up"),
        ('[facings]\n"+x" = "east"', "[orientations]"),
        ('parts = "a"', "parts"),
    ],
)
def test_names_that_cannot_be_used_are_refused(text: str, message: str, tmp_path: Path) -> None:
    path = tmp_path / "names.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_names(path)
    assert message in str(caught.value)
    assert caught.value.file == str(path)


@pytest.mark.parametrize("order", list(permutations("xyz")), ids="".join)
@pytest.mark.parametrize("mirror", [None, "x", "y"])
def test_a_mirror_image_is_warned_of_and_nothing_else(
    order: tuple[str, ...], mirror: str | None
) -> None:
    """Handedness is worked out from where three neighbours of one corner come to lie."""
    corner, along = (1, 1, 1), ((2, 1, 1), (1, 2, 1), (1, 1, 2))
    marks = {corner: SOLID, along[0]: CLEAR, along[1]: LEDGE, along[2]: buffer(Direction.PX)}
    template = "{part} " + " ".join(f"{{{name}}}" for name in order)
    placing = Placing(quarters=1, mirror=mirror)
    lines = lines_text(Layout((3, 3, 3), marks), template, placing=placing).splitlines()
    at = {
        word: [int(number) for number in numbers]
        for word, *numbers in (line.split() for line in lines)
    }
    (a, b, c), (d, e, f), (g, h, i) = (
        [there - here for there, here in zip(at[word], at["solid"], strict=True)]
        for word in ("clear", "ledge", "buffer")
    )
    handed = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    assert abs(handed) == 1
    assert (mirror_warning(template, placing) is not None) == (handed == -1)


def test_axes_that_are_named_are_not_exchanged() -> None:
    assert mirror_warning("{part} at x={x} z={z} y={y}") is None
    assert mirror_warning("{part}: {x}") is None


def test_the_old_word_says_the_new_one() -> None:
    with pytest.raises(InputError) as caught:
        lines_text(XOR, "{x} {facing}")
    assert caught.value.way_out == "write {orientation}"
