"""What is asked besides the function: keywords that replace values of a specification."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields as fields_of
from dataclasses import replace
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.medium import AXES, LEVEL_DIRECTIONS, ChainLink, Direction, Role
from synth.medium_document import read_direction, read_joint
from synth.spec.checks import check_spec
from synth.spec.expression import check_inputs
from synth.spec.function import BooleanFunction
from synth.spec.spec import Limits, Spec, StackDemand

_LIMITS = tuple(item.name for item in fields_of(Limits))


def with_limits(spec: Spec, **limits: Any) -> Spec:
    """The specification with each keyword in the place of its own value; None changes nothing.

    Args:
        spec: what is asked so far.
        limits: ``length``, ``width``, ``height``, ``volume``, ``floor``, ``parts`` (cells),
            ``delay``, ``link_delay`` (ticks): upper bounds.
            ``stack``: the axis, ``"x"``, ``"y"`` or ``"z"``; ``pitch``: cells.
            ``chain``: what each copy hands to the next: ``[("co", "ci")]`` or ``"co:ci"``.
            ``joint``: ``"wire"`` or ``"buffer"``, for all pins but those of a chain.
            ``ground``: a bool. ``name``: text.
            ``inputs``: the names of the inputs in another order, the first the most significant.
            ``input_faces``, ``output_faces``: ``"-x"``, ``"-x +y"`` or ``["-x", "+y"]``.

    Raises:
        InputError: for an unknown keyword or a value that cannot be used, naming the keyword; and
            for demands that contradict each other.
    """
    for keyword in limits:
        if keyword not in KEYWORDS:
            raise InputError(
                f"no limit {keyword!r}", way_out=fields.suggestion(keyword, KEYWORDS, "there are")
            )
    given = {keyword: value for keyword, value in limits.items() if value is not None}
    bounds = {keyword: given[keyword] for keyword in _LIMITS if keyword in given}
    if bounds:
        spec = spec.replace(limits=replace(spec.limits, **bounds))
    for keyword, change in _CHANGES.items():
        if keyword in given:
            spec = change(spec, given[keyword])
    return check_spec(spec)


def _with_inputs(spec: Spec, value: object) -> Spec:
    """The same function, its inputs in the order given."""
    old = spec.function.inputs
    new = check_inputs(fields.words(value, "inputs"), spec.function.outputs)
    if sorted(new) != sorted(old):
        raise InputError(
            f"the inputs {', '.join(new)} are not those of the function",
            place="inputs",
            way_out=f"list each of {', '.join(old)} once",
        )
    permuted = spec.function.permuted(tuple(old.index(name) for name in new))
    return spec.replace(function=BooleanFunction(new, permuted.outputs))


def _with_stack(spec: Spec, value: object) -> Spec:
    axis = fields.choice(value, AXES, "stack", "axis")
    own = spec.stack
    return spec.replace(stack=own if own and own.axis == axis else StackDemand(axis))


def _with_chain(spec: Spec, value: object) -> Spec:
    return spec.replace(stack=chained(spec.stack, read_chain(value, "chain")))


def chained(stack: StackDemand | None, chain: tuple[ChainLink, ...]) -> StackDemand | None:
    """The stacking asked, with the links of a chain.

    Raises:
        InputError: for links without an axis.
    """
    if stack is not None:
        return replace(stack, chain=chain)
    if chain:
        raise InputError(
            "there is a chain, but no stacking",
            place="chain",
            way_out="stack along y or x as well",
        )
    return None


def read_chain(value: object, place: str) -> tuple[ChainLink, ...]:
    """Reads links: pairs of an output and an input, or text such as ``co:ci, go:gi``.

    Raises:
        InputError: naming the place, for what is none.
    """
    entries: Sequence[Any] = (
        fields.words(value, place) if isinstance(value, str) else fields.items(value, place)
    )
    links = []
    for index, entry in enumerate(entries):
        pair = entry.split(":") if isinstance(entry, str) else entry
        if not isinstance(pair, list | tuple) or len(pair) != 2:
            raise InputError(
                f"{fields.shown(entry)} is no link of a chain",
                place=place if isinstance(value, str) else fields.under(place, index),
                way_out="name an output and the input of the next copy that it is: co:ci",
            )
        links.append(ChainLink(fields.name(pair[0], place), fields.name(pair[1], place)))
    return tuple(links)


def _with_pitch(spec: Spec, value: object) -> Spec:
    if spec.stack is None:
        raise InputError(
            "there is a pitch, but no stacking", place="pitch", way_out='add stack="y"'
        )
    return spec.replace(stack=replace(spec.stack, pitch=fields.whole(value, "pitch", low=1)))


def _with_joint(spec: Spec, value: object) -> Spec:
    joint = read_joint(value, "joint")
    return spec.replace(
        pins={
            name: ask if spec.linked(name) else replace(ask, joint=joint)
            for name, ask in spec.pins.items()
        }
    )


def _with_ground(spec: Spec, value: object) -> Spec:
    return spec.replace(ground=fields.flag(value, "ground"))


def _with_name(spec: Spec, value: object) -> Spec:
    return spec.replace(name=fields.line(value, "name"))


def _with_input_faces(spec: Spec, value: object) -> Spec:
    return _with_faces(spec, Role.INPUT, _read_faces(value, "input_faces"))


def _with_output_faces(spec: Spec, value: object) -> Spec:
    return _with_faces(spec, Role.OUTPUT, _read_faces(value, "output_faces"))


def _read_faces(value: object, place: str) -> tuple[Direction, ...]:
    words = fields.words(value, place)
    return tuple(read_direction(word, LEVEL_DIRECTIONS, place) for word in words)


def _with_faces(spec: Spec, role: Role, faces: tuple[Direction, ...]) -> Spec:
    return spec.replace(
        pins={
            name: replace(ask, faces=faces)
            if spec.role(name) is role and not spec.linked(name)
            else ask
            for name, ask in spec.pins.items()
        }
    )


# Pitch and chain belong to the stack, so they come after it. Joints and faces leave out pins of a
# chain.
_CHANGES: dict[str, Callable[[Spec, object], Spec]] = {
    "inputs": _with_inputs,
    "stack": _with_stack,
    "pitch": _with_pitch,
    "chain": _with_chain,
    "joint": _with_joint,
    "ground": _with_ground,
    "name": _with_name,
    "input_faces": _with_input_faces,
    "output_faces": _with_output_faces,
}
KEYWORDS = (*_LIMITS, *_CHANGES)
