"""What a drawing lists below its heading's words: pins, and buffers of more than 9 ticks."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from synth import fields
from synth.layout.drawing.glyphs import pin_arrow
from synth.layout.drawing.heading import Heading
from synth.layout.drawing.layers import Layers, Mark
from synth.layout.drawing.source import Source, Spot
from synth.layout.pins import Pin
from synth.medium import LEVEL_DIRECTIONS, Block, Cell, Direction, Joint, Role, buffer
from synth.medium_document import MAX_BUFFER_DELAY
from synth.words import ticks

_NAME = fields.NAME_PATTERN.pattern
_CELL = r"\[ ?(\d{1,6}) ?, ?(\d{1,6}) ?, ?(\d{1,6}) ?\]"
_DRAWN = re.compile(rf"(?P<letters>{_NAME}) +(?P<arrow>[<>^v]) +(?={_NAME} +(?:input|output)\b)")
_WORDS = (
    ("name", re.compile(rf"(?P<name>{_NAME})(?: +|$)")),
    ("role", re.compile(r"(?P<role>input|output)(?: +|$)")),
    ("cell", re.compile(rf"cell +(?P<cell>{_CELL})(?: +|$)")),
    ("face", re.compile(r"face +(?P<face>[+-][xyz])(?: +|$)")),
    ("joint", re.compile(r"(?:joint +)?(?P<joint>wire|buffer)(?: +|$)")),
)
_PIN_WAY_OUT = (
    "write its name, and where needed, in this order: input or output, cell [0, 0, 0], face -x, "
    "joint wire or joint buffer"
)
_BUFFER = re.compile(
    rf"{_CELL} +(?:buffer +)?(?:to +(?P<to>[+-][xy]),? +)?delay +(?P<delay>\d{{1,6}})"
)


@dataclass(frozen=True, slots=True)
class Listed:
    """A pin as listed; what its line leaves out is None."""

    name: str
    spot: Spot
    letters: str
    arrow: str | None
    role: Role | None
    at: Cell | None
    face: Direction | None
    joint: Joint

    def sits_at(self, mark: Mark) -> bool:
        """Whether it is listed where a mark is drawn."""
        return self.letters == mark.letters and (self.at, self.face) == (mark.at, mark.face)


def read_pins(heading: Heading, layers: Layers) -> tuple[list[Pin], list[Spot]]:
    """The pins, as drawn and as listed, and where each is said to be.

    Those listed come first, in their order, then the others: inputs before outputs, by name.

    Raises:
        InputError: where the one contradicts the other or neither says where a pin is.
    """
    source = heading.source
    listed = [_listed(source, text, spot) for text, spot in heading.items("pins")]
    drawn = _drawn(source, listed, layers.marks)
    pins, spots = [], []
    for entry in listed:
        mark = drawn.get(entry.name)
        if mark is not None:
            _compare(source, entry, mark)
        role = entry.role if mark is None else mark.role
        at = entry.at if mark is None else mark.at
        face = entry.face if mark is None else mark.face
        if role is None or at is None or face is None:
            raise source.error(
                entry.spot,
                f"pin {entry.name!r} is listed, but not drawn",
                f"draw it beside its cell, {entry.letters}>| or |>{entry.letters}, or add its "
                "role, cell and face to this line",
            )
        pins.append(Pin(entry.name, role, at, face, entry.joint))
        spots.append(entry.spot)
    taken = {id(mark) for mark in drawn.values()}
    others = [mark for mark in layers.marks if id(mark) not in taken]
    for mark in sorted(others, key=lambda mark: (mark.role is Role.OUTPUT, mark.letters)):
        pins.append(Pin(mark.letters, mark.role, mark.at, mark.face))
        spots.append(mark.spot)
    return pins, spots


def read_pin(text: str) -> Pin:
    """A pin by the line that lists it: ``a input cell [0, 1, 3] face -x joint wire``.

    Raises:
        InputError: with the line and a caret below it.
    """
    source = Source.of(text)
    entry = _listed(source, source.lines[0], Spot(0, 0))
    if entry.role is None or entry.at is None or entry.face is None:
        raise source.error(
            Spot(0, 0),
            f"pin {entry.name!r} lacks its role, cell or face",
            "write them: a input cell [0, 1, 3] face -x",
        )
    return Pin(entry.name, entry.role, entry.at, entry.face, entry.joint)


def _listed(source: Source, text: str, spot: Spot) -> Listed:
    """A pin's line, word by word, so that an error points at the first that cannot be read."""
    found: dict[str, re.Match[str]] = {}
    drawn = _DRAWN.match(text)
    at = drawn.end() if drawn else 0
    for word, pattern in _WORDS:
        match = pattern.match(text, at)
        if match is not None:
            found[word] = match
            at = match.end()
    if "name" not in found or at < len(text):
        raise source.error(
            Spot(spot.line, spot.column + at),
            f"cannot read {fields.shown(text[at:])} in the line of a pin",
            _PIN_WAY_OUT,
        )
    name = found["name"]["name"]
    x, y, z = map(int, found["cell"].groups()[1:]) if "cell" in found else (0, 0, 0)
    return Listed(
        name=name,
        spot=spot,
        letters=drawn["letters"] if drawn else name,
        arrow=drawn["arrow"] if drawn else None,
        role=Role(found["role"]["role"]) if "role" in found else None,
        at=(x, y, z) if "cell" in found else None,
        face=Direction(found["face"]["face"]) if "face" in found else None,
        joint=Joint(found["joint"]["joint"]) if "joint" in found else Joint.WIRE,
    )


def _drawn(source: Source, listed: Sequence[Listed], marks: Iterable[Mark]) -> dict[str, Mark]:
    """The mark of each pin that is listed, by name; of those that are drawn."""
    left: dict[str, list[Mark]] = {}
    for mark in marks:
        left.setdefault(mark.letters, []).append(mark)
    found: dict[str, Mark] = {}
    for entry in listed:
        exact = next((mark for mark in left.get(entry.letters, ()) if entry.sits_at(mark)), None)
        if exact is not None and entry.name not in found:
            found[entry.name] = exact
            left[entry.letters].remove(exact)
    for entry in listed:
        same = left.get(entry.letters, [])
        if entry.name in found or not same:
            continue
        if len(same) > 1:
            raise source.error(
                same[1].spot,
                f"{len(same)} pins are drawn as {entry.letters!r}; which one is {entry.name!r}?",
                "add cell and face to the pins' lines, or draw other letters",
            )
        found[entry.name] = same.pop()
    return found


def _compare(source: Source, entry: Listed, mark: Mark) -> None:
    """A pin must not be listed as something else than it is drawn as."""
    arrow = pin_arrow(mark.face, mark.role)
    for said, drawn, what in (
        (entry.role, mark.role, "as an"),
        (entry.at and list(entry.at), list(mark.at), "at cell"),
        (entry.face, mark.face, "on face"),
        (entry.arrow, arrow, "with the arrow"),
    ):
        if said is not None and said != drawn:
            raise source.error(
                entry.spot,
                f"pin {entry.name!r} is listed {what} {said}, but drawn {what} {drawn} in line "
                f"{mark.spot.line + 1}",
                "correct the one or the other; a pin's line need not say what is drawn",
            )


def read_cells(heading: Heading, layers: Layers) -> dict[Cell, Block]:
    """What the cells hold, with the delays that are listed for buffers drawn as ``*``.

    Raises:
        InputError: if a delay is listed for another cell, or missing.
    """
    source = heading.source
    delays: dict[Cell, int] = {}
    # What ``gatefit show`` writes behind the word is a sentence.
    said = heading.said("buffers")
    for text, spot in said.items if said else ():
        found = _BUFFER.fullmatch(text)
        if found is None:
            raise source.error(
                spot,
                f"cannot read {fields.shown(text)} in the list of buffers",
                "write cell and delay of a buffer drawn as *: [0, 0, 1] delay 12",
            )
        x, y, z = (int(found[index]) for index in (1, 2, 3))
        cell, delay = (x, y, z), int(found["delay"])
        way = layers.cells.get(cell)
        if not isinstance(way, Direction):
            raise source.error(
                spot, f"no buffer is drawn as * at {list(cell)}", "correct the cell or the drawing"
            )
        if found["to"] not in (None, str(way)):
            raise source.error(
                spot,
                f"the buffer at {list(cell)} is listed to {found['to']}, but drawn to {way}",
                "correct the one or the other",
            )
        if not 1 <= delay <= MAX_BUFFER_DELAY:
            raise source.error(spot, f"a delay of {ticks(delay)}", f"use 1 to {MAX_BUFFER_DELAY}")
        if cell in delays:
            raise source.error(spot, f"{list(cell)} is listed twice", "keep one of them")
        delays[cell] = delay
    cells: dict[Cell, Block] = {}
    for cell, block in layers.cells.items():
        if isinstance(block, Block):
            cells[cell] = block
        elif cell in delays:
            assert block in LEVEL_DIRECTIONS
            cells[cell] = buffer(block, delays[cell])
        else:
            raise source.error(
                layers.spots[cell],
                f"no delay is listed for the buffer drawn as * at {list(cell)}",
                f"add a list below the drawing: a line 'buffers', then '{list(cell)} delay 12'",
            )
    return cells
