"""What is written is read back, however it was written; and an edit changes what it changes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from synth.layout import Layout, MadeFor
from synth.layout.drawing.glyphs import BLOCKS, glyph
from synth.layout.made_for import Table
from synth.medium import LEVEL_DIRECTIONS, Block, Cell, ChainLink, Part, buffer
from synth.views.text.layers import Power, heading_text, layout_text
from tests.layout.strategies import blocks, layouts, lines

purposes = st.builds(
    MadeFor,
    st.one_of(
        lines.filter(bool),
        st.sampled_from(["q = a ^ b", "q = a | b | c; r = 1'b0", '"', "a // b", " = q", ": ", "{"]),
        st.builds(
            Table,
            st.just(("a", "b")),
            st.sampled_from([("q",), ("q", "carry")]),
            st.lists(st.from_regex(r"[01]{2} [01-]{1,2}", fullmatch=True), min_size=1, max_size=40)
            .map(tuple),
        ),
    ),
    st.none() | st.integers(0, 64),
)  # fmt: skip


@st.composite
def any_layouts(draw: st.DrawFn) -> Layout:
    """A layout that may say what it was made for, and have buffers too slow for a digit."""
    layout = draw(layouts())
    cells = dict(layout.cells)
    for cell, block in cells.items():
        if block.part is Part.BUFFER and draw(st.booleans()):
            cells[cell] = buffer(draw(st.sampled_from(LEVEL_DIRECTIONS)), draw(st.integers(10, 64)))
    stack = layout.stack
    if stack is not None:
        ends = zip(layout.outputs, layout.inputs, strict=False)
        links = [ChainLink(output.name, taken.name) for output, taken in ends]
        stack = replace(stack, chain=tuple(links[: draw(st.integers(0, 2))]))
    return layout.replace(cells=cells, stack=stack, made_for=draw(st.none() | purposes))


def page(layout: Layout, width: int = 80, power: Power | None = None) -> str:
    """The page that ``gatefit show`` prints."""
    played = "" if power is None else "Tick 2: a=1 q=0\nThe inputs change at tick 0; so.\n\n"
    end = "\n\nMade for q = a within 2 ticks. It passes.\n"
    shown = layout_text(layout, width=width, power=power)
    return f"{played}{shown}\n\n{heading_text(layout)}{end}"


@given(any_layouts())
def test_a_drawing_is_read_as_the_layout_it_was_written_of(layout: Layout) -> None:
    assert Layout.from_drawing(layout.drawing()).document() == layout.document()
    assert Layout.from_text(layout.drawing()) == layout


@given(any_layouts(), st.integers(20, 200))
def test_a_page_is_read_as_the_layout_it_shows(layout: Layout, width: int) -> None:
    assert Layout.from_drawing(page(layout, width)).document() == layout.document()


@given(any_layouts(), st.data())
def test_a_page_that_shows_power_is_read_as_well(layout: Layout, data: st.DataObject) -> None:
    wires = [cell for cell, block in layout.cells.items() if block.part is Part.WIRE]
    strengths: Mapping[Cell, int] = {cell: data.draw(st.integers(0, 120)) for cell in wires}
    on = data.draw(st.sets(st.sampled_from([*layout.cells, (0, 0, 0)])))
    shown = page(layout, power=Power(strengths, on))
    assert Layout.from_drawing(shown).document() == layout.document()


@given(any_layouts(), st.data())
def test_spaces_and_what_may_be_left_out_change_nothing(
    layout: Layout, data: st.DataObject
) -> None:
    """Rows with other spaces between their cells, without ruler, edges and numbers."""

    def gap(least: int) -> str:
        return data.draw(st.sampled_from([" ", "  ", "\t", "   "][1 - least :])) if least else ""

    along = [pin for pin in layout.pins if pin.face.axis == "y"]
    loose = []
    for line in layout.drawing().split("\n"):
        row = re.fullmatch(r"( +\d+) (.*?)\|(.*)\|(.*)", line)
        if row and not along:
            number, left, cells, right = row.groups()
            number = data.draw(st.sampled_from([number, ""]))
            pairs = cells.split()
            spaced = pairs[0] + "".join(gap(1) + pair for pair in pairs[1:])
            bars = data.draw(st.sampled_from(["|", "| "]))
            line = f"{number} {left.strip()}{bars}{spaced}{gap(1)}|{right}"
        elif re.match(r"x =|y =|    +\+-", line) and data.draw(st.booleans()):
            continue
        comment = data.draw(st.sampled_from(["", "", "  // ## | z = 0"]))
        loose.append(line + comment if line else line)
        if data.draw(st.booleans()) and line.endswith("|"):
            loose.append("  // between two rows")
    text = data.draw(st.sampled_from(["\n", "\r\n", "\r"])).join(loose)
    assert Layout.from_drawing(text).document() == layout.document()


@given(layouts(), st.data())
def test_an_edit_of_one_pair_changes_one_cell(layout: Layout, data: st.DataObject) -> None:
    shown = layout_text(layout)
    rows = list(re.finditer(r"\| ((?:[^|\n]{3})+)\|", shown))
    row = data.draw(st.sampled_from(rows))
    index = data.draw(st.integers(0, len(row[1]) // 3 - 1))
    block = data.draw(st.none() | blocks())
    start = row.start(1) + 3 * index
    edited = Layout.from_drawing(f"{shown[:start]}{glyph(block)}{shown[start + 2 :]}")
    before, after = dict(layout.cells), dict(edited.cells)
    changed = {cell for cell in before.keys() | after.keys() if before.get(cell) != after.get(cell)}
    assert changed == set() or (len(changed) == 1 and after.get(min(changed)) == block)
    assert edited.pins == layout.pins
    assert changed or BLOCKS[shown[start : start + 2].strip()] == block


def test_every_pair_is_one_part() -> None:
    parts: list[Block | None] = [block for word, block in BLOCKS.items() if word != ".."]
    assert len(set(parts)) == len(parts)
    for word, block in BLOCKS.items():
        assert glyph(block).strip() == word.replace("..", ".")
