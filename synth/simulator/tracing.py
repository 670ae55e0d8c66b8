"""Traces: a layout played tick by tick from the dark state, as documents give it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Rules
from synth.simulator.fabric import Fabric, fabric_of
from synth.simulator.play import Frame, after, dark, frame
from synth.simulator.settling import refuse_illegal

FORMAT = "gatefit-trace"
VERSION = 1

MAX_SHOWN = 3_000_000
"""Most ticks times parts of a trace: its document comes to some 400 MB in memory."""


def trace(
    layout: Layout,
    drive: Mapping[str, str],
    ticks: int = 12,
    *,
    rules: Rules = DEFAULT_RULES,
) -> dict[str, Any]:
    """Section 7: play one copy of a layout and return the trace document, version 1.

    Args:
        layout: a legal layout; one copy is played alone even if it stacks.
        drive: for each input, a word of 0 and 1, one character a tick; a shorter word keeps
            its last value, a longer one is cut.
        ticks: how many ticks to play, at least 1.
        rules: the rule table.

    Raises:
        InputError: if the layout is not legal (naming rule and cell), a drive word is empty,
            missing, for no input, or holds anything but 0 and 1, or ``ticks`` is below 1 or
            more than ``MAX_SHOWN`` allows.

    Medium: 7 traces.
    """
    if ticks < 1:
        raise InputError(f"{ticks} ticks cannot be played", way_out="use 1 or more")
    most = max(1, MAX_SHOWN // max(1, layout.part_count))
    if ticks > most:
        raise InputError(
            f"{ticks:,} ticks of {layout.part_count:,} parts are too many to keep",
            place="ticks",
            way_out=f"play {most:,} ticks at most",
        )
    words = drive_words(layout, drive, ticks)
    refuse_illegal(layout, rules)
    fabric = fabric_of(layout)
    # Fabrics list wires and solids in the order of cells, as documents want them; emitters
    # are inverters first and need sorting.
    devices = (*fabric.inverters, *fabric.buffers)
    order = sorted(range(len(devices)), key=devices.__getitem__)
    outputs: dict[str, list[str]] = {port.pin.name: [] for port in fabric.outputs}
    shown = []
    state = dark(fabric)
    for tick in range(ticks):
        inputs = [int(words[port.pin.name][tick]) for port in fabric.inputs]
        now = frame(fabric, state, inputs, rules)
        for port in fabric.outputs:
            outputs[port.pin.name].append(str(now.power.seen(port.sight)))
        shown.append(tick_document(fabric, now, devices, order))
        state = after(fabric, state, now)
    return {
        "format": FORMAT,
        "version": VERSION,
        "inputs": words,
        "outputs": {name: "".join(values) for name, values in outputs.items()},
        "ticks": shown,
    }


def drive_words(layout: Layout, drive: Mapping[str, str], ticks: int) -> dict[str, str]:
    """The words as played, one character a tick, by input in order of pins."""
    names = [pin.name for pin in layout.inputs]
    listed = ", ".join(names) if names else "none"
    unknown = [name for name in drive if name not in names]
    if unknown:
        raise InputError(
            f"the layout has no input {unknown[0]!r}",
            place="drive",
            way_out=f"its inputs are: {listed}",
        )
    missing = [name for name in names if name not in drive]
    if missing:
        raise InputError(
            f"no word for {', '.join(map(repr, missing))}",
            place="drive",
            way_out="give every input a word of 0 and 1, one character a tick",
        )
    words = {}
    for name in names:
        word = drive[name]
        if not isinstance(word, str) or not word or set(word) - {"0", "1"}:
            raise InputError(
                f"{word!r} is no word for input {name!r}",
                place="drive",
                way_out="use at least one character, only 0 and 1",
            )
        words[name] = word[:ticks].ljust(ticks, word[-1])
    return words


def tick_document(
    fabric: Fabric, now: Frame, devices: Sequence[Cell], order: Iterable[int]
) -> dict[str, Any]:
    """Section 6: one tick of a trace; it names only cells inside the box.

    Args:
        devices: the cells of inverters and buffers, by emitter number.
        order: those numbers in the order in which the document lists them.

    Medium: 6 traces show.
    """
    power = now.power
    return {
        "wires": [
            [*cell, strength]
            for cell, strength in zip(
                fabric.wires[: fabric.box_wires], now.strength[: fabric.box_wires], strict=True
            )
        ],
        "charged": _cells(fabric.solids, power.charged),
        "driven": _cells(fabric.solids, power.driven),
        "on": [list(devices[number]) for number in order if power.on[number]],
    }


def _cells(cells: Sequence[Cell], values: Sequence[int]) -> list[list[int]]:
    return [list(cell) for cell, value in zip(cells, values, strict=True) if value]
