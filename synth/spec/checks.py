"""What the parts of a specification must agree on with one another."""

from __future__ import annotations

from synth.errors import InputError
from synth.medium import AXES, Cell, Direction
from synth.spec.spec import Spec


def check_spec(spec: Spec) -> Spec:
    """The specification itself, if its parts agree.

    Raises:
        InputError: if a pin is asked on a face along the stacking axis or on a cell that is at
            the edge of no box within the limits; if cells are asked without a whole size,
            outside the box, or both empty and fixed; if a layout on ground is to stack along
            z. The place is that in a specification document.
    """
    _check_stack(spec)
    for name in spec.pin_names:
        _check_faces(spec, name)
        _check_at(spec, name)
    _check_cells(spec)
    return spec


def box(spec: Spec) -> tuple[int | None, int | None, int | None]:
    """The limits on length, width and height; None where there is none."""
    return (spec.limits.length, spec.limits.width, spec.limits.height)


def _check_stack(spec: Spec) -> None:
    if spec.stack is None:
        return
    if spec.stack.axis not in AXES:
        raise InputError(
            f"no axis {spec.stack.axis!r}", place="stack.axis", way_out="use one of x, y, z"
        )
    if spec.stack.pitch is not None and spec.stack.pitch < 1:
        raise InputError(
            f"a pitch of {spec.stack.pitch} cells", place="stack.pitch", way_out="use 1 or more"
        )
    if spec.ground and spec.stack.axis == "z":
        raise InputError(
            "a layout on ground does not stack along z (section 7)",
            place="stack.axis",
            way_out="stack along x or y, or leave the ground out",
        )


def _check_faces(spec: Spec, name: str) -> None:
    faces = spec.pins[name].faces
    place = f"pins.{name}.faces"
    if faces is None:
        return
    if not faces:
        raise InputError(
            f"no face is left for pin {name!r}",
            place=place,
            way_out="name a face, or leave faces out for any",
        )
    for face in faces:
        if not face.level:
            raise InputError(
                f"pin {name!r} on face {face}",
                place=place,
                way_out="use the level faces +x -x +y -y",
            )
        if spec.stack is not None and face.axis == spec.stack.axis:
            others = " ".join(str(way) for way in spec.faces(name))
            raise InputError(
                f"pin {name!r} on face {face}, along the stacking axis {face.axis} (section 7)",
                place=place,
                way_out=f"use {others}" if others else "use a face across that axis",
            )


def _check_at(spec: Spec, name: str) -> None:
    cell = spec.pins[name].at
    if cell is None:
        return
    place = f"pins.{name}.at"
    _check_inside(spec, cell, place, f"pin {name!r}")
    faces = spec.faces(name)
    if not any(_can_be_edge(spec, cell, face) for face in faces):
        raise InputError(
            f"pin {name!r} at {list(cell)} is not at the edge of the box on "
            f"{' '.join(str(face) for face in faces)}",
            place=place,
            way_out="choose a cell at that edge, or another face",
        )


def _can_be_edge(spec: Spec, cell: Cell, face: Direction) -> bool:
    """Whether ``face`` of ``cell`` leads out of some box that the specification allows.

    Limits are upper bounds, so any cell can be the last of a box along its axis, unless cells
    are asked: then the box is exactly as large as its limits.
    """
    axis = AXES.index(face.axis)
    if face.vector[axis] < 0:
        return cell[axis] == 0
    exact = bool(spec.empty or spec.fixed)
    return not exact or cell[axis] + 1 == box(spec)[axis]


def _check_inside(spec: Spec, cell: Cell, place: str, what: str) -> None:
    for axis, at, size in zip(AXES, cell, box(spec), strict=True):
        if at < 0 or (size is not None and at >= size):
            bound = f"0 <= {axis}" if size is None else f"0 <= {axis} < {size}"
            raise InputError(
                f"{what} at {list(cell)} lies outside the box",
                place=place,
                way_out=f"use a cell with {bound}",
            )


def _check_cells(spec: Spec) -> None:
    if not spec.empty and not spec.fixed:
        return
    if None in box(spec):
        raise InputError(
            "cells are asked of a box whose size is not given",
            place="cells",
            way_out="give length, width and height in [limits]",
        )
    for cell in sorted(spec.empty):
        _check_inside(spec, cell, "cells.empty", "the empty cell")
    for cell in sorted(spec.fixed):
        _check_inside(spec, cell, "cells.fixed", "the fixed part")
        if cell in spec.empty:
            raise InputError(
                f"the cell {list(cell)} is to be empty and to hold a fixed part",
                place="cells.fixed",
                way_out="leave one of them out",
            )
