"""Exports that depend on the layout alone, by the word for their kind."""

from __future__ import annotations

from synth.layout import Layout
from synth.medium import Rules


def plain_export(kind: str, layout: Layout, rules: Rules) -> str | bytes:
    """What the file of a kind holds: ``svg``, ``png``, ``gltf``, ``verilog`` or ``csv``.

    Raises:
        InputError: if a library is missing, or the layout is none that the kind can hold.
    """
    # Each brings libraries of its own along, which nobody else is to wait for.
    if kind == "svg":
        from synth.exports.pictures import svg

        return svg(layout)
    if kind == "png":
        from synth.exports.pictures import png

        return png(layout)
    if kind == "gltf":
        from synth.exports.gltf import gltf

        return gltf(layout)
    if kind == "verilog":
        from synth.exports.verilog import verilog

        return verilog(layout, rules)
    from synth.exports.lines import csv_text

    return csv_text(layout)
