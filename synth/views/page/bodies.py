"""The bodies of the model, as the page draws them: the same surfaces as in every other picture.

A *look* is a list of pieces, each with a material, corners, triangles and edges; parts that look
the same share one. Lengths are in cells; corners run from 0 to 1 within their cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

from synth.medium import LEVEL_DIRECTIONS, Block, Cell, Direction, Part
from synth.views.drawing import palette
from synth.views.drawing.meshes import by_material
from synth.views.drawing.shapes import MOST_NOTCHES, Material, Prism, body_of, pin_arrow, riser
from synth.views.page.touches import Touches

_DIGITS = 3
"""Decimal digits of coordinates: they are exact to a thousandth of a cell."""


class Looks:
    """The looks that a page needs, each of them once."""

    def __init__(self) -> None:
        self._found: dict[tuple[Prism, ...], int] = {}

    def number(self, prisms: tuple[Prism, ...]) -> int:
        """The number of the look of a body."""
        return self._found.setdefault(prisms, len(self._found))

    def data(self) -> list[list[dict[str, Any]]]:
        """All looks in order, ready for JSON."""
        return [_pieces(prisms) for prisms in self._found]


def body_data(touches: Touches, cells: Sequence[Cell], outside: Iterable[Cell]) -> dict[str, Any]:
    """What the page needs to make bodies, ready for JSON.

    Args:
        touches: of the layout.
        cells: the cells of the page in order. Each gets the number of its look without power; a
            wire also gets that of its look at full strength, which the page lowers for less.
        outside: the cells among them that stand outside a pin.
    """
    looks = Looks()
    beyond = set(outside)
    bodies = [_numbers(touches, cell, cell in beyond, looks) for cell in cells]
    risers = {
        f"{way}{'' if both else '!'}": [
            looks.number(riser(way, both=both, power=power)) for power in (0, 1)
        ]
        for way in LEVEL_DIRECTIONS
        for both in (True, False)
    }
    arrows = {str(way): looks.number(pin_arrow(way)) for way in LEVEL_DIRECTIONS}
    return {
        "of": bodies,
        "risers": risers,
        "arrows": arrows,
        "looks": looks.data(),
        "materials": {material.word: _material(material) for material in Material},
        "notches": MOST_NOTCHES,
    }


def _numbers(touches: Touches, cell: Cell, outside: bool, looks: Looks) -> list[int]:
    block = touches.row.block(cell)
    if block is None:
        return []  # an empty cell that a fault names
    if block.part is not Part.WIRE:
        return [looks.number(_body(block, frozenset(), 0, outside))]
    runs = touches.runs(cell)
    return [looks.number(_body(block, runs, power, False)) for power in (0, 1)]


@lru_cache(maxsize=4096)
def _body(block: Block, runs: frozenset[Direction], power: int, outside: bool) -> tuple[Prism, ...]:
    return body_of(block, runs, power=power, outside=outside)


@lru_cache(maxsize=4096)  # Few are different, and a page that edits draws them again and again.
def _pieces(prisms: tuple[Prism, ...]) -> list[dict[str, Any]]:
    return [
        {
            "material": material.word,
            "corners": [round(value, _DIGITS) for corner in mesh.corners for value in corner],
            "triangles": [corner for triangle in mesh.triangles for corner in triangle],
            "edges": [corner for edge in mesh.edges for corner in edge],
        }
        for material, mesh in by_material(prisms).items()
    ]


def _material(material: Material) -> dict[str, Any]:
    """The colours of a material: each as a name that the page may redefine, and a fallback."""

    def named(colour: str) -> list[str]:
        return [palette.name_of(colour), colour]

    return {
        "fill": named(material.fill),
        "line": named(material.line),
        "onFill": named(material.on_fill),
        "onLine": named(material.on_line),
        "opacity": material.opacity,
    }
