"""A layout that the tests of the desk share."""

from __future__ import annotations

from synth.layout import Layout, MadeFor
from synth.medium import SOLID, WIRE, Direction, inverter
from tests.simulator.build import enters, leaves

LOOSE = Layout(
    size=(4, 1, 3),
    cells={
        (0, 0, 0): SOLID,
        (1, 0, 0): inverter(Direction.NX),
        (2, 0, 1): WIRE,
        (2, 0, 0): SOLID,
        (3, 0, 1): WIRE,
        (3, 0, 0): SOLID,
        (1, 0, 1): SOLID,
        (0, 0, 2): SOLID,
    },
    pins=(enters("a", (0, 0, 0), "-x"), leaves("q", (3, 0, 1), "+x")),
    made_for=MadeFor("q = ~a", 2),
)
"""An inverter with a long wire and a solid that does nothing."""
