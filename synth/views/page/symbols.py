"""The symbols of the page's layers: those of all drawings, live, in cells of ``UNIT`` units.

The page switches power by CSS classes (``LIVE_STYLE``); their patterns (``PATTERNS``) stand once
on each page.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from synth.medium import Block, Direction, Part
from synth.views.drawing import palette
from synth.views.drawing import symbols as flat
from synth.views.drawing.legend import legend as entries_of

UNIT = 60
"""Units of one cell."""

_SCALE = UNIT / flat.CELL
_SMALLER = 0.74
"""Inverters and buffers are drawn smaller, so that their orientation can be written below."""

PATTERNS = f"<style>{palette.theme_style()}{flat.LIVE_STYLE}</style>"
"""What a page needs once, within ``defs``, for its symbols: colours and what power changes."""


def symbol(
    block: Block,
    runs: Iterable[Direction] = (),
    up: Iterable[Direction] = (),
    down: Iterable[Direction] = (),
    *,
    outside: bool = False,
) -> str:
    """The symbol of a block, drawn from (0, 0) to (UNIT, UNIT).

    Args:
        block: what the cell holds.
        runs: the level directions that a wire runs towards.
        up, down: the level directions in which a wire is linked to one a step up, or a step down.
        outside: whether it stands outside a pin: such a buffer has no delay (section 6).
    """
    return _symbol(block, frozenset(runs), frozenset(up), frozenset(down), outside)


@lru_cache(maxsize=4096)  # A page has few different ones, and is drawn anew after every edit.
def _symbol(
    block: Block,
    runs: frozenset[Direction],
    up: frozenset[Direction],
    down: frozenset[Direction],
    outside: bool,
) -> str:
    art = flat.symbol(block, runs, up, down, outside=outside, live=True)
    small = block.part in (Part.INVERTER, Part.BUFFER)
    return _scaled(art, small=small)


def _scaled(art: str, *, small: bool) -> str:
    art = palette.themed(art)
    if small:
        return f'<g transform="translate(8 0) scale({_SCALE * _SMALLER:g})">{art}</g>'
    return f'<g transform="scale({_SCALE:g})">{art}</g>'


def legend() -> list[tuple[str, str, str]]:
    """For each entry of the legend its symbol, the classes of its state, and its words."""
    return [
        (_scaled(entry.body(live=True), small=False), entry.state, entry.words)
        for entry in entries_of(states=True)
    ]


def caption(block: Block) -> str:
    """The orientation of a part in the words of documents, short enough to stand in its cell."""
    if block.part is Part.INVERTER:
        return f"on {block.facing}".replace("-", "\N{MINUS SIGN}")
    if block.part is Part.BUFFER:
        return f"to {block.facing}".replace("-", "\N{MINUS SIGN}")
    return ""
