"""The scene is valid glTF 2.0, and an outside reader finds every part where it is.

The validator is that of the Khronos Group itself (npm: gltf-validator), which ``.ci/run`` fetches.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import trimesh

from synth.exports.gltf import gltf
from synth.layout import Layout
from synth.medium import Part
from tests.stored import stored_layout
from tests.views.layouts import EMPTY, INVERTER_CHAIN

XOR = stored_layout("xor2")

VALIDATOR = os.environ.get("GLTF_VALIDATOR", "")
"""The folder of the npm package gltf-validator."""

SCRIPT = """
const validator = require(process.argv[1]);
const data = new Uint8Array(require('fs').readFileSync(process.argv[2]));
validator.validateBytes(data).then(report => console.log(JSON.stringify(report)));
"""


def read(layout: Layout, folder: Path) -> trimesh.Scene:
    path = folder / "scene.gltf"
    path.write_text(gltf(layout), encoding="utf-8")
    return trimesh.load_scene(path)


@pytest.mark.parametrize("layout", [XOR, INVERTER_CHAIN])
def test_every_part_is_a_node_in_its_place(layout: Layout, tmp_path: Path) -> None:
    scene = read(layout, tmp_path)
    for (x, y, z), block in layout.cells.items():
        matrix, _ = scene.graph[f"{block.part} {x} {y} {z}"]
        # glTF has y up: the medium's y leads away, along -z.
        assert matrix[:3, 3].tolist() == [x, z, -y]
    for pin in layout.pins:
        matrix, _ = scene.graph[f"{pin.role} {pin.name}"]
        x, y, z = pin.outside
        assert matrix[:3, 3].tolist() == [x, z, -y]


def test_a_solid_is_a_cube_of_one_metre(tmp_path: Path) -> None:
    layout = Layout((1, 1, 1), {(0, 0, 0): XOR.cells[(0, 0, 0)]})
    assert layout.cells[(0, 0, 0)].part is Part.SOLID
    bounds = read(layout, tmp_path).bounds
    assert np.allclose(bounds, [[0, 0, -1], [1, 1, 0]])


def test_surfaces_are_closed_and_face_outwards(tmp_path: Path) -> None:
    for mesh in read(INVERTER_CHAIN, tmp_path).geometry.values():
        mesh.merge_vertices(merge_norm=True, merge_tex=True)
        for piece in mesh.split(only_watertight=False):
            assert piece.is_watertight
            assert piece.volume > 0


def test_one_file_holds_it_all() -> None:
    document = json.loads(gltf(XOR))
    assert document["asset"]["version"] == "2.0"
    assert all(buffer["uri"].startswith("data:") for buffer in document["buffers"])
    # Parts of one look share their mesh: ten solids, one mesh of a solid.
    assert sum(1 for mesh in document["meshes"] if mesh["name"].endswith("solid")) == 1


@pytest.mark.skipif(
    not VALIDATOR or shutil.which("node") is None,
    reason="needs node, and GLTF_VALIDATOR to name the npm package gltf-validator",
)
@pytest.mark.parametrize("layout", [XOR, INVERTER_CHAIN, EMPTY], ids=["xor2", "chain", "empty"])
def test_the_validator_of_khronos_finds_nothing(layout: Layout, tmp_path: Path) -> None:
    path = tmp_path / "scene.gltf"
    path.write_text(gltf(layout), encoding="utf-8")
    ended = subprocess.run(
        ["node", "-e", SCRIPT, VALIDATOR, str(path)], capture_output=True, text=True, check=True
    )
    report = json.loads(ended.stdout)
    assert report["info"]["version"] == "2.0"
    issues = report["issues"]
    assert (issues["numErrors"], issues["numWarnings"]) == (0, 0), issues["messages"]
