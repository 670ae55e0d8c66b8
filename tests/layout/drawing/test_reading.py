"""What a person may type, and what is said where it cannot be read."""

from __future__ import annotations

from pathlib import Path

import pytest

from synth.errors import InputError
from synth.layout import Layout, MadeFor, Pin, Stack
from synth.layout.made_for import Table
from synth.medium import SOLID, WIRE, Direction, Joint, Role, buffer, inverter

TYPED = """\
// An inverter, as short as it can be typed.
function: q = ~a
delay = 1
stack y

z=0
a>|##  ~<|>q
"""

NOT = Layout(
    size=(2, 1, 1),
    cells={(0, 0, 0): SOLID, (1, 0, 0): inverter(Direction.NX)},
    pins=(
        Pin("a", Role.INPUT, (0, 0, 0), Direction.NX),
        Pin("q", Role.OUTPUT, (1, 0, 0), Direction.PX),
    ),
    stack=Stack("y", 1),
)


def test_little_has_to_be_typed() -> None:
    read = Layout.from_drawing(TYPED)
    assert read == NOT
    assert read.made_for == MadeFor("q = ~a", 1)


def test_names_may_be_whole_words_and_pins_may_have_any_joint() -> None:
    read = Layout.from_drawing(
        "pins\ncarry buffer\n  sum  output\nz = 0\n   v\n       in1\n        v\n"
        "1  | ##  ++ 2>|>carry\n0 sum<| ..  .  . |\n".replace("   v\n", "", 1)
    )
    assert [(pin.name, pin.role, pin.at, pin.face, pin.joint) for pin in read.pins] == [
        ("carry", Role.OUTPUT, (2, 1, 0), Direction.PX, Joint.BUFFER),
        ("sum", Role.OUTPUT, (0, 0, 0), Direction.NX, Joint.WIRE),
        ("in1", Role.INPUT, (1, 1, 0), Direction.PY, Joint.WIRE),
    ]
    assert dict(read.cells) == {
        (0, 1, 0): SOLID,
        (1, 1, 0): WIRE,
        (2, 1, 0): buffer(Direction.PX, 2),
    }


def test_bits_of_a_bus_are_names_as_well() -> None:
    read = Layout.from_drawing("z = 0\na[0]>| ## |>q[10]\n")
    assert [pin.name for pin in read.pins] == ["a[0]", "q[10]"]
    assert Layout.from_drawing(read.drawing()) == read


def test_a_pin_moves_with_the_drawing_alone() -> None:
    drawn = Layout.from_drawing("z = 0\n| ## |\nlong_name>| ## |\n").drawing()
    assert "1    |" in drawn
    moved = drawn.replace("1    |", "1 lo>|").replace("0 lo>|", "0    |")
    (pin,) = Layout.from_drawing(moved).pins
    assert pin == Pin("long_name", Role.INPUT, (0, 1, 0), Direction.NX)


def test_pins_that_are_not_listed_are_ordered_by_name_inputs_first() -> None:
    read = Layout.from_drawing("z = 0\na<| ## |<q\nb>| ++ |\nc>| ## |>d\n")
    assert [pin.name for pin in read.pins] == ["b", "c", "q", "a", "d"]


def test_layers_may_stand_side_by_side_and_in_any_order() -> None:
    side_by_side = Layout.from_drawing("z = 1  z = 0\n|++|>q  a>|##|\n")
    assert side_by_side == Layout.from_drawing("z = 0\na>|##|\nz = 1\n|++|>q\n")


def test_a_table_and_a_name_in_quotes() -> None:
    read = Layout.from_drawing(
        'name "x // y"  // a comment\ninputs a, b\noutputs q\ntable\n  00 0, 01 1\n  10 1\n'
        "  11 -\n\nground\nz = 0\n|##|\n"
    )
    assert read.name == "x // y"
    assert read.made_for == MadeFor(Table(("a", "b"), ("q",), ("00 0", "01 1", "10 1", "11 -")))
    assert read.ground


def test_a_byte_order_mark_and_the_ends_of_lines(tmp_path: Path) -> None:
    path = tmp_path / "not.drawing"
    path.write_bytes(b"\xef\xbb\xbf" + TYPED.replace("\n", "\r\n").encode())
    assert Layout.load(path) == NOT


def test_a_file_is_written_as_its_ending_says(tmp_path: Path) -> None:
    NOT.save(tmp_path / "not.drawing")
    assert (tmp_path / "not.drawing").read_text() == NOT.drawing()
    assert Layout.load(tmp_path / "not.drawing") == NOT
    with pytest.raises(InputError, match="cannot be printed"):
        NOT.replace(name="a\tb").save(tmp_path / "not.drawing")
    with pytest.raises(InputError, match="is no row of a table"):
        NOT.replace(made_for=MadeFor(Table(("a",), ("q",), ("x",)))).drawing()


def at(text: str) -> tuple[int, int, str]:
    """The line and column of the caret that stands below the text ``^`` in a drawing."""
    before, _, after = text.partition("@")
    return before.count("\n") + 1, len(before) - before.rfind("\n"), before + after


# Where a drawing is wrong there is an @, which is taken out.
WRONG = {
    "a strange pair": ("z = 0\n| ## @xx |\n", "'xx' is no part; write one of ## ::"),
    "half a pair": ("z = 0\n| @# ++ |\n", "'#' is no part; write it twice, ##"),
    "a buffer upwards": ("z = 0\n| @1_ |\n", "'1_' is no part; a buffer is its delay"),
    "a strength": ("z = 0\n| ## @15 |\n", "a wire is ++, whatever its strength"),
    "an inverter that looks up": ("z = 0\n| @~. |\n", "the side its host is on"),
    "a mark of power": ("z = 0\n| ##@* |\n", "is no part"),
    "a ragged row": ("z = 0\n| ## ++ |\n| ## @|\n", "this row has 1 cell, the first row of"),
    "a row without a cell": ("z = 0\n|@ |\n", "a row without a cell; write a dot"),
    "a bar missing": ("z = 0\na>@| ## ++\n", "a row with a bar missing"),
    "no title": ("@| ## |\n", "a row that belongs to no layer; write the layer's title above"),
    "a layer twice": ("z = 0\n|##|\n@z = 0\n|##|\n", "z = 0 is drawn already in line 1"),
    "a layer missing": ("z = 0\n|##|\n@z = 2\n|##|\n", "z = 2 is drawn, but not z = 1"),
    "a layer without rows": ("@z = 0\nz = 1\n|##|\n", "layer z = 0 has no row"),
    "layers of other lengths": ("z = 0\n|##|\n@z = 1\n|## ##|\n", "z = 1 is 2 cells long"),
    "layers of other widths": ("z = 0\n|##|\n@z = 1\n|##|\n|##|\n", "has 2 rows, the first one"),
    "fewer rows than layers": ("z = 0   z = 1\n@|##|\n", "this line has 1 row for 2 layers; give"),
    "rows numbered downwards": ("z = 0\n@0 |##|\n1 |##|\n", "is numbered 0, but is y = 1"),
    "a ruler that counts wrong": ("z = 0\nx = 0 @2\n|## ##|\n", "is numbered 2, but is x = 1"),
    "a ruler that is short": ("z = 0\nx = @0\n|## ##|\n", "counts 1 column, the rows have 2"),
    "pieces that do not join": (
        "z = 0, x = 0 to 1\n|## ##|\n@z = 0, x = 3 to 3\n|##|\n",
        "begins at x = 3, the one before it ends before x = 2",
    ),
    "a title of another length": ("@z = 0, x = 0 to 2\n|## ##|\n", "the rows end at x = 1"),
    "a title and a row": ("z = 0@ |##|\n", "more than the title of a layer"),
    "a pin without a name": ("z = 0\n@>|##|\n", "cannot read '>' beside a row"),
    "a pin that begins with a digit": ("z = 0\n@2a>|##|\n", "beside a row; write pins as a>|"),
    "text behind a row": ("z = 0\n|##| @output q\n", "comments behind //"),
    "a pin off the edge": ("z = 0\n    ^\n    @b\n|##|\n", "'b' is no arrow of a pin"),
    "an arrow at no cell": ("z = 0\n          b\n          @v\n|##|\n", "stands at no cell"),
    "an arrow too few": ("z = 0\n @b c\n v\n|## ##|\n", "2 names of pins, but 1 arrow"),
    "no arrow": ("z = 0\n @b\n|##|\n", "a line that belongs to no frame"),
    "a pin between rows": ("z = 0\n|##|\n @^\n b\n|##|\n", "pins between two rows"),
    "a name twice": ("z = 0\na>|##|<@a\n", "the name 'a' is taken by an earlier pin"),
    "a pin listed only": ("pins\n  @a input\nz = 0\n|##|\n", "is listed, but not drawn"),
    "a pin listed outside": (
        "pins\n  @a input cell [0, 0, 7] face -x\nz = 0\n|##|\n",
        "lies outside the box of 1 x 1 x 1",
    ),
    "a pin listed inside": (
        "pins\n  @a input cell [0, 0, 0] face +x\nz = 0\n|## ##|\n",
        "leads to a cell inside the box",
    ),
    "a pin listed elsewhere": (
        "pins\n  @a input cell [0, 0, 1] face -x\nz = 0\na>|##|\n",
        "pin 'a' is listed at cell [0, 0, 1], but drawn at cell [0, 0, 0] in line 4",
    ),
    "a pin listed as another role": (
        "pins\n  @a output\nz = 0\na>|##|\n",
        "listed as an output, but drawn as an input in line 4",
    ),
    "a strange word of a pin": ("pins\n  a input @jiont buffer\nz = 0\na>|##|\n", "'jiont buffer'"),
    "two pins of one mark": (
        "pins\n  in > in1 input joint wire\nz = 0\nin>|##|<@in\n",
        "2 pins are drawn as 'in'; which one is 'in1'?",
    ),
    "a word of no heading": ("@stakc y\nz = 0\n|##|\n", "did you mean 'stack'?"),
    "a word twice": ("stack y\n@stack x\nz = 0\n|##|\n", "'stack' stands already in line 1"),
    "a strange axis": ("stack @w\nz = 0\n|##|\n", "'w' is no way to stack"),
    "a pitch of none": ("stack @y at pitch 0\nz = 0\n|##|\n", "is no way to stack"),
    "a strange link": ("stack y\nchain @co-ci\nz = 0\nci>|##|>co\n", "'co-ci' is no link of a"),
    "a link of no pin": ("stack y\nchain @co:c\nz = 0\nci>|##|>co\n", "the inputs are ci"),
    "a chain alone": ("@chain co:ci\nz = 0\nci>|##|>co\n", "add the axis that it stacks along"),
    "a strange ground": ("ground @maybe\nz = 0\n|##|\n", "write yes or no"),
    "a delay alone": ("delay @2\nz = 0\n|##|\n", "there is a delay, but no function"),
    "a strange delay": ("function q = a\ndelay @soon\nz = 0\n|##|\n", "'soon' is no delay"),
    "a function and a table": (
        "function q = a\n@table 0 1\ninputs a\noutputs q\nz = 0\n|##|\n",
        "a table beside a function",
    ),
    "a table of no inputs": ("outputs q\n@table 0 1\nz = 0\n|##|\n", "no 'inputs' that it is of"),
    "inputs of no table": ("@inputs a\nz = 0\n|##|\n", "no table that they are of"),
    "an open quote": ('name @"x\nz = 0\n|##|\n', "close the quotes"),
    "another size": ("size @2 x 1 x 1\nz = 0\n|##|\n", "but 1 x 1 x 1 cells are drawn"),
    "a later version": ("gatefit-drawing @2\nz = 0\n|##|\n", "the versions understood are: 1"),
    "no delay for a slow buffer": ("z = 0\n|@*>|\n", "no delay is listed for the buffer"),
    "a delay for another cell": (
        "z = 0\n|*>|\nbuffers\n  @[0, 0, 1] delay 12\n",
        "no buffer is drawn as * at [0, 0, 1]",
    ),
    "a delay too long": ("z = 0\n|*>|\nbuffers\n  @[0,0,0] delay 65\n", "use 1 to 64"),
    "a slow buffer turned": (
        "z = 0\n|*>|\nbuffers\n  @[0,0,0]  buffer to -x, delay 12\n",
        "is listed to -x, but drawn to +x",
    ),
    "no drawing at all": ("@hello\n", "this is neither JSON nor a line of a drawing"),
    "too long a row": (f"z = 0\n@|{'##' * 257}|\n", "a layer of more than 256 cells along one"),
    "too many rows": ("z = 0\n" + "|##|\n" * 256 + "@|##|\n", "of more than 256 cells"),
    "too high a layer": ("z = 0\n|##|\n@z = 256\n", "use at most 256 layers"),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_an_error_points_at_what_is_wrong(case: str) -> None:
    drawn, said = WRONG[case]
    line, column, text = at(drawn)
    with pytest.raises(InputError) as caught:
        Layout.from_drawing(text)
    head, shown, caret = str(caught.value).split("\n")
    assert head.startswith(f"line {line}, column {column}: ")
    assert said in head
    marked = text.split("\n")[line - 1][column - 1 : column]
    assert shown[caret.index("^")] == marked or not marked


def test_a_caret_stands_below_tabs_as_a_terminal_shows_them() -> None:
    with pytest.raises(InputError, match="line 2, column 17") as caught:
        Layout.from_drawing("z = 0\n|\t##\txx |\n")
    _, shown, caret = str(caught.value).split("\n")
    assert shown[caret.index("^") :] == "xx |"


@pytest.mark.parametrize("text", ["pins\n  a\n", "// nothing\n", "  \n"])
def test_a_text_without_layers_says_how_to_draw(text: str) -> None:
    with pytest.raises(InputError, match=r"no layer is drawn; .*z = 0"):
        Layout.from_drawing(text)


def test_a_drawing_beyond_all_bounds_is_refused_at_once() -> None:
    with pytest.raises(InputError, match=r"a drawing of 4,\d+,\d+ characters"):
        Layout.from_drawing("/" * (1 << 22) + "/")
    layer = f"{'|' + '##' * 250 + '|'}\n" * 250
    with pytest.raises(InputError, match="a box of 250 x 250 x 4 has 250000 cells"):
        Layout.from_drawing("".join(f"z = {z}\n{layer}" for z in range(4)))
