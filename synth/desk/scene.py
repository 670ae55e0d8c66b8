"""What the page draws of a design, and how it was played; the page only looks things up."""

from __future__ import annotations

from typing import Any

from synth.desk.player import Player
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator.row import Row
from synth.simulator.verdict import Fault
from synth.views.page.data import DIGITS, numbers_of, still_data
from synth.views.page.plans import art_of
from synth.views.page.symbols import caption
from synth.views.page.touches import Touches


def scene_of(
    layout: Layout, player: Player, faults: tuple[Fault, ...], rules: Rules = DEFAULT_RULES
) -> dict[str, Any]:
    """A layout drawn, with the timeline that was played of it, ready for JSON.

    Besides what every page of a layout has (``still_data``):

    - ``art``: symbols, each once, and ``symbols``: for each cell the number of its own, or -1;
    - ``captions``: for each cell the orientation written below it;
    - ``play``: ``timeline_of`` the player, cells by their numbers here.

    Args:
        layout: what is drawn; parts of it may have been left out of the play.
        player: plays it.
        faults: what is wrong, to be marked.
        rules: the rule table.
    """
    number = numbers_of(layout, faults)
    touches = Touches(Row(layout))
    data = still_data(layout, rules, number, faults, touches)
    outside = {pin.outside for pin in layout.pins}
    drawn: dict[str, int] = {}
    symbols = []
    for cell in number:
        art = art_of(touches, cell, outside=cell in outside)
        symbols.append(drawn.setdefault(art, len(drawn)) if art else -1)
    blocks = (None if cell in outside else layout.cells.get(cell) for cell in number)
    return data | {
        "art": list(drawn),
        "symbols": symbols,
        "captions": ["" if block is None else caption(block) for block in blocks],
        "leftOut": sorted(number[cell] for cell in player.left_out if cell in number),
        "play": timeline_of(player, number),
    }


def timeline_of(player: Player, number: dict[Any, int]) -> dict[str, Any]:
    """The ticks of a player, ready for JSON.

    ``live`` names the cells whose values follow; each tick has a digit a switch, a digit an
    output, and a character a live cell, which ``alphabet`` turns into a number.
    """
    first = player.values(0)
    live = [cell for cell in first if cell in number]
    alphabet = DIGITS + "".join(
        chr(256 + index) for index in range(max(0, player.rules.reach + 1 - len(DIGITS)))
    )
    ticks = []
    for tick in range(len(player.ticks)):
        values = player.values(tick)
        ticks.append(
            [
                "".join(map(str, player.switches(tick).values())),
                "".join(map(str, player.outputs(tick).values())),
                "".join(alphabet[values[cell]] for cell in live),
            ]
        )
    return {
        "inputs": [port.pin.name for port in player.fabric.inputs],
        "outputs": [port.pin.name for port in player.fabric.outputs],
        "live": [number[cell] for cell in live],
        "alphabet": alphabet,
        "ticks": ticks,
        "origin": player.origin,
        "atRest": player.at_rest,
    }
