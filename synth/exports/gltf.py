"""A layout as a scene of glTF 2.0 (Khronos Group; ISO/IEC 12113): one file, one node per part.

glTF is right-handed with y up and counts metres; a cell is a cube of 1 m. The medium's x stays x,
its z (up) becomes y, its y becomes -z, so nothing is mirrored.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from synth.exports.needs import needed
from synth.layout import Layout
from synth.medium import Block, Cell, Direction, Part, Role
from synth.simulator import touch
from synth.simulator.row import Row
from synth.views.drawing.meshes import by_material
from synth.views.drawing.shapes import Material, Prism, body_of, pin_arrow
from synth.views.titles import title_of

_Key = tuple[Block, frozenset[Direction], frozenset[Direction], frozenset[Direction]]


def gltf(layout: Layout) -> str:
    """The scene as one glTF document with its data inside.

    Every part is a node ``wire 1 0 2`` (kind and cell) under a node with the layout's name; parts
    that look the same share their meshes. Pins are nodes ``input a`` and ``output q``: arrows at
    the faces, along the signal.

    Raises:
        InputError: if the library is not installed.
    """
    trimesh = needed("trimesh", "gltf", "trimesh")
    scene = trimesh.Scene(base_frame=f"layout {title_of(layout)}".removesuffix(" layout"))
    meshes = _Meshes(trimesh)
    row = Row(layout)
    for cell, block in layout.cells.items():
        runs: frozenset[Direction] = frozenset()
        rises: frozenset[Direction] = frozenset()
        climbs: frozenset[Direction] = frozenset()
        if block.part is Part.WIRE:
            runs = frozenset(touch.runs(row, cell))
            up = [link for link in touch.links(row, cell) if link[0][2] > cell[2]]
            rises = frozenset(way for _, way, _, _ in up)
            climbs = frozenset(way for _, way, _, receives in up if not receives)
        name = " ".join([str(block.part), *map(str, cell)])
        _place(scene, name, cell, meshes.of((block, runs, rises, climbs)))
    for pin in layout.pins:
        way = pin.face if pin.role is Role.OUTPUT else pin.face.opposite
        _place(scene, f"{pin.role} {pin.name}", pin.outside, meshes.arrow(way))
    files = trimesh.exchange.gltf.export_gltf(scene, embed_buffers=True, unitize_normals=True)
    document = json.loads(files["model.gltf"])
    return json.dumps(document, separators=(",", ":")) + "\n"


def _place(scene: Any, name: str, cell: Cell, pieces: Iterable[tuple[str, Any]]) -> None:
    """A node for a part, moved to its cell, with a child node for each of its materials."""
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
    """Makes each look once, with one mesh for each of its materials, named ``look 3 wire``."""

    def __init__(self, trimesh: Any) -> None:
        self._trimesh = trimesh
        self._looks: dict[object, list[tuple[str, Any]]] = {}
        self._materials: dict[Material, Any] = {}

    def of(self, key: _Key) -> list[tuple[str, Any]]:
        """The meshes of a block, within a cell at the origin."""
        if key not in self._looks:
            self._looks[key] = self._made(body_of(*key))
        return self._looks[key]

    def arrow(self, way: Direction) -> list[tuple[str, Any]]:
        """An arrow along a level direction, in the middle of a cell."""
        if way not in self._looks:
            self._looks[way] = self._made(pin_arrow(way))
        return self._looks[way]

    def _made(self, prisms: Sequence[Prism]) -> list[tuple[str, Any]]:
        number = len(self._looks)
        made = []
        for material, mesh in by_material(prisms).items():
            # Corners are not shared between triangles, so that faces stay flat.
            corners = [mesh.corners[corner] for triangle in mesh.triangles for corner in triangle]
            surface = self._trimesh.Trimesh(
                vertices=[[x, z, -y] for x, y, z in corners],
                faces=[[at, at + 1, at + 2] for at in range(0, len(corners), 3)],
                process=False,
            )
            surface.visual = self._trimesh.visual.TextureVisuals(material=self._material(material))
            made.append((f"look {number} {material.word}", surface))
        return made

    def _material(self, of: Material) -> Any:
        if of not in self._materials:
            red, green, blue = (_linear(int(of.fill[at : at + 2], 16)) for at in (1, 3, 5))
            self._materials[of] = self._trimesh.visual.material.PBRMaterial(
                name=of.word,
                baseColorFactor=[red, green, blue, round(255 * of.opacity)],
                metallicFactor=0.0,
                roughnessFactor=0.8,
                alphaMode="OPAQUE" if of.opacity == 1 else "BLEND",
                doubleSided=of.opacity != 1,
            )
        return self._materials[of]


def _linear(value: int) -> int:
    """A component of sRGB, 0 to 255, as the linear one that glTF's colour factors are."""
    share = value / 255
    linear = share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4
    return round(255 * linear)
