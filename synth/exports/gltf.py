"""A layout as a scene of glTF 2.0 (Khronos Group; ISO/IEC 12113): one file, one node a part.

glTF is right-handed with y up and counts metres; a cell is a cube of 1 m. The medium's x stays x,
its z (up) becomes y, its y becomes -z, so nothing is mirrored.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from synth.exports.needs import needed
from synth.layout import Layout
from synth.medium import Block, Cell, Direction, Part, Role
from synth.simulator import touch
from synth.simulator.row import Row
from synth.views.drawing import palette
from synth.views.drawing.shapes import Box, Material, boxes_of

_Key = tuple[Block, frozenset[Direction], frozenset[Direction]]


def gltf(layout: Layout) -> str:
    """The scene as one glTF document with its data inside.

    Every part is a node ``wire 1 0 2`` (kind and cell) under a node with the layout's name; parts
    of one look share their meshes. Pins are nodes ``input a`` and ``output q``: arrows at the
    faces, pointing the way of the signal.

    Raises:
        InputError: if the library is not installed.
    """
    trimesh = needed("trimesh", "gltf", "trimesh")
    scene = trimesh.Scene(base_frame=f"layout {layout.name or ''}".strip())
    meshes = _Meshes(trimesh)
    row = Row(layout)
    for cell, block in layout.cells.items():
        runs: frozenset[Direction] = frozenset()
        rises: frozenset[Direction] = frozenset()
        if block.part is Part.WIRE:
            runs = frozenset(touch.runs(row, cell))
            rises = frozenset(w for other, w, _, _ in touch.links(row, cell) if other[2] > cell[2])
        name = " ".join([str(block.part), *map(str, cell)])
        _place(scene, name, cell, meshes.of((block, runs, rises)))
    for pin in layout.pins:
        way = pin.face if pin.role is Role.OUTPUT else pin.face.opposite
        _place(scene, f"{pin.role} {pin.name}", pin.outside, meshes.arrow(way))
    files = trimesh.exchange.gltf.export_gltf(scene, embed_buffers=True, unitize_normals=True)
    document = json.loads(files["model.gltf"])
    return json.dumps(document, separators=(",", ":")) + "\n"


def _place(scene: Any, name: str, cell: Cell, pieces: Iterable[tuple[str, Any]]) -> None:
    """A node for the part, moved to its cell, and below it a node for each of its materials."""
    x, y, z = cell
    scene.graph.update(
        frame_to=name,
        frame_from=scene.graph.base_frame,
        matrix=[[1, 0, 0, x], [0, 1, 0, z], [0, 0, 1, -y], [0, 0, 0, 1]],
    )
    for geometry_name, mesh in pieces:
        if geometry_name not in scene.geometry:
            scene.geometry[geometry_name] = mesh
        word = geometry_name.rpartition(" ")[2]
        scene.graph.update(frame_to=f"{name}: {word}", frame_from=name, geometry=geometry_name)


class _Meshes:
    """Makes each look once: for every material of it, one mesh named ``look 3 wire``."""

    def __init__(self, trimesh: Any) -> None:
        self._trimesh = trimesh
        self._looks: dict[object, list[tuple[str, Any]]] = {}
        self._materials: dict[Material | str, Any] = {}

    def of(self, key: _Key) -> list[tuple[str, Any]]:
        """The meshes of a block, within a cell at the origin."""
        if key not in self._looks:
            self._looks[key] = self._made(boxes_of(*key))
        return self._looks[key]

    def arrow(self, way: Direction) -> list[tuple[str, Any]]:
        """An arrow along a level direction, in the middle of a cell."""
        if way not in self._looks:
            steps = [(0.05, 0.6, 0.06), (0.6, 0.72, 0.2), (0.72, 0.84, 0.13), (0.84, 0.96, 0.06)]
            boxes = []
            for start, end, half in steps:
                forwards = way in (Direction.PX, Direction.PY)
                span = (start, end) if forwards else (1 - end, 1 - start)
                across = (0.5 - half, 0.5 + half)
                xs, ys = (span, across) if way.axis == "x" else (across, span)
                boxes.append(Box((xs[0], ys[0], 0.44), (xs[1], ys[1], 0.56), Material.POINTER))
            self._looks[way] = self._made(boxes, pin=True)
        return self._looks[way]

    def _made(self, boxes: Iterable[Box], *, pin: bool = False) -> list[tuple[str, Any]]:
        number = len(self._looks)
        by_material: dict[Material, list[Any]] = {}
        for box in boxes:
            by_material.setdefault(box.material, []).append(self._box(box))
        made = []
        for material, parts in by_material.items():
            mesh = self._trimesh.util.concatenate(parts)
            word = "pin" if pin else material.word
            mesh.visual = self._trimesh.visual.TextureVisuals(
                material=self._material(word, palette.PIN_FILL if pin else material.fill,
                                        1.0 if pin else material.opacity)
            )  # fmt: skip
            made.append((f"look {number} {word}", mesh))
        return made

    def _box(self, box: Box) -> Any:
        (x0, y0, z0), (x1, y1, z1) = box.low, box.high
        return self._trimesh.creation.box(bounds=[[x0, z0, -y1], [x1, z1, -y0]])

    def _material(self, word: str, fill: str, opacity: float) -> Any:
        if word not in self._materials:
            red, green, blue = (_linear(int(fill[at : at + 2], 16)) for at in (1, 3, 5))
            self._materials[word] = self._trimesh.visual.material.PBRMaterial(
                name=word,
                baseColorFactor=[red, green, blue, round(255 * opacity)],
                metallicFactor=0.0,
                roughnessFactor=0.8,
                alphaMode="OPAQUE" if opacity == 1 else "BLEND",
                doubleSided=opacity != 1,
            )
        return self._materials[word]


def _linear(value: int) -> int:
    """A component of sRGB, 0 to 255, as the linear one that glTF's colour factors are."""
    share = value / 255
    linear = share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4
    return round(255 * linear)
