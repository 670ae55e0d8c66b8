"""What the symbols mean: one table for plans, sheets, pages, the catalogue and the terminal.

Every entry has a symbol and words; entries that a terminal can show also have its characters.
No other module says what a symbol means.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Block, Direction, buffer, inverter
from synth.views.drawing import palette
from synth.views.drawing.svg import Picture, element, lines, path, shifted, text
from synth.views.drawing.symbols import CELL, symbol

_RUNS = (Direction.PX, Direction.NX)
_OUT = (Direction.PX,)


class Says(Enum):
    """What an entry is about."""

    PART = "part"
    """Shapes: which part it is."""

    STATE = "state"
    """Filling, thickness, hatching and numbers: the state of a part."""

    STEP = "step"
    """What a building plan adds to a symbol."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A symbol and what it means.

    Attributes:
        says: what kind of entry it is.
        name: what the symbol means.
        looks: how to recognise the symbol.
        block: the part; None where the symbol does not stand for a part.
        up, down: for a wire, the level directions of its links one step up or down.
        power: as ``symbols.symbol`` takes it.
        glyph: the characters on a terminal; empty where it shows none.
        reads: how to read them, where the name does not say it.
    """

    says: Says
    name: str
    looks: str
    block: Block | None = None
    up: Sequence[Direction] = ()
    down: Sequence[Direction] = ()
    power: float = 0
    glyph: str = ""
    reads: str = ""

    @property
    def words(self) -> str:
        """What the symbol means and how it looks, in one line."""
        return f"{self.name}: {self.looks}"

    @property
    def state(self) -> str:
        """The CSS classes of its state, as ``symbols.LIVE_STYLE`` reads them."""
        if not self.power:
            return ""
        return "is-on is-driven" if self.block == SOLID and self.power == 2 else "is-on"

    def body(self, *, live: bool = False) -> str:
        """The symbol, in a cell of ``CELL`` units."""
        if self.block is None:
            return new_ground() + new_frame() + badge("7") if self.says is Says.STEP else _pin()
        runs = _RUNS if self.block == WIRE else ()
        drawn = symbol(self.block, runs, self.up, self.down, power=self.power, live=live)
        if self.block == WIRE and self.power and not live:
            drawn += strength(15)
        return drawn

    def picture(self) -> Picture:
        """The symbol as a drawing of its own."""
        return Picture(CELL, CELL, self.body())


ENTRIES = (
    Entry(Says.PART, "solid", "heavy frame", SOLID, glyph="##"),
    Entry(Says.PART, "clear", "thin frame, four dots", CLEAR, glyph="::"),
    Entry(Says.PART, "ledge", "thin frame, two bars", LEDGE, glyph="=="),
    Entry(Says.PART, "wire", "a line in each direction it runs", WIRE, glyph="++"),
    Entry(Says.PART, "wire, linked one step up", "a chevron", WIRE, up=_OUT),
    Entry(Says.PART, "wire, linked one step down", "a bar", WIRE, down=_OUT),
    Entry(
        Says.PART,
        "inverter",
        "its flat side is on its host",
        inverter(Direction.NX),
        glyph="~<",
        reads="the side its host is on: < > ^ v, or _ if it stands on its host",
    ),
    Entry(Says.PART, "inverter, standing on its host", "a ring", inverter(Direction.NZ)),
    Entry(
        Says.PART,
        "buffer",
        "points to its front; notches count ticks",
        buffer(Direction.PX, 2),
        glyph="2>",
        reads="its delay in ticks and the direction it points in: < > ^ v",
    ),
    Entry(
        Says.PART,
        "pin",
        "an arrow along its signal, its name",
        glyph="a>",
        reads="outside the frame, letters of its name and an arrow along its signal",
    ),
    Entry(
        Says.STATE,
        "wire with power",
        "thick, filled, its strength",
        WIRE,
        power=1,
        glyph="15",
        reads="its strength in place of ++",
    ),
    Entry(Says.STATE, "solid, charged", "hatched", SOLID, power=1),
    Entry(Says.STATE, "solid, driven", "hatched both ways", SOLID, power=2),
    Entry(Says.STATE, "inverter that is on", "filled", inverter(Direction.NX), power=1),
    Entry(Says.STATE, "buffer that is on", "filled", buffer(Direction.PX, 2), power=1),
    Entry(Says.STEP, "added in this step", "framed, numbered"),
)
"""Every symbol with what it means."""


def legend(*, states: bool = False, steps: bool = False) -> tuple[Entry, ...]:
    """The entries that a view needs.

    Args:
        states: whether it shows what has power.
        steps: whether it shows stages of building.
    """
    wanted = {Says.PART} | ({Says.STATE} if states else set()) | ({Says.STEP} if steps else set())
    return tuple(entry for entry in ENTRIES if entry.says in wanted)


def legend_picture(
    entries: Sequence[Entry], *, width: float = 640, columns: int = 2
) -> Picture:  # fmt: skip
    """The legend as a drawing, in columns."""
    scale = 0.7
    rows = -(-len(entries) // columns)
    body = [
        lines([((0, 0), (width, 0))], stroke=palette.FAINT, stroke_width=0.8),
        text("Seen from above: x to the right, y up the page.", 0, 20, fill=palette.FAINT),
    ]
    for index, entry in enumerate(entries):
        column, row = divmod(index, rows)
        x, y = column * width / columns, 32 + row * 36
        body.append(
            f'<g transform="translate({x:g} {y:g}) scale({scale:g})">{entry.body()}</g>'
        )  # fmt: skip
        body.append(text(entry.words, x + CELL * scale + 10, y + CELL * scale / 2 + 4.5))
    return Picture(width, 32 + rows * 36, "".join(body))


def strength(value: int) -> str:
    """The strength of a wire, in the upper right corner of its cell."""
    return text(
        str(value), CELL - 1.5, 10.5, size=10.5, anchor="end", fill=palette.INK, weight="bold"
    )


def new_ground() -> str:
    """The coloured ground behind a part that a step adds."""
    return element(
        "rect", x=0.8, y=0.8, width=CELL - 1.6, height=CELL - 1.6, fill=palette.NEW_FILL,
    )  # fmt: skip


def new_frame() -> str:
    """The frame around a part that a step adds, apart from the part's own frame."""
    return "".join(
        element(
            "rect", x=edge, y=edge, width=CELL - 2 * edge, height=CELL - 2 * edge, fill="none",
            stroke=colour, stroke_width=width,
        )
        for edge, colour, width in ((1.5, palette.NEW_LINE, 3), (3.8, palette.PAPER, 1.6))
    )  # fmt: skip


def badge(words: str) -> str:
    """The number of a part, or a sign, in the upper right corner of its cell."""
    wide = 0.64 * 9 * len(words) + 3
    return element(
        "rect", x=CELL - wide, y=0, width=wide, height=11.5, rx=2, fill=palette.NEW_LINE
    ) + text(
        words, CELL - wide / 2, 9, size=9, anchor="middle", fill=palette.PAPER, weight="bold"
    )  # fmt: skip


def _pin() -> str:
    arrow = lines([((14, 20), (28, 20))], stroke=palette.PIN_FILL, stroke_width=2.4)
    head = path([(38, 20), (28, 15), (28, 25)], closed=True, fill=palette.PIN_FILL)
    return shifted(arrow + head, 0, 0) + text("a", 2, 24.5, size=13, weight="bold")
