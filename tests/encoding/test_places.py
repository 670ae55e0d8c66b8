"""Places under numbers give the literals that an instant gives when it is asked for them."""

from __future__ import annotations

from itertools import product

import pytest

from synth.encoding import Question, encode
from synth.encoding.formula import FALSE
from synth.encoding.places import NOWHERE, somewhere
from synth.encoding.rails import RAILS
from synth.medium import ALL_DIRECTIONS, LEVEL_DIRECTIONS, Joint
from synth.spec import Spec

FAMILIES = ("wire", "charged", "driven", "inverter")


def question(stack: str | None, joint: str, **flags: bool) -> Question:
    """Two ticks of an and gate in a small box."""
    spec = Spec.parse("q = a & b", joint=joint, width=2, delay=2, stack=stack)
    return Question(spec, (3, 2, 2), 2, **flags)


@pytest.mark.parametrize("stack", [None, "x", "y", "z"])
@pytest.mark.parametrize("joint", ["wire", "buffer"])
@pytest.mark.parametrize("flags", [{}, {"first_tick": False, "last_tick": False}])
def test_a_number_gives_the_literal_of_its_place(
    stack: str | None, joint: str, flags: dict[str, bool]
) -> None:
    """Inside, in the next copies and beyond, of every play and rail, asked twice."""
    asked = question(stack, joint, **flags)
    rails = encode(asked).rails
    cells = rails.statics.cells
    around = {way.step(cell) for cell in cells for way in ALL_DIRECTIONS} | set(cells)
    shown = 0
    for play, rail in product(asked.every_play, RAILS):
        now, places = rails.at(rail, play, 1), rails.places[rail]
        for cell in around:
            pairs = [(now.power(f, cell), places.power(f, cell)) for f in FAMILIES]
            for way in LEVEL_DIRECTIONS:
                pairs.append((now.buffer(cell, way), places.buffer(cell, way)))
                pairs.append((now.lead(cell, way), places.lead(cell, way)))
                for kind in Joint:
                    pairs.append((now.input_on(kind, cell, way), places.input_on(kind, cell, way)))
            for literal, number in pairs:
                assert now[number] == now[number] == literal
                shown += literal != FALSE
        for node in rails.shape.nodes():
            assert now[places.wire(node)] == now.wire(node)
    assert shown > 100


def test_an_instant_is_the_same_whenever_it_is_asked_for() -> None:
    """So what was looked up once is not looked up again."""
    asked = question("y", "buffer")
    rails = encode(asked).rails
    play = asked.plays[0]
    assert rails.at("surely", play, 1) is rails.at("surely", play, 1)
    assert rails.at("surely", play, 1) is not rails.at("possibly", play, 1)


def test_nothing_is_nowhere() -> None:
    """What lies in no box and no copy is false at every instant, and left out of lists."""
    rails = encode(question(None, "wire")).rails
    places, now = rails.places["surely"], rails.at("surely", rails.question.plays[0], 1)
    assert places.power("wire", (-1, 0, 0)) == NOWHERE
    assert now[NOWHERE] == FALSE
    inside = places.power("wire", (0, 0, 1))
    assert somewhere([NOWHERE, inside, NOWHERE]) == [inside]
