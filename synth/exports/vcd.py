"""A trace as a value change dump of IEEE Std 1364-2005, section 18 (from memory)."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from typing import Any

from synth.errors import InputError
from synth.exports.needs import NO_ELECTRONICS, needed
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Part, Rules
from synth.simulator import settle
from synth.versions import VERSION
from synth.views.titles import title_of

TIMESCALE = "1 ns"
"""The unit for one tick: the format only has seconds, and viewers show whole numbers of units."""

MAX_PLAYED_INPUTS = 10
"""The most inputs for which every assignment is played."""


def vcd(layout: Layout, document: Mapping[str, Any]) -> str:
    """The dump of a trace document of a layout.

    Scopes: ``pins`` with one bit for each input and output; ``inverters`` and ``buffers`` with one
    bit each (on); ``wires`` with the strength of each; ``solids`` with one bit each (charged).
    Names contain the cell: ``wire_1_0_2``.

    Raises:
        InputError: if the library is not installed.
    """
    writer_module = needed("vcd", "vcd", "pyvcd")
    stream = io.StringIO()
    with writer_module.VCDWriter(
        stream,
        timescale=TIMESCALE,
        date="",
        version=f"gatefit {VERSION}",
        comment="\n".join([f"{title_of(layout)}: one unit of time is one tick", *NO_ELECTRONICS]),
    ) as writer:
        pins = {
            name: writer.register_var("pins", name, "wire", size=1, init=int(word[0]))
            for group in ("inputs", "outputs")
            for name, word in document[group].items()
        }
        reach = max((entry[3] for tick in document["ticks"] for entry in tick["wires"]), default=0)
        width = max(1, reach.bit_length())
        first = _values(document["ticks"][0])
        cells = {
            cell: writer.register_var(
                f"{block.part}s",
                "_".join([str(block.part), *map(str, cell)]),
                "wire",
                size=width if block.part is Part.WIRE else 1,
                init=first.get(cell, 0),
            )
            for cell, block in layout.cells.items()
            if block.part in (Part.INVERTER, Part.BUFFER, Part.WIRE, Part.SOLID)
        }
        for tick, state in enumerate(document["ticks"]):
            for group in ("inputs", "outputs"):
                for name, word in document[group].items():
                    writer.change(pins[name], tick, int(word[tick]))
            values = _values(state)
            for cell, variable in cells.items():
                writer.change(variable, tick, values.get(cell, 0))
        # The last tick lasts one tick as well.
        writer.close(len(document["ticks"]))
    return stream.getvalue()


def all_assignments(layout: Layout, rules: Rules = DEFAULT_RULES) -> dict[str, str]:
    """For each input a word that goes through all assignments in counting order.

    Each assignment is kept until the layout has settled, and one tick more.

    Raises:
        InputError: if the layout is not legal or has too many inputs.
    """
    names = [pin.name for pin in layout.inputs]
    if len(names) > MAX_PLAYED_INPUTS:
        raise InputError(
            f"{len(names)} inputs are too many to play every assignment",
            place="pins",
            way_out="state with --drive what each input does",
        )
    hold = len(settle(layout, rules).ticks) + 1
    rows = range(1 << len(names))
    return {
        name: "".join(str(row >> (len(names) - 1 - index) & 1) * hold for row in rows)
        for index, name in enumerate(names)
    }


def _values(state: Mapping[str, Sequence[Sequence[int]]]) -> dict[Cell, int]:
    """The strength of every wire, and 1 for everything that is on or charged."""
    found: dict[Cell, int] = {(x, y, z): strength for x, y, z, strength in state["wires"]}
    for key in ("charged", "on"):
        for x, y, z in state[key]:
            found[(x, y, z)] = 1
    return found
