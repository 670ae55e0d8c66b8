"""Exports of the desk: what `gatefit export` writes, handed to the page, whose browser keeps it."""

from __future__ import annotations

from base64 import b64encode
from typing import Any

from synth.desk.player import Player
from synth.errors import InputError
from synth.exports.lines import DEFAULT_TEMPLATE, lines_text
from synth.exports.plain import plain_export
from synth.exports.vcd import vcd
from synth.layout import Layout
from synth.layout.documents import layout_text
from synth.medium import Rules
from synth.simulator import trace

EXPORTS = {
    "json": ("Layout document", ".json"),
    "drawing": ("Drawing in text", ".drawing"),
    "svg": ("Sheet (SVG)", ".svg"),
    "png": ("Sheet (PNG)", ".png"),
    "gltf": ("Scene (glTF 2.0)", ".gltf"),
    "vcd": ("What was played (VCD)", ".vcd"),
    "verilog": ("Netlist (Verilog)", ".v"),
    "csv": ("Table of parts (CSV)", ".csv"),
    "lines": ("List in building order", ".txt"),
}
"""Every kind of export: its title, and how its file's name ends."""

MOST_PARTS = 5_000
"""Most parts of an export that is drawn: drawing must not keep the other pages waiting."""


def exported(kind: str, name: str, layout: Layout, player: Player, rules: Rules) -> dict[str, Any]:
    """A file of a kind: its ``name`` and its ``data`` in base 64.

    Args:
        kind: a key of ``EXPORTS``.
        name: of the design.
        layout: the design's layout.
        player: plays it; what it shows is what a value change dump holds.
        rules: the rule table.

    Raises:
        InputError: if the layout cannot be written as that.
    """
    if layout.part_count > MOST_PARTS:
        raise InputError(
            f"{layout.part_count:,} parts are too many to export here",
            way_out="save it, and use 'gatefit export'",
        )
    data = _content(kind, layout, player, rules)
    whole = data if isinstance(data, bytes) else data.encode()
    stem = name.rsplit("/", 1)[-1].rsplit(".", 1)[0].replace(" ", "-")
    return {"name": f"{stem}{EXPORTS[kind][1]}", "data": b64encode(whole).decode("ascii")}


def _content(kind: str, layout: Layout, player: Player, rules: Rules) -> str | bytes:
    if kind == "json":
        return layout_text(layout)
    if kind == "drawing":
        return layout.drawing()
    if kind == "lines":
        return lines_text(layout, DEFAULT_TEMPLATE)
    if kind == "vcd":
        ticks = len(player.ticks)
        names = [pin.name for pin in layout.inputs]
        words = {
            name: "".join(str(player.switches(tick).get(name, 0)) for tick in range(ticks))
            for name in names
        }
        return vcd(layout, trace(layout, words, ticks, rules=rules))
    return plain_export(kind, layout, rules)
