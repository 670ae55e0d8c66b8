"""Bodies as triangles and edges, for everything that draws surfaces: the page's model and glTF."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import acos, pi

from synth.views.drawing.shapes import Corner, Flat, Material, Prism

SHARP = pi / 6
"""Two sides that meet at a smaller angle belong to one curve: no edge is drawn between them."""


@dataclass(frozen=True, slots=True)
class Mesh:
    """A closed surface, with the edges that are drawn on it.

    Attributes:
        corners: points in the cell.
        triangles: the numbers of three corners each, counterclockwise seen from outside.
        edges: the numbers of two corners each.
    """

    corners: tuple[Corner, ...]
    triangles: tuple[tuple[int, int, int], ...]
    edges: tuple[tuple[int, int], ...]


def mesh_of(prism: Prism) -> Mesh:
    """The surface of a prism."""
    outline, count = prism.outline, len(prism.outline)
    corners = [prism.corner(flat, prism.low) for flat in outline]
    corners += [prism.corner(flat, prism.high) for flat in outline]
    triangles: list[tuple[int, int, int]] = []
    for a, b, c in cut_into_triangles(outline):
        triangles.append((c, b, a))
        triangles.append((count + a, count + b, count + c))
    edges = []
    for index in range(count):
        after = (index + 1) % count
        triangles.append((index, after, count + after))
        triangles.append((index, count + after, count + index))
        edges += [(index, after), (count + index, count + after)]
        if _bend(outline, index) > SHARP:
            edges.append((index, count + index))
    if prism.turns:
        triangles = [(c, b, a) for a, b, c in triangles]
    return Mesh(tuple(corners), tuple(triangles), tuple(edges))


def by_material(prisms: Iterable[Prism]) -> dict[Material, Mesh]:
    """One surface for each material, of all prisms made of it."""
    found: dict[Material, list[Mesh]] = {}
    for prism in prisms:
        found.setdefault(prism.material, []).append(mesh_of(prism))
    return {material: _joined(meshes) for material, meshes in found.items()}


def _joined(meshes: Sequence[Mesh]) -> Mesh:
    corners: list[Corner] = []
    triangles: list[tuple[int, int, int]] = []
    edges: list[tuple[int, int]] = []
    for mesh in meshes:
        first = len(corners)
        corners += mesh.corners
        triangles += [(first + a, first + b, first + c) for a, b, c in mesh.triangles]
        edges += [(first + a, first + b) for a, b in mesh.edges]
    return Mesh(tuple(corners), tuple(triangles), tuple(edges))


def cut_into_triangles(outline: Sequence[Flat]) -> list[tuple[int, int, int]]:
    """Cut a counterclockwise outline that does not cross itself into triangles, ear by ear.

    Source: G. H. Meisters, Polygons Have Ears, American Mathematical Monthly 82 (1975) (from
    memory): every such outline has a corner whose triangle holds no other corner.
    """
    left = list(range(len(outline)))
    found = []
    while len(left) > 3:
        for place, b in enumerate(left):
            a, c = left[place - 1], left[(place + 1) % len(left)]
            ear = (outline[a], outline[b], outline[c])
            if _area(*ear) > 0 and not any(
                _inside(outline[other], ear) for other in left if other not in (a, b, c)
            ):
                found.append((a, b, c))
                left.pop(place)
                break
        else:
            raise AssertionError("an outline crosses itself or runs clockwise")
    found.append((left[0], left[1], left[2]))
    return found


def _area(a: Flat, b: Flat, c: Flat) -> float:
    """Twice the area of a triangle, positive if it runs counterclockwise."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _inside(point: Flat, ear: tuple[Flat, Flat, Flat]) -> bool:
    """Whether a point lies in a triangle or on its edge."""
    a, b, c = ear
    return min(_area(a, b, point), _area(b, c, point), _area(c, a, point)) >= -1e-12


def _bend(outline: Sequence[Flat], index: int) -> float:
    """The angle by which the outline turns at a corner, 0 to pi."""
    before, at = outline[index - 1], outline[index]
    after = outline[(index + 1) % len(outline)]
    one = (at[0] - before[0], at[1] - before[1])
    other = (after[0] - at[0], after[1] - at[1])
    long = (one[0] ** 2 + one[1] ** 2) ** 0.5 * (other[0] ** 2 + other[1] ** 2) ** 0.5
    return acos(max(-1.0, min(1.0, (one[0] * other[0] + one[1] * other[1]) / long)))
