"""The medium: directions, parts and the rule table.

Floor 1: imports nothing of ours. This module says *what there is*; how it behaves is read
twice and independently, by ``synth.simulator`` and by ``synth.encoding``. All rules are stated
for a reader in ``medium.md`` beside this file; "section" in docstrings means a section of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

Cell = tuple[int, int, int]
"""``(x, y, z)``: along the length, across the width, up the height, each from 0."""

Size = tuple[int, int, int]
"""``(length, width, height)`` of a box, in cells."""

AXES = ("x", "y", "z")


def shifted(cell: Cell, by: Cell) -> Cell:
    """The cell that lies so many cells further along each axis."""
    return (cell[0] + by[0], cell[1] + by[1], cell[2] + by[2])


def with_place(cell: Cell, index: int, value: int) -> Cell:
    """The cell, or size, with another value on one axis (0, 1, 2: x, y, z)."""
    x, y, z = (value if axis == index else old for axis, old in enumerate(cell))
    return (x, y, z)


class Direction(Enum):
    """One of the six directions, written ``+x -x +y -y +z -z`` in documents."""

    PX = "+x"
    NX = "-x"
    PY = "+y"
    NY = "-y"
    PZ = "+z"
    NZ = "-z"

    # A member is itself alone. That of Enum hashes its name anew, in Python, at every look-up.
    __hash__ = object.__hash__

    def __str__(self) -> str:
        return self.value

    def __lt__(self, other: Direction) -> bool:
        return _ORDER[self] < _ORDER[other]

    @property
    def vector(self) -> Cell:
        """The step to the neighbour in this direction."""
        return _VECTOR[self]

    @property
    def axis(self) -> str:
        """``"x"``, ``"y"`` or ``"z"``."""
        return self.value[1]

    @property
    def opposite(self) -> Direction:
        """The direction that leads back."""
        return _OPPOSITE[self]

    @property
    def level(self) -> bool:
        """Whether it keeps the height: one of ``+x -x +y -y``."""
        return self.axis != "z"

    @property
    def sides(self) -> tuple[Direction, Direction]:
        """The two level directions at right angles to a level direction."""
        return _SIDES[self]

    def step(self, cell: Cell) -> Cell:
        """The neighbour of ``cell`` in this direction (inside a box or not)."""
        dx, dy, dz = _VECTOR[self]
        return (cell[0] + dx, cell[1] + dy, cell[2] + dz)


_VECTOR: dict[Direction, Cell] = {
    Direction.PX: (1, 0, 0),
    Direction.NX: (-1, 0, 0),
    Direction.PY: (0, 1, 0),
    Direction.NY: (0, -1, 0),
    Direction.PZ: (0, 0, 1),
    Direction.NZ: (0, 0, -1),
}
_ORDER = {direction: index for index, direction in enumerate(Direction)}
_OPPOSITE = {
    Direction.PX: Direction.NX,
    Direction.NX: Direction.PX,
    Direction.PY: Direction.NY,
    Direction.NY: Direction.PY,
    Direction.PZ: Direction.NZ,
    Direction.NZ: Direction.PZ,
}
_SIDES = {
    Direction.PX: (Direction.PY, Direction.NY),
    Direction.NX: (Direction.PY, Direction.NY),
    Direction.PY: (Direction.PX, Direction.NX),
    Direction.NY: (Direction.PX, Direction.NX),
}

LEVEL_DIRECTIONS = (Direction.PX, Direction.NX, Direction.PY, Direction.NY)
ALL_DIRECTIONS = tuple(Direction)
HOST_DIRECTIONS = (*LEVEL_DIRECTIONS, Direction.NZ)
"""Where the host of an inverter may be (section 2)."""


class Part(Enum):
    """The parts of section 2, by the names documents use."""

    SOLID = "solid"
    CLEAR = "clear"
    LEDGE = "ledge"
    WIRE = "wire"
    INVERTER = "inverter"
    BUFFER = "buffer"

    def __str__(self) -> str:
        return self.value


WIRE_SUPPORTS = frozenset({Part.SOLID, Part.CLEAR, Part.LEDGE})
"""What a wire may rest on (section 2)."""

BUFFER_SUPPORTS = frozenset({Part.SOLID, Part.LEDGE})
"""What a buffer may rest on (section 2)."""


@dataclass(frozen=True, slots=True)
class Block:
    """What one cell holds: a part and, where the part has them, its facing and delay.

    Attributes:
        part: the kind of part.
        facing: ``on`` (where the host is) of an inverter, ``to`` of a buffer, else None.
        delay: ticks of a buffer, 0 for every other part.
    """

    part: Part
    facing: Direction | None = None
    delay: int = 0

    def __post_init__(self) -> None:
        if self.part is Part.INVERTER:
            if self.facing not in HOST_DIRECTIONS:
                raise ValueError(f"an inverter hangs on a level direction or -z, not {self.facing}")
        elif self.part is Part.BUFFER:
            if self.facing not in LEVEL_DIRECTIONS:
                raise ValueError(f"a buffer points in a level direction, not {self.facing}")
            if self.delay < 1:
                raise ValueError(f"a buffer has a delay of at least 1 tick, not {self.delay}")
        elif self.facing is not None:
            raise ValueError(f"a {self.part} has no facing")
        if self.part is not Part.BUFFER and self.delay != 0:
            raise ValueError(f"a {self.part} has no delay")

    @property
    def order(self) -> tuple[int, int, int]:
        """A key that orders blocks, the same in every run."""
        facing = 0 if self.facing is None else 1 + _ORDER[self.facing]
        return (list(Part).index(self.part), facing, self.delay)

    def __str__(self) -> str:
        words = [str(self.part)]
        if self.part is Part.INVERTER:
            words.append(f"on {self.facing}")
        elif self.part is Part.BUFFER:
            words.append(f"to {self.facing}, delay {self.delay}")
        return " ".join(words)


SOLID = Block(Part.SOLID)
CLEAR = Block(Part.CLEAR)
LEDGE = Block(Part.LEDGE)
WIRE = Block(Part.WIRE)


def inverter(on: Direction) -> Block:
    """An inverter whose host is its neighbour in direction ``on``."""
    return Block(Part.INVERTER, on)


def buffer(to: Direction, delay: int = 1) -> Block:
    """A buffer that points along ``to`` and takes ``delay`` ticks."""
    return Block(Part.BUFFER, to, delay)


@dataclass(frozen=True, slots=True)
class Rules:
    """The rule table: the numbers of the medium that a user may replace.

    Attributes:
        reach: strength of a wire beside a source; a wire ``reach - 1`` steps on is still powered.
        buffer_delays: the delays, in ticks, that a buffer may have.

    Source: common practice, no published source.
    """

    reach: int = 15
    buffer_delays: tuple[int, ...] = (1, 2, 3, 4)

    def __post_init__(self) -> None:
        if self.reach < 1:
            raise ValueError(f"reach must be at least 1, not {self.reach}")
        if not self.buffer_delays or min(self.buffer_delays) < 1:
            raise ValueError(f"buffer_delays must be ticks of at least 1, not {self.buffer_delays}")
        ordered = tuple(sorted(set(self.buffer_delays)))
        object.__setattr__(self, "buffer_delays", ordered)


DEFAULT_RULES = Rules()


class Joint(Enum):
    """What stands outside a pin's face (section 6)."""

    WIRE = "wire"
    BUFFER = "buffer"

    def __str__(self) -> str:
        return self.value


class Role(Enum):
    """Whether a pin brings a signal in or takes one out."""

    INPUT = "input"
    OUTPUT = "output"

    def __str__(self) -> str:
        return self.value


@dataclass(frozen=True, slots=True, order=True)
class ChainLink:
    """One link of a chain (section 11): an output of each copy that is an input of the next."""

    output: str
    input: str

    def __str__(self) -> str:
        return f"{self.output}:{self.input}"


class RuleId(Enum):
    """The rules that a fault of a verdict may name."""

    SUPPORT = "support"
    HOST = "host"
    BUFFER_DELAY = "buffer-delay"
    PIN_FACE = "pin-face"
    PIN_SPACING = "pin-spacing"
    FUNCTION = "function"
    DELAY = "delay"
    FED_BACK = "fed-back"
    STACK_LINK = "stack-link"
    STACK_INVERTER = "stack-inverter"
    STACK_SUPPORT = "stack-support"
    STACK_BUFFER = "stack-buffer"
    STACK_PIN = "stack-pin"
    STACK_PITCH = "stack-pitch"
    STACK_GROUND = "stack-ground"
    STACK_FUNCTION = "stack-function"
    CHAIN_PITCH = "chain-pitch"
    CHAIN_PLACE = "chain-place"
    CHAIN_FACE = "chain-face"
    LINK_DELAY = "link-delay"
    ROW_FUNCTION = "row-function"
    LIMIT = "limit"
    PIN_ASK = "pin-ask"
    CELL_ASK = "cell-ask"
    STACK_ASK = "stack-ask"

    def __str__(self) -> str:
        return self.value


RULE_TEXT: dict[RuleId, str] = {
    RuleId.SUPPORT: "a wire stands on a solid, clear or ledge; a buffer on a solid or ledge",
    RuleId.HOST: "the host of an inverter is a solid inside the box",
    RuleId.BUFFER_DELAY: "a buffer has a delay of the rule table",
    RuleId.PIN_FACE: "one face carries at most one pin",
    RuleId.PIN_SPACING: "pins of one side keep their distance",
    RuleId.FUNCTION: "each output reads its right value for every input assignment",
    RuleId.DELAY: "the layout meets the delay asked",
    RuleId.FED_BACK: "the lead of an input that is off is not possibly on",
    RuleId.STACK_LINK: "no wire of one copy is linked to a wire of another",
    RuleId.STACK_INVERTER: "no inverter has a wire of another copy beside or below it",
    RuleId.STACK_SUPPORT: "no part has its host or support in another copy",
    RuleId.STACK_BUFFER: "no buffer but those of a chain has its back or front in another copy",
    RuleId.STACK_PIN: "no pin but those of a chain faces along the stacking axis",
    RuleId.STACK_PITCH: "the pitch is at least the size of the box on the stacking axis",
    RuleId.STACK_GROUND: "a layout on ground does not stack along z",
    RuleId.STACK_FUNCTION: "every copy meets the specification whatever the others do",
    RuleId.CHAIN_PITCH: "a chain lies along x or y at the pitch of the box's own size",
    RuleId.CHAIN_PLACE: "a link's output has a buffer of delay 1 at the far end, its input the "
    "cell in front of it in the next copy",
    RuleId.CHAIN_FACE: "a link's pins are on the faces along the chain, with joint buffer",
    RuleId.LINK_DELAY: "the links of a chain are right within the link delay asked",
    RuleId.ROW_FUNCTION: "a row of copies settles at the right values in time",
    RuleId.LIMIT: "the layout keeps the limits asked",
    RuleId.PIN_ASK: "each pin has the face, cell and joint asked",
    RuleId.CELL_ASK: "each cell asked to be empty or fixed is so",
    RuleId.STACK_ASK: "the layout states the stacking asked",
}
