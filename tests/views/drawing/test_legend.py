"""One table of symbols: every part and state is in it, and all are told apart without colour."""

from __future__ import annotations

import re

from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Direction, Part, buffer, inverter
from synth.views.drawing.legend import ENTRIES, Says, legend, legend_picture
from synth.views.drawing.symbols import symbol
from tests.views.layouts import BLOCKS


def colourless(drawn: str) -> str:
    """A drawing whose fills are dark or light only, and whose lines are all alike."""

    def tone(found: re.Match[str]) -> str:
        red, green, blue = (int(found[2][at : at + 2], 16) for at in (0, 2, 4))
        dark = 0.3 * red + 0.6 * green + 0.1 * blue < 150
        return f'{found[1]}="{"dark" if dark and found[1] == "fill" else "any"}"'

    return re.sub(r'(fill|stroke)="#([0-9a-f]{6})"', tone, drawn)


def test_every_part_and_every_state_is_explained() -> None:
    assert {entry.block.part for entry in legend() if entry.block} == set(Part)
    powered = {entry.block.part for entry in ENTRIES if entry.block and entry.power}
    assert powered == {Part.SOLID, Part.WIRE, Part.INVERTER, Part.BUFFER}
    assert len({entry.words for entry in ENTRIES}) == len(ENTRIES)


def test_symbols_are_told_apart_without_colour() -> None:
    drawn = [colourless(entry.body()) for entry in ENTRIES]
    assert len(set(drawn)) == len(drawn)
    assert len({colourless(symbol(block)) for block in BLOCKS}) == len(BLOCKS)


def test_power_is_told_without_colour() -> None:
    for block in (WIRE, inverter(Direction.PX), inverter(Direction.NZ), buffer(Direction.NY, 3)):
        runs = [Direction.PX]
        assert colourless(symbol(block, runs)) != colourless(symbol(block, runs, power=1))
    hatched = {colourless(symbol(SOLID, power=power)) for power in (0, 1, 2)}
    assert len(hatched) == 3


def test_hatching_means_power_and_nothing_is_dashed() -> None:
    """A dashed line or a hatched block without power once meant something else elsewhere."""
    for block in BLOCKS:
        assert "dasharray" not in symbol(block)
    assert symbol(SOLID).count("<path") == 0
    assert symbol(SOLID, power=1).count("<path") == 1
    assert symbol(CLEAR, power=0).count("<circle") == 4
    assert symbol(LEDGE).count("<path") == 1


def test_a_step_up_and_a_step_down_have_a_sign_each() -> None:
    way = [Direction.PX]
    signs = {symbol(WIRE, way), symbol(WIRE, way, up=way), symbol(WIRE, way, down=way)}
    assert len(signs) == 3


def test_the_live_symbol_holds_every_state_for_the_page() -> None:
    solid = symbol(SOLID, live=True)
    for name in ("s-solid", "s-charged", "s-driven"):
        assert f'class="{name}"' in solid
    wire = symbol(WIRE, [Direction.PX], [Direction.PX], live=True, power=1)
    for name in ("s-arm", "s-node", "s-step"):
        assert f'class="{name}"' in wire
    # Its power is the page's to set.
    assert wire == symbol(WIRE, [Direction.PX], [Direction.PX], live=True)


def test_the_legend_as_a_picture_says_all_its_words() -> None:
    entries = legend(states=True, steps=True)
    assert {entry.says for entry in entries} == set(Says)
    picture = legend_picture(entries)
    for entry in entries:
        assert f">{entry.words}<" in picture.body
