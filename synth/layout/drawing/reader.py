"""Reads a drawing: what a person typed, or the whole page that ``gatefit show`` prints."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from synth import fields
from synth.errors import InputError
from synth.layout.documents import Contents, check_size
from synth.layout.drawing.heading import KEYS, Heading
from synth.layout.drawing.layers import LayersReader
from synth.layout.drawing.listed import read_cells, read_pins
from synth.layout.drawing.source import Source, Spot, first_column

_POWER = re.compile(r"(?:Settled|Tick \d+): ")
"""How a page that shows power begins: what was played, in sentences up to an empty line."""

_REMARKS = ("Seen from above:", "Made for ")
"""How paragraphs of a page begin that say nothing that is not drawn: legend, judgement."""

_END = "Verdict: "
"""From here on a page tells what was found out about the layout, and no longer what it is."""

_PIN = re.compile(r"pins\[(\d+)\]")


@dataclass(frozen=True, slots=True)
class Drawing:
    """What was read, and where in the text it stands.

    Attributes:
        contents: what a layout is made of.
    """

    contents: Contents
    _source: Source
    _pins: Sequence[Spot]
    _chain: Spot | None

    def located(self, error: InputError) -> InputError:
        """An error about a pin or chain of the layout, as one that points into the drawing."""
        pin = _PIN.match(error.place or "")
        spot = self._pins[int(pin[1])] if pin else self._chain
        if spot is None or not (pin or error.place == "chain"):
            return error
        return self._source.error(spot, error.problem, error.way_out or "")


def is_drawing(text: str) -> bool:
    """Whether a text is rather a drawing than a document: JSON of a layout begins with a brace."""
    start = text.lstrip()[:1]
    return bool(start) and start not in "{["


def read_drawing(text: str) -> Drawing:
    """The layout that is drawn in a text.

    Raises:
        InputError: with line and column, the line itself and a caret below it; what was drawn, and
            what to write instead.
    """
    source = Source.of(text)
    heading, layers = Heading(source), LayersReader(source)
    remark = False
    for line in range(len(source.lines)):
        code = source.code(line)
        words = code.strip()
        if not words:
            # An empty line ends what is listed; one that holds a comment alone does not.
            if not source.lines[line]:
                heading.end_list()
                remark = False
            continue
        if remark:
            continue
        if words.startswith(_END):
            break
        power = _POWER.match(words) is not None and not layers.begun
        if power or words.startswith(_REMARKS):
            remark = True
            layers.powered |= power
            layers.close()
            heading.end_list()
        elif layers.takes(line, code, like_heading=heading.word(code) is not None):
            heading.end_list()
        else:
            layers.close()
            if not heading.takes(line, code):
                raise _unknown(source, line, code, layers.begun)
    if not layers.begun:
        raise InputError(
            "no layer is drawn",
            way_out="write a layout as JSON, or draw it: a line z = 0, below it the rows of the "
            "layer between bars: | ## ++ |",
        )
    drawn = layers.layers()
    check_size(drawn.size)
    heading.check_version()
    heading.check_size(drawn.size)
    pins, spots = read_pins(heading, drawn)
    contents = Contents(
        size=drawn.size,
        cells=read_cells(heading, drawn),
        pins=tuple(pins),
        stack=heading.stack(drawn.size),
        ground=heading.ground(),
        name=heading.name(),
        made_for=heading.made_for(),
    )
    chain = heading.said("chain")
    return Drawing(contents, source, spots, chain.at if chain else None)


def _unknown(source: Source, line: int, code: str, begun: bool) -> InputError:
    """A line that is none of a drawing's."""
    word = code.split()[0]
    spot = Spot(line, first_column(code))
    way_out = "write comments behind //; " + fields.suggestion(
        word.lower().rstrip(":="), list(KEYS), "a heading begins with one of"
    )
    if not begun:
        way_out = f"this is neither JSON nor a line of a drawing; {way_out}"
    return source.error(spot, f"cannot read {fields.shown(word)}", way_out)
