"""Layout documents: written and read back, and every way in which one can be wrong."""

from __future__ import annotations

import copy
import json
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given

from synth.errors import InputError
from synth.layout import Layout, Pin, Stack
from synth.layout.documents import (
    MAX_CELLS,
    layout_document,
    layout_text,
    parse_json,
)
from synth.medium import SOLID, WIRE, Direction, Joint, Role, buffer, inverter
from tests.layout.strategies import layouts

EXAMPLE: dict[str, Any] = {
    "format": "gatefit-layout",
    "version": 1,
    "name": "nor2",
    "size": [3, 1, 2],
    "parts": [
        {"at": [0, 0, 0], "part": "solid"},
        {"at": [0, 0, 1], "part": "wire"},
        {"at": [1, 0, 0], "part": "inverter", "on": "-x"},
        {"at": [2, 0, 0], "part": "buffer", "to": "+x", "delay": 1},
    ],
    "pins": [
        {"name": "a", "role": "input", "at": [0, 0, 1], "face": "-x", "joint": "wire"},
        {"name": "q", "role": "output", "at": [2, 0, 0], "face": "+x", "joint": "buffer"},
    ],
    "stack": {"axis": "y", "pitch": 1},
    "ground": False,
}


@given(layouts())
def test_written_and_read_back(layout: Layout) -> None:
    back = Layout.from_document(layout_document(layout))
    assert back == layout
    assert back.name == layout.name


@given(layouts())
def test_text_is_the_document_and_reads_back(layout: Layout) -> None:
    text = layout_text(layout)
    assert json.loads(text) == layout_document(layout)
    assert Layout.from_document(parse_json(text)) == layout


def test_example_is_read_as_it_says() -> None:
    layout = Layout.from_document(EXAMPLE)
    assert layout == Layout(
        size=(3, 1, 2),
        cells={
            (0, 0, 0): SOLID,
            (0, 0, 1): WIRE,
            (1, 0, 0): inverter(Direction.NX),
            (2, 0, 0): buffer(Direction.PX),
        },
        pins=(
            Pin("a", Role.INPUT, (0, 0, 1), Direction.NX, Joint.WIRE),
            Pin("q", Role.OUTPUT, (2, 0, 0), Direction.PX, Joint.BUFFER),
        ),
        stack=Stack("y", 1),
    )
    assert layout.name == "nor2"
    assert layout.document() == EXAMPLE


def test_keys_come_in_the_order_of_the_page_and_parts_sorted() -> None:
    shuffled = EXAMPLE | {"parts": EXAMPLE["parts"][::-1]}
    document = Layout.from_document(dict(reversed(shuffled.items()))).document()
    assert list(document) == list(EXAMPLE)
    assert [list(part) for part in document["parts"]] == [list(p) for p in EXAMPLE["parts"]]
    assert document["parts"] == EXAMPLE["parts"]
    assert [list(pin) for pin in document["pins"]] == [list(pin) for pin in EXAMPLE["pins"]]


def test_what_may_be_left_out() -> None:
    document = copy.deepcopy(EXAMPLE)
    del document["name"], document["stack"], document["ground"]
    del document["parts"][3]["delay"], document["pins"][0]["joint"]
    layout = Layout.from_document(document)
    assert (layout.name, layout.stack, layout.ground) == (None, None, False)
    assert layout.cells[2, 0, 0].delay == 1
    assert layout.pins[0].joint is Joint.WIRE
    assert Layout.from_document(document | {"stack": None}).stack is None


@pytest.mark.parametrize(("axis", "pitch"), [("x", 3), ("y", 1), ("z", 2)])
def test_pitch_is_the_size_of_the_box_when_left_out(axis: str, pitch: int) -> None:
    assert Layout.from_document(EXAMPLE | {"stack": {"axis": axis}}).stack == Stack(axis, pitch)


def test_a_delay_outside_the_rule_table_is_left_to_the_simulator() -> None:
    document = copy.deepcopy(EXAMPLE)
    document["parts"][3]["delay"] = 17
    assert Layout.from_document(document).cells[2, 0, 0].delay == 17


def _set(*path: Any) -> Callable[[dict[str, Any]], None]:
    """A change that puts the last of ``path`` at the place the others lead to."""

    def change(document: dict[str, Any]) -> None:
        target: Any = document
        for key in path[:-2]:
            target = target[key]
        target[path[-2]] = path[-1]

    return change


def _drop(*path: Any) -> Callable[[dict[str, Any]], None]:
    def change(document: dict[str, Any]) -> None:
        target: Any = document
        for key in path[:-1]:
            target = target[key]
        del target[path[-1]]

    return change


def _add(key: str, entry: dict[str, Any]) -> Callable[[dict[str, Any]], None]:
    return lambda document: document[key].append(entry)


SOLID_AT_0 = {"at": [0, 0, 0], "part": "solid"}
SECOND_A = {"name": "a", "role": "input", "at": [2, 0, 1], "face": "+x"}

WRONG = [
    (_drop("format"), "the key 'format' is missing; add format 'gatefit-layout'"),
    (_drop("version"), "the key 'version' is missing; add version 1"),
    (_set("format", "gatefit-trace"), "format: the format 'gatefit-trace' is no layout"),
    (
        _set("version", 9),
        "version: version 9 of .* is not understood; the versions .* are: 1, 2, 3, 4",
    ),
    (_set("version", True), "version True of .* is not understood; the versions .* are: 1"),
    (_set("version", "1"), "version '1' of .* is not understood; the versions .* are: 1"),
    (_drop("size"), "the key 'size' is missing; add 'size'"),
    (_drop("parts"), "the key 'parts' is missing"),
    (_drop("pins"), "the key 'pins' is missing"),
    (_set("prats", []), "unknown key 'prats'; did you mean 'parts'\\? the keys here are format"),
    (_set("name", 7), "name: 7 is no text"),
    (_set("name", "a\nb"), r"name: 'a\\nb' has characters that cannot be printed; use one line"),
    (_set("name", "\ud800"), "name: .* has characters that cannot be printed"),
    (_set("size", 3), "size: 3 is no list"),
    (_set("size", [3, 1]), r"size: \[3, 1\] is no size; use three whole numbers"),
    (_set("size", [3, 1, 2.0]), "size: 2.0 is no whole number"),
    (_set("size", [3, True, 2]), "size: True is no whole number"),
    (_set("size", [3, 0, 2]), "size: a size of 0 cells along y; use 1 to 256"),
    (_set("size", [257, 1, 2]), "size: a size of 257 cells along x; use 1 to 256"),
    (_set("size", [3, 1, 10**5000]), "size: a size of a number of thousands of digits cells"),
    (_set("size", [256, 256, 256]), f"16777216 cells; use at most {MAX_CELLS} cells"),
    (_set("parts", {}), "parts: {} is no list"),
    (_set("parts", 3, 5), r"parts\[3\]: 5 is no table"),
    (_set("parts", 3, "at", [1, 0]), r"parts\[3\].at: \[1, 0\] is no cell; use .* \[x, y, z\]"),
    (_set("parts", 3, "at", "here"), r"parts\[3\].at: 'here' is no list"),
    (_set("parts", 3, "at", [2, 0, False]), r"parts\[3\].at: False is no whole number"),
    (_set("parts", 3, "at", [2, 0, 0.5]), r"parts\[3\].at: 0.5 is no whole number"),
    (_set("parts", 3, "at", [3, 0, 0]), r"parts\[3\].at: the part at \[3, 0, 0\] lies outside"),
    (_set("parts", 3, "at", [0, 0, -1]), r"parts\[3\].at: the part at \[0, 0, -1\] lies outside"),
    (_drop("parts", 0, "at"), r"parts\[0\]: the key 'at' is missing"),
    (_drop("parts", 0, "part"), r"parts\[0\]: the key 'part' is missing"),
    (_set("parts", 0, "part", "sold"), r"parts\[0\].part: no part 'sold'; did you mean 'solid'"),
    (_set("parts", 0, "part", ["solid"]), r"parts\[0\].part: no part \['solid'\]"),
    (_set("parts", 0, "colour", 1), r"parts\[0\]: unknown key 'colour'; the keys here are at"),
    (_set("parts", 1, "delay", 1), r"parts\[1\]: a wire has no 'delay'; leave it out"),
    (_set("parts", 2, "to", "+x"), r"parts\[2\]: an inverter has no 'to'; use 'on'"),
    (_set("parts", 3, "on", "+x"), r"parts\[3\]: a buffer has no 'on'; use 'to', 'delay'"),
    (_drop("parts", 2, "on"), r"parts\[2\]: the key 'on' is missing"),
    (_drop("parts", 3, "to"), r"parts\[3\]: the key 'to' is missing"),
    (_set("parts", 2, "on", "+z"), r"parts\[2\].on: no direction '\+z'; .*use one of \+x, -x"),
    (_set("parts", 2, "on", None), r"parts\[2\].on: no direction None"),
    (_set("parts", 3, "to", "-z"), r"parts\[3\].to: no direction '-z'"),
    (
        _set("parts", 3, "to", "x"),
        r"parts\[3\].to: no direction 'x'; .*use one of \+x, -x, \+y, -y",
    ),
    (_set("parts", 3, "delay", 0), r"parts\[3\].delay: 0 is too small; use .* from 1"),
    (_set("parts", 3, "delay", 1.5), r"parts\[3\].delay: 1.5 is no whole number"),
    (_set("parts", 3, "delay", True), r"parts\[3\].delay: True is no whole number"),
    (_add("parts", SOLID_AT_0), r"parts\[4\].at: two parts at \[0, 0, 0\]: solid and solid"),
    (_set("pins", None), "pins: None is no list"),
    (_set("pins", 0, "x"), r"pins\[0\]: 'x' is no table"),
    (_set("pins", 0, "side", 1), r"pins\[0\]: unknown key 'side'; the keys here are name"),
    (_drop("pins", 0, "role"), r"pins\[0\]: the key 'role' is missing"),
    (_set("pins", 0, "role", "in"), r"pins\[0\].role: no role 'in'; .*use one of input, output"),
    (_set("pins", 0, "name", "0a"), r"pins\[0\].name: '0a' is no name for a pin; use letters"),
    (_set("pins", 0, "name", 1), r"pins\[0\].name: 1 is no text"),
    (_set("pins", 0, "face", "+z"), r"pins\[0\].face: no direction '\+z'"),
    (_set("pins", 0, "face", "+x"), r"pins\[0\].face: pin 'a' .* leads to a cell inside the box"),
    (_set("pins", 0, "at", [1, 0, 0]), r"pins\[0\].face: pin 'a' at \[1, 0, 0\]: its face -x"),
    (_set("pins", 0, "at", [0, 0, 2]), r"pins\[0\].at: pin 'a' at \[0, 0, 2\] lies outside"),
    (_set("pins", 0, "joint", "wired"), r"pins\[0\].joint: no joint 'wired'; did you mean 'wire'"),
    (_add("pins", SECOND_A), r"pins\[2\].name: the name 'a' is taken by an earlier pin"),
    (_set("stack", "y"), "stack: 'y' is no table"),
    (_set("stack", {}), "stack: the key 'axis' is missing"),
    (_set("stack", {"axis": "w"}), "stack.axis: no axis 'w'; use one of x, y, z"),
    (_set("stack", "pich", 2), "stack: unknown key 'pich'; did you mean 'pitch'"),
    (_set("stack", "pitch", 0), "stack.pitch: 0 is too small"),
    (_set("ground", 0), "ground: 0 is neither true nor false; use true or false"),
    (_set("ground", None), "ground: None is neither true nor false"),
]


@pytest.mark.parametrize(("change", "message"), WRONG, ids=[message for _, message in WRONG])
def test_what_is_wrong_is_named_with_its_place(
    change: Callable[[dict[str, Any]], None], message: str
) -> None:
    document = copy.deepcopy(EXAMPLE)
    change(document)
    with pytest.raises(InputError) as caught:
        Layout.from_document(document)
    assert re.search(message, str(caught.value)), str(caught.value)


@pytest.mark.parametrize("document", [None, [], "text", 3])
def test_a_document_is_a_table(document: Any) -> None:
    with pytest.raises(InputError, match="is no table"):
        Layout.from_document(document)


def test_a_version_that_is_not_understood_comes_before_its_unknown_keys() -> None:
    with pytest.raises(InputError, match="version 9"):
        Layout.from_document({"format": "gatefit-layout", "version": 9, "new": 1})


NOT_JSON = [
    (b"", r"is empty; name the file that holds it"),
    (b'{"format":\n  oops}', r"line 2, column 3: not JSON: expecting value"),
    (b'{"format": "gatefit-layout",}', r"line 1, column \d+: not JSON"),
    (b"\xff\xfe", "byte 0: is not UTF-8 text .*; save the file as UTF-8"),
    (b'{"size": [NaN, 1, 1]}', "NaN is no JSON number; use a whole number"),
    (b'{"size": [1, -Infinity, 1]}', "-Infinity is no JSON number"),
    (b'{"size": 1, "size": 2}', "the key 'size' stands twice in one object; keep one"),
    (b"[" * 100_000, "nested too deeply"),
    (b'{"version": ' + b"1" * 5000 + b"}", "a number of thousands of digits"),
    (b"[]", r"\[\] is no table"),
]


@pytest.mark.parametrize(("data", "message"), NOT_JSON)
def test_a_file_that_is_no_document(data: bytes, message: str, tmp_path: Path) -> None:
    path = tmp_path / "layout.json"
    path.write_bytes(data)
    with pytest.raises(InputError, match=message) as caught:
        Layout.load(path)
    assert caught.value.file == str(path)
    assert str(caught.value).startswith(f"{path}: ")


def test_errors_in_a_file_name_the_file_and_the_place(tmp_path: Path) -> None:
    path = tmp_path / "layout.json"
    path.write_text(json.dumps(EXAMPLE | {"size": [3, 1, 0]}))
    with pytest.raises(InputError) as caught:
        Layout.load(path)
    assert str(caught.value) == f"{path}: size: a size of 0 cells along z; use 1 to 256"


def test_a_missing_file_and_a_directory(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file; check the path"):
        Layout.load(tmp_path / "none.json")
    with pytest.raises(InputError, match="is a directory"):
        Layout.load(tmp_path)
    with pytest.raises(InputError, match="cannot be read"):
        Layout.load("nul\0")


def test_saved_and_loaded(tmp_path: Path) -> None:
    layout = Layout.from_document(EXAMPLE)
    layout.save(tmp_path / "layout.json")
    assert Layout.load(tmp_path / "layout.json") == layout
    assert os.listdir(tmp_path) == ["layout.json"]


def test_a_layout_too_large_for_a_document_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "layout.json"
    path.write_text("before")
    with pytest.raises(InputError, match="a size of 300 cells along x"):
        Layout((300, 1, 1), {}).save(path)
    with pytest.raises(InputError, match="cannot be printed"):
        Layout((1, 1, 1), {}, name="a\tb").save(path)
    assert path.read_text() == "before"
    assert os.listdir(tmp_path) == ["layout.json"]
