"""Checks that the parts of a specification agree with one another."""

from __future__ import annotations

from synth import fields
from synth.errors import InputError
from synth.medium import AXES, Cell, ChainLink, Direction, Joint, Role
from synth.spec.spec import Spec


def check_spec(spec: Spec) -> Spec:
    """The specification itself, if its parts agree.

    Raises:
        InputError: if a pin is asked on a face along the stacking axis or on a cell that is at
            the edge of no box within the limits; if cells are asked without a whole size,
            outside the box, or both empty and fixed; if a layout on ground is to stack along
            z; if a link of a chain has no such pins, or other places are asked for them. The place
            is that in a specification document.
    """
    _check_stack(spec)
    _check_chain(spec)
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


def _check_chain(spec: Spec) -> None:
    """Section 11: each link has an output and an input, the axis is level, no pitch is stated."""
    stack = spec.stack
    if stack is None or not stack.chain:
        if spec.limits.link_delay is not None:
            raise InputError(
                f"a link delay of at most {spec.limits.link_delay}, but no chain",
                place="limits.link_delay",
                way_out="say which output is which input of the next copy, or leave it out",
            )
        return
    if stack.axis == "z":
        raise InputError(
            "a chain along z: its buffers point in level directions only (section 11)",
            place="chain",
            way_out="stack along x or y",
        )
    if stack.pitch is not None:
        raise InputError(
            f"a pitch of {stack.pitch} cells, and a chain: its pitch is the size of the box "
            "(section 11)",
            place="stack.pitch",
            way_out="leave the pitch out",
        )
    seen: set[str] = set()
    for link in stack.chain:
        _check_link(spec, link)
        for name in (link.output, link.input):
            if name in seen:
                raise InputError(
                    f"{name!r} is in two links of the chain",
                    place="chain",
                    way_out="give each pin one link",
                )
            seen.add(name)


def _check_link(spec: Spec, link: ChainLink) -> None:
    for name, role in ((link.output, Role.OUTPUT), (link.input, Role.INPUT)):
        known = [pin for pin in spec.pin_names if spec.role(pin) is role]
        other = f", it is an {spec.role(name)}" if name in spec.pin_names else ""
        if name not in known:
            raise InputError(
                f"no {role} {fields.shown(name)}{other}",
                place="chain",
                way_out="a chain leads from an output to an input: "
                + fields.suggestion(name, known, f"the {role}s are"),
            )
        if spec.pins[name].joint is Joint.WIRE:
            raise InputError(
                f"a wire joint at {name!r}, which is in a chain and so has a buffer (section 11)",
                place=f"pins.{name}.joint",
                way_out="leave the joint out",
            )
    at = [spec.pins[name].at for name in (link.output, link.input)]
    if spec.stack is not None and None not in at:
        across = [index for index, axis in enumerate("xyz") if axis != spec.stack.axis]
        one, other_at = at
        assert one is not None
        assert other_at is not None
        if any(one[index] != other_at[index] for index in across):
            raise InputError(
                f"{link.output!r} at {list(one)} and {link.input!r} at {list(other_at)} do not "
                "meet in a row (section 11)",
                place="chain",
                way_out=f"give them cells that differ along {spec.stack.axis} only",
            )


def _check_faces(spec: Spec, name: str) -> None:
    faces = spec.pins[name].faces
    place = f"pins.{name}.faces"
    if faces is None:
        return
    if spec.linked(name):
        (own,) = spec.faces(name)
        if faces != (own,):
            raise InputError(
                f"pin {name!r} on face {' '.join(map(str, faces))}, but it is in a chain, which "
                f"puts it on {own} (section 11)",
                place=place,
                way_out="leave the faces out",
            )
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
