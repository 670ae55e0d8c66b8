"""The specification: a function, the limits it must keep, where pins may sit, stacking."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, ClassVar, Protocol

from synth.errors import InputError
from synth.medium import LEVEL_DIRECTIONS, Block, Cell, ChainLink, Direction, Joint, Role
from synth.spec.function import BooleanFunction

MAX_SIZE = 64
"""Longest side of a box, in cells, that a specification may ask for."""

MAX_DELAY = 64
"""Largest delay, in ticks, that a specification may ask for."""

_TICKS = ("delay", "link_delay")
"""Limits that are ticks."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Upper bounds on the layout; None where there is none.

    ``length``, ``width``, ``height`` in cells along x, y, z; ``volume`` and ``floor`` in
    cells; ``parts`` in cells that are not empty; ``delay`` in ticks (0 is a limit, too), as is
    ``link_delay``, of the links of a chain (section 11).
    """

    length: int | None = None
    width: int | None = None
    height: int | None = None
    volume: int | None = None
    floor: int | None = None
    parts: int | None = None
    delay: int | None = None
    link_delay: int | None = None

    def __post_init__(self) -> None:
        for item in fields(self):
            value = getattr(self, item.name)
            if value is None:
                continue
            low = 0 if item.name in (*_TICKS, "parts") else 1
            high = {"length": MAX_SIZE, "width": MAX_SIZE, "height": MAX_SIZE}.get(item.name)
            high = MAX_DELAY if item.name in _TICKS else high
            if isinstance(value, bool) or not isinstance(value, int):
                raise InputError(
                    f"a {item.name.replace('_', ' ')} of {value!r}",
                    place=f"limits.{item.name}",
                    way_out="use a whole number",
                )
            if value < low or (high is not None and value > high):
                span = f"use {low} or more" if high is None else f"use {low} to {high}"
                raise InputError(
                    f"a {item.name.replace('_', ' ')} of {value}",
                    place=f"limits.{item.name}",
                    way_out=span,
                )


@dataclass(frozen=True, slots=True)
class StackDemand:
    """That the layout must stack along ``axis``; ``pitch`` in cells, None: the box's size.

    ``chain``: the links by which each copy hands signals to the next (section 11), in order of
    names.
    """

    axis: str
    pitch: int | None = None
    chain: tuple[ChainLink, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "chain", tuple(sorted(self.chain)))


@dataclass(frozen=True, slots=True)
class PinDemand:
    """What is asked of one pin; None leaves it free.

    Attributes:
        faces: the level faces it may sit on, or None: any that does not lie along the
            stacking axis.
        at: the cell it must sit on, or None: any at the edge.
        joint: what stands outside, or None: the search takes a wire, a check takes either.
        spaced: whether the search keeps it as far from others as if its joint were a wire; no
            document says so.
    """

    faces: tuple[Direction, ...] | None = None
    at: Cell | None = None
    joint: Joint | None = None
    spaced: bool = False


class ParseSpec(Protocol):
    """How ``Spec.parse`` is called."""

    def __call__(self, text: str, **limits: Any) -> Spec: ...


@dataclass(frozen=True, slots=True)
class Spec:
    """A function and everything that is asked of its layout.

    Attributes:
        function: the truth tables.
        limits: upper bounds.
        pins: what is asked of each pin, by name; every input and output has an entry.
        stack: the stacking asked, or None.
        ground: whether the layout stands on ground (section 8).
        empty: cells that must stay empty (only with all three sizes given; the box is then
            exactly that size).
        fixed: cells that must hold a given block (same condition).
        name: a name, or None.
        description: what it is, in one line; may be empty.
    """

    function: BooleanFunction
    limits: Limits = field(default_factory=Limits)
    pins: Mapping[str, PinDemand] = field(default_factory=dict)
    stack: StackDemand | None = None
    ground: bool = False
    empty: frozenset[Cell] = frozenset()
    fixed: Mapping[Cell, Block] = field(default_factory=dict)
    name: str | None = None
    description: str = ""

    parse: ClassVar[ParseSpec]
    """A specification from text; see ``synth.spec.documents.parse_spec``."""

    load: ClassVar[Callable[[str | Path], Spec]]
    """A specification from a file (TOML); see ``synth.spec.documents.load_spec``."""

    # Reading lives in modules above this one; the room's ``__init__`` puts in these two doors.

    def __post_init__(self) -> None:
        pins = {name: self.pins.get(name, PinDemand()) for name in self.pin_names}
        object.__setattr__(self, "pins", MappingProxyType(pins))
        object.__setattr__(self, "fixed", MappingProxyType(dict(self.fixed)))

    def __hash__(self) -> int:
        return hash((self.function, self.limits, tuple(self.pins.items()), self.stack, self.ground))

    def __reduce__(self) -> tuple[Any, ...]:
        return (
            Spec,
            (
                self.function,
                self.limits,
                dict(self.pins),
                self.stack,
                self.ground,
                self.empty,
                dict(self.fixed),
                self.name,
                self.description,
            ),
        )

    @property
    def pin_names(self) -> tuple[str, ...]:
        """Inputs, then outputs, in order."""
        return (*self.function.inputs, *self.function.outputs)

    @property
    def chain(self) -> tuple[ChainLink, ...]:
        """The links by which each copy of a row hands signals to the next (section 11)."""
        return self.stack.chain if self.stack else ()

    def linked(self, name: str) -> bool:
        """Whether the pin called ``name`` is an end of a link."""
        return any(name in (link.output, link.input) for link in self.chain)

    def role(self, name: str) -> Role:
        """Whether the pin called ``name`` is an input or an output."""
        return Role.INPUT if name in self.function.inputs else Role.OUTPUT

    def faces(self, name: str) -> tuple[Direction, ...]:
        """The faces the pin called ``name`` may sit on, stacking considered (sections 7, 11)."""
        for link in self.chain:
            if name in (link.output, link.input) and self.stack is not None:
                sign = "+" if name == link.output else "-"
                return (Direction(sign + self.stack.axis),)
        asked = self.pins[name].faces or LEVEL_DIRECTIONS
        axis = self.stack.axis if self.stack else None
        return tuple(face for face in asked if face.axis != axis)

    def joint(self, name: str) -> Joint:
        """The joint the search gives the pin called ``name``: the one asked, or a wire.

        The pins of links count as of joint buffer (section 11).
        """
        if self.linked(name):
            return Joint.BUFFER
        return self.pins[name].joint or Joint.WIRE

    def with_joints(self) -> Spec:
        """The same with the joint of every pin said outright, but for those of links.

        A check takes either joint where none is asked; a search takes a wire. Whoever looks for
        what a search would find asks for that.
        """
        pins = {
            name: ask if self.linked(name) else replace(ask, joint=self.joint(name))
            for name, ask in self.pins.items()
        }
        return self.replace(pins=pins)

    def replace(self, **changes: Any) -> Spec:
        """A copy with the named attributes changed."""
        values: dict[str, Any] = {
            "function": self.function,
            "limits": self.limits,
            "pins": self.pins,
            "stack": self.stack,
            "ground": self.ground,
            "empty": self.empty,
            "fixed": self.fixed,
            "name": self.name,
            "description": self.description,
        }
        return Spec(**(values | changes))
