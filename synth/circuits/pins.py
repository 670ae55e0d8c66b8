"""Names of pins for the signals of a circuit: identifiers or bits of buses, each once."""

from __future__ import annotations

import re
from collections.abc import Iterable

from synth.circuits.circuit import Circuit, CircuitBuilder
from synth.fields import NAME_PATTERN
from synth.simulator.settling import input_masks
from synth.spec import BooleanFunction, Spec


def pin_names(signals: Iterable[str]) -> dict[str, str]:
    """A name for each signal: its own where a pin may be called so, else as near as can be.

    ``a[3]`` stays; ``x.y`` becomes ``x_y``, and where that is taken, ``x_y_``.
    """
    listed = list(signals)
    taken = {name for name in listed if NAME_PATTERN.fullmatch(name)}
    names = {}
    for signal in listed:
        name = signal
        if signal not in taken:
            name = re.sub(r"[^A-Za-z0-9_$]+", "_", signal).rstrip("_") or "_"
            name = name if NAME_PATTERN.fullmatch(name) else f"_{name}"
            while name in taken:
                name += "_"
            taken.add(name)
        names[signal] = name
    return names


def spec_of(circuit: Circuit) -> Spec:
    """What a circuit of few inputs asks for, named by the pins that a layout of it has."""
    pins = pin_names([*circuit.inputs, *circuit.outputs])
    rows = 1 << len(circuit.inputs)
    values = circuit.evaluate(input_masks(len(circuit.inputs)), (1 << rows) - 1)
    columns = {pins[name]: format(value, f"0{rows}b")[::-1] for name, value in values.items()}
    return Spec(BooleanFunction(tuple(pins[name] for name in circuit.inputs), columns))


def circuit_of(function: BooleanFunction) -> Circuit:
    """A circuit that computes a function; where nothing is asked, its outputs are 0."""
    builder = CircuitBuilder(function.inputs)
    literals = [builder.input(index) for index in range(len(function.inputs))]

    def made(column: str, place: int) -> int:
        """The literal of a part of a column, chosen by the inputs from a place on."""
        if len(column) == 1:
            return int(column == "1")
        half = len(column) // 2
        low, high = made(column[:half], place + 1), made(column[half:], place + 1)
        # An output hears no input on which it does not depend.
        return low if low == high else builder.choice(literals[place], high, low)

    shown = {name: made(column, 0) for name, column in function.outputs.items()}
    return builder.circuit("function", shown)
