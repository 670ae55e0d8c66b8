"""The heading of a drawing: a line a thing that is said of the layout as a whole.

A line is a word, and behind it, after a colon or an equals sign or neither, its value. Lists stand
below their word, a line an item, up to the next empty line or word. The order is free, and lines
may stand below the layers, too. ``KEYS`` has all words: one that is added there is read.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.layout.drawing.source import Source, Spot, first_column
from synth.layout.made_for import MadeFor, Table, read_made_for
from synth.layout.pins import Stack, show_size
from synth.medium import AXES, ChainLink, Size

FORMAT = "gatefit-drawing"
VERSION = 1

_WORD = re.compile(r"\s*([A-Za-z][A-Za-z-]*)(?:\s*[:=]\s*|\s+|$)")
_SIZE = re.compile(r"(\d{1,6}) ?x ?(\d{1,6}) ?x ?(\d{1,6})(?!\d)")
_STACK = re.compile(
    r"(?:along +)?(?P<axis>[A-Za-z]+)(?:,? +(?:at +)?pitch +(?P<pitch>\d{1,6}))?(?: +cells)?",
)
_LINK = re.compile(rf"({fields.NAME_PATTERN.pattern}):({fields.NAME_PATTERN.pattern})")
_TICKS = re.compile(r"(\d{1,6})(?: +ticks?)?")
_GROUND = {"": True, "yes": True, "true": True, "no": False, "false": False}
_ROW = re.compile(r"[01]+ [01-]+")
_TABLE_WIDTH = 64
"""Columns of the rows of a table in one line."""

_GROUND_SHOWN = "carries wires and buffers at height 0"


@dataclass(frozen=True, slots=True)
class Said:
    """What stands behind a word of the heading, and below it.

    Attributes:
        word: the word.
        spot: where the word stands.
        value: what stands behind it in its line.
        at: where that begins.
        items: the lines below it, each with where it begins.
    """

    word: str
    spot: Spot
    value: str
    at: Spot
    items: list[tuple[str, Spot]] = field(default_factory=list)


class Heading:
    """Everything that the heading says, word by word.

    Args:
        source: the text.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self._said: dict[str, Said] = {}
        self._list: Said | None = None

    @staticmethod
    def word(text: str) -> str | None:
        """The word of the heading that a line begins with, or None."""
        found = _WORD.match(text)
        word = found[1].lower() if found else ""
        return word if word in KEYS else None

    def end_list(self) -> None:
        """An empty line or a layer has ended whatever was listed."""
        self._list = None

    def takes(self, line: int, text: str) -> bool:
        """Take a line that is a word of the heading, or an item of what is listed; whether it is.

        Raises:
            InputError: if the word stands twice.
        """
        word = self.word(text)
        begin = Spot(line, first_column(text))
        if self._list is not None and (text[0].isspace() or word is None):
            self._list.items.append((text.strip(), begin))
            return True
        if word is None:
            return False
        found = _WORD.match(text)
        assert found is not None
        said = Said(word, begin, text[found.end() :], Spot(line, min(found.end(), len(text) - 1)))
        if word in self._said:
            raise self.source.error(
                begin,
                f"{word!r} stands already in line {self._said[word].spot.line + 1}",
                "keep one of them",
            )
        self._said[word] = said
        self._list = said if KEYS[word] else None
        return True

    def said(self, word: str) -> Said | None:
        """What is said behind a word, or None."""
        return self._said.get(word)

    def items(self, word: str) -> list[tuple[str, Spot]]:
        """What is listed below a word, an item in the word's own line included."""
        said = self._said.get(word)
        if said is None:
            return []
        return ([(said.value, said.at)] if said.value else []) + said.items

    def check_version(self) -> None:
        """Refuse a drawing of another version than this reader's."""
        said = self._said.get(FORMAT)
        if said is not None and said.value != str(VERSION):
            raise self.source.error(
                said.at,
                f"version {fields.shown(said.value)} of {FORMAT} is not understood",
                f"the versions understood are: {VERSION}",
            )

    def check_size(self, size: Size) -> None:
        """Refuse a size that is not that of what is drawn."""
        said = self._said.get("size")
        if said is None:
            return
        found = _SIZE.match(said.value)
        if found is None or tuple(map(int, found.groups())) != size:
            raise self.source.error(
                said.at,
                f"the size says {fields.shown(found[0] if found else said.value)}, but "
                f"{show_size(size)} cells are drawn",
                "correct the one or the other, or leave the size out",
            )

    def name(self) -> str | None:
        """The layout's name."""
        return self._text("name")

    def ground(self) -> bool:
        """Whether it stands on ground."""
        said = self._said.get("ground")
        if said is None:
            return False
        if said.value.startswith(_GROUND_SHOWN):
            return True
        if said.value.lower() not in _GROUND:
            raise self.source.error(
                said.at, f"{fields.shown(said.value)} says nothing of ground", "write yes or no"
            )
        return _GROUND[said.value.lower()]

    def stack(self, size: Size) -> Stack | None:
        """How it stacks and chains; the pitch is the box's size on the axis where none is said."""
        said = self._said.get("stack")
        chain = self._chain()
        if said is None or said.value == "none":
            if chain:
                raise self.source.error(
                    self._said["chain"].spot,
                    "there is a chain, but no stacking",
                    "add the axis that it stacks along: stack y",
                )
            return None
        found = _STACK.fullmatch(said.value)
        if found is None or found["axis"] not in AXES or found["pitch"] in ("0", "00"):
            raise self.source.error(
                said.at,
                f"{fields.shown(said.value)} is no way to stack",
                "write the axis, and the pitch where it is not the size of the box: "
                "stack y, or stack y at pitch 3",
            )
        axis = found["axis"]
        return Stack(axis, int(found["pitch"] or size[AXES.index(axis)]), chain)

    def _chain(self) -> tuple[ChainLink, ...]:
        """The links: an output of each copy, a colon, the input of the next that it is."""
        said = self._said.get("chain")
        links = [] if said is None else re.split(r"[ ,]+", said.value)
        found = [_LINK.fullmatch(link) for link in links]
        for link, match in zip(links, found, strict=True):
            if match is None:
                assert said is not None
                raise self.source.error(
                    said.at,
                    f"{fields.shown(link)} is no link of a chain",
                    "write an output, a colon and an input: chain co:ci",
                )
        return tuple(ChainLink(match[1], match[2]) for match in found if match)

    def made_for(self) -> MadeFor | None:
        """The function and delay that it was made for."""
        table = self._table()
        function, delay = self._said.get("function"), self._said.get("delay")
        document: dict[str, Any] = {}
        if function is not None and table is not None:
            raise self.source.error(
                self._said["table"].spot, "a table beside a function", "keep one of them"
            )
        if function is not None:
            document["function"] = self._text("function")
        elif table is not None:
            document["function"] = table
        if delay is not None:
            found = _TICKS.fullmatch(delay.value)
            if found is None:
                raise self.source.error(
                    delay.at,
                    f"{fields.shown(delay.value)} is no delay",
                    "write a number of ticks: delay 2",
                )
            document["delay"] = int(found[1])
        try:
            return read_made_for(document)
        except InputError as error:
            wrong = delay if error.place == "delay" else function or self._said["table"]
            assert wrong is not None
            raise self.source.error(wrong.at, error.problem, error.way_out or "") from None

    def _table(self) -> dict[str, list[str]] | None:
        """The keys of a specification's table."""
        if "table" not in self._said:
            for word in ("inputs", "outputs"):
                if word in self._said:
                    raise self.source.error(
                        self._said[word].spot,
                        f"{word!r}, and no table that they are of",
                        "add the table, or leave them out: pins name themselves",
                    )
            return None
        found = {}
        for word in ("inputs", "outputs"):
            said = self._said.get(word)
            if said is None:
                raise self.source.error(
                    self._said["table"].spot,
                    f"a table, and no {word!r} that it is of",
                    f"add {word} and their names in the order of the columns",
                )
            found[word] = said.value.replace(",", " ").split()
        rows = [text for text, _ in self.items("table")]
        found["table"] = [
            " ".join(row.split()) for line in rows for row in line.split(",") if row.strip()
        ]
        return found

    def _text(self, word: str) -> str | None:
        """A value that may be any line of text; in quotes where it has to be, as JSON has them."""
        said = self._said.get(word)
        if said is None:
            return None
        value = said.value
        problem, way_out = f"{fields.shown(value)} is no {word}", "write it in one line"
        try:
            if value.startswith('"'):
                value = json.loads(value)
                way_out = ""
            return fields.line(value, word)
        except ValueError as error:
            if isinstance(error, InputError):
                problem, way_out = error.problem, error.way_out or ""
            else:
                way_out = 'close the quotes, and write quotes inside them as \\"'
            raise self.source.error(said.at, problem, way_out) from None


def heading_rows(
    name: str | None, made_for: MadeFor | None
) -> list[tuple[str, str]]:  # fmt: skip
    """The words and values that say a layout's name and what it was made for.

    Raises:
        InputError: if they cannot be written so that they are read back.
    """
    rows = [] if name is None else [("Name", _quoted(fields.line(name, "name")))]
    if made_for is None:
        return rows
    function = made_for.function
    if isinstance(function, str):
        rows.append(("Function", _quoted(fields.line(function, "function"))))
    else:
        rows += _table_rows(function)
    if made_for.delay is not None:
        rows.append(("Delay", str(made_for.delay)))
    return rows


def _table_rows(table: Table) -> list[tuple[str, str]]:
    for word in (*table.inputs, *table.outputs):
        fields.name(word, "function")
    for row in table.rows:
        if not _ROW.fullmatch(row):
            raise InputError(
                f"{fields.shown(row)} is no row of a table",
                place="function",
                way_out="use digits of the inputs, a space, digits of the outputs",
            )
    rows = [("Inputs", " ".join(table.inputs)), ("Outputs", " ".join(table.outputs))]
    in_a_line = max(1, _TABLE_WIDTH // (len(table.inputs) + len(table.outputs) + 3))
    for start in range(0, len(table.rows), in_a_line):
        rows.append(("" if start else "Table", ", ".join(table.rows[start : start + in_a_line])))
    return rows


def _quoted(text: str) -> str:
    """A text as it is, or in quotes where its reader would take it for something else."""
    odd = not text or text.strip() != text or text[0] in '":=' or "//" in text
    return json.dumps(text, ensure_ascii=False) if odd else text


KEYS: Mapping[str, bool] = {
    FORMAT: False,
    "name": False,
    "function": False,
    "inputs": False,
    "outputs": False,
    "table": True,
    "delay": False,
    "stack": False,
    "chain": False,
    "ground": False,
    "pins": True,
    "buffers": True,
    "size": False,
    "parts": False,
}
"""Every word of the heading, and whether items may be listed below it.

``size`` and ``parts`` are what ``gatefit show`` sums up: a size must agree with the drawing, parts
are counted anew.
"""
