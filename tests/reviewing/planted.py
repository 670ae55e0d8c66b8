"""Right layouts, and in each one fault of a kind that a builder may make, by the rule it breaks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from synth.layout import Layout, Pin, Stack
from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Block, Cell
from synth.reviewing.change import Change
from synth.spec import BooleanFunction, Spec
from tests.simulator.build import STANDING, box, enters, hung, leaves, to
from tests.stored import stored_layout


@dataclass(frozen=True)
class Planted:
    """A right layout and one fault.

    Attributes:
        name: what was done, and the rule of the medium that it breaks first.
        right: the layout before.
        spec: what is asked of it.
        change: the fault.
    """

    name: str
    right: Layout
    spec: Spec
    change: Change = field(default_factory=Change)

    @property
    def wrong(self) -> Layout:
        """The layout with the fault."""
        return self.change.on(self.right)

    @property
    def at(self) -> Cell:
        """The cell to be named: the one changed, or where the pin was put."""
        if self.change.cells:
            (cell,) = self.change.cells
            return cell
        return self.change.pins[0].at if self.change.pins else (0, 0, 0)


SAME = Spec.parse("q = a")
NOT = Spec.parse("q = ~a")
OR = Spec.parse("q = a | b")
NOT_A = Spec(BooleanFunction(("a", "b"), {"q": "1100"}))
TWO = Spec.parse("q = a; r = b")


def shelf(*cells: Cell) -> dict[Cell, Block]:
    """Ledges below some cells."""
    return {(x, y, z - 1): LEDGE for x, y, z in cells}


def wires(*cells: Cell) -> dict[Cell, Block]:
    """Wires on ledges."""
    return shelf(*cells) | dict.fromkeys(cells, WIRE)


def line(length: int, **other: Block) -> Layout:
    """Wires from ``a`` to ``q``; ``x3=block`` puts something else in one place."""
    cells = wires(*((x, 0, 1) for x in range(length)))
    cells |= {(int(place[1:]), 0, 1): block for place, block in other.items()}
    return box(
        (length, 1, 2), cells, enters("a", (0, 0, 1), "-x"), leaves("q", (length - 1, 0, 1), "+x")
    )


LINE = line(5)
BUFFERED = line(3, x1=to("+x"))
LONG = line(28, x13=to("+x"))
DRIVER = line(4, x1=to("+x"), x2=SOLID)
STAIR = box(
    (2, 1, 4),
    wires((0, 0, 1)) | {(1, 0, 1): SOLID, (1, 0, 2): WIRE},
    enters("a", (0, 0, 1), "-x"),
    leaves("q", (1, 0, 2), "+x"),
)
DOWN = box(
    (2, 1, 3),
    wires((1, 0, 1)) | {(0, 0, 1): SOLID, (0, 0, 2): WIRE},
    enters("a", (0, 0, 2), "-x"),
    leaves("q", (1, 0, 1), "+x"),
)
GATE = box(
    (3, 2, 2),
    wires((0, 0, 1))
    | shelf((0, 1, 1))
    | {(1, 0, 1): SOLID, (2, 0, 1): hung("-x"), (1, 1, 1): SOLID},
    enters("a", (0, 0, 1), "-x"),
    leaves("q", (2, 0, 1), "+x"),
)
SIGHT = box(
    (2, 1, 2),
    shelf((1, 0, 1)) | {(0, 0, 1): SOLID, (1, 0, 1): to("+x")},
    enters("a", (0, 0, 1), "-x"),
    leaves("q", (1, 0, 1), "+x"),
)
NEXT_TO = box(
    (3, 1, 2),
    wires((2, 0, 1)) | {(0, 0, 1): SOLID, (1, 0, 1): hung("-x")},
    enters("a", (0, 0, 1), "-x"),
    leaves("q", (2, 0, 1), "+x"),
)
LOW = box(
    (2, 1, 2),
    {(0, 0, 0): SOLID, (1, 0, 0): hung("-x")},
    enters("a", (0, 0, 0), "-x"),
    leaves("q", (1, 0, 0), "+x"),
)
ROOMY = box(
    (3, 2, 2),
    wires((0, 0, 1), (2, 0, 1)) | shelf((1, 0, 1), (1, 1, 1)) | {(1, 0, 1): to("+x")},
    enters("a", (0, 0, 1), "-x"),
    leaves("q", (2, 0, 1), "+x"),
)
VALVES = box(
    (3, 1, 2),
    wires((1, 0, 1)) | shelf((0, 0, 1), (2, 0, 1)) | {(0, 0, 1): to("+x"), (2, 0, 1): to("-x")},
    enters("a", (0, 0, 1), "-x"),
    enters("b", (2, 0, 1), "+x"),
    leaves("q", (1, 0, 1), "+y"),
)


def lanes(width: int, stack: Stack | None = None) -> Layout:
    """Two lines side by side, two lanes apart."""
    return box(
        (2, width, 2),
        wires((0, 0, 1), (1, 0, 1), (0, 2, 1), (1, 2, 1)),
        enters("a", (0, 0, 1), "-x"),
        enters("b", (0, 2, 1), "-x"),
        leaves("q", (1, 0, 1), "+x"),
        leaves("r", (1, 2, 1), "+x"),
        stack=stack,
    )


def stacked(cells: Mapping[Cell, Block], spare: Mapping[Cell, Block]) -> Layout:
    """A line along lane 0, two wide and stackable, with something to spare in lane 1."""
    return box(
        (3, 2, 2),
        {**wires((0, 0, 1), (1, 0, 1), (2, 0, 1)), **cells, **spare},
        enters("a", (0, 0, 1), "-x"),
        leaves("q", (2, 0, 1), "+x"),
        stack=Stack("y", 2),
    )


SPARE = stacked({}, shelf((1, 1, 1)) | {(0, 1, 1): SOLID})
ONE_WAY = stacked({(1, 0, 1): to("+x")}, {})
CROSSING = box(
    (2, 3, 2),
    wires((0, 1, 1)) | shelf((0, 2, 1)) | {(0, 0, 1): SOLID, (1, 0, 1): hung("-x")},
    enters("a", (0, 0, 1), "-x"),
    enters("b", (0, 1, 1), "-x", "buffer"),
    leaves("q", (1, 0, 1), "+x"),
    stack=Stack("y", 3),
)
XOR2 = stored_layout("xor2")
XOR = Spec.parse("q = a ^ b", delay=2, stack="y")


def put(name: str, right: Layout, spec: Spec, cell: Cell, block: Block | None) -> Planted:
    """A fault in one cell."""
    return Planted(name, right, spec, Change({cell: block}))


def moved(name: str, right: Layout, spec: Spec, pin: Pin) -> Planted:
    """A pin in another place."""
    return Planted(name, right, spec, Change(pins=(pin,)))


PLANTED: tuple[Planted, ...] = (
    put("2 supports: the ledge under a wire is gone", LINE, SAME, (2, 0, 0), None),
    put("2 supports: a clear cube under a buffer", BUFFERED, SAME, (1, 0, 0), CLEAR),
    put("2 hosts: the host is a clear cube", NEXT_TO, NOT, (0, 0, 1), CLEAR),
    put("2 buffer delays: a delay of 7", BUFFERED, SAME, (1, 0, 1), to("+x", 7)),
    put("3 level links: a wire is gone", LINE, SAME, (2, 0, 1), None),
    put("3 climbing: a solid above the lower wire", STAIR, SAME, (0, 0, 2), SOLID),
    put("3 descending: a clear cube under the upper wire", DOWN, SAME, (0, 0, 1), CLEAR),
    put("3 connects: an inverter beside the wire", GATE, NOT, (0, 1, 1), hung("+x")),
    put("3 runs: a wire beside the wire", GATE, NOT, (0, 1, 1), WIRE),
    put("4 driven: a wire in place of the buffer", DRIVER, SAME, (1, 0, 1), WIRE),
    put("4 charged: a clear cube in place of the solid", SIGHT, SAME, (0, 0, 1), CLEAR),
    put(
        "4 sources: a buffer beside the inverter points back",
        NEXT_TO,
        NOT,
        (2, 0, 1),
        to("-x"),
    ),
    put("4 along links: no buffer in a long line", LONG, SAME, (13, 0, 1), WIRE),
    put("4 inverter sees: the inverter is a buffer", GATE, NOT, (2, 0, 1), CLEAR),
    put("4 buffer sees: the buffer points back", BUFFERED, SAME, (1, 0, 1), to("-x")),
    put(
        "5 buffers settle: a slow buffer",
        BUFFERED,
        Spec.parse("q = a", delay=1),
        (1, 0, 1),
        to("+x", 4),
    ),
    put("5 held settle: a buffer into the side of a buffer", ROOMY, SAME, (1, 1, 1), to("-y")),
    put("5 fed back: a wire in place of the valve", VALVES, OR, (0, 0, 1), WIRE),
    put("5 outputs right: an inverter is gone", XOR2, XOR, (1, 0, 0), None),
    put("6 leads give: nothing at the pin's cell", SIGHT, SAME, (0, 0, 1), None),
    moved("6 one a face: two pins on a face", VALVES, OR, enters("b", (0, 0, 1), "-x")),
    moved("6 distances: pins in lanes side by side", lanes(3), TWO, enters("b", (0, 1, 1), "-x")),
    moved(
        "6 distances of copies: a pin beside the next copy's",
        lanes(4, Stack("y", 4)),
        TWO,
        enters("b", (0, 3, 1), "-x"),
    ),
    put("7 links: a wire at the edge", SPARE, SAME, (1, 1, 1), WIRE),
    put("7 inverters: an inverter at the edge", SPARE, SAME, (1, 1, 1), hung("-x")),
    put("7 buffers: a buffer that points into the next copy", ONE_WAY, SAME, (1, 0, 1), to("-y")),
    moved("7 pins: a pin that faces along the stack", SPARE, SAME, leaves("q", (2, 0, 1), "-y")),
    Planted("7 pitch: a pitch below the width", SPARE, SAME, Change(stack=Stack("y", 1))),
    put(
        "7 every copy: a wire that runs out of the box",
        CROSSING,
        NOT_A,
        (0, 2, 1),
        WIRE,
    ),
    put("8 ground: a wire at height 0", LINE, SAME, (2, 0, 0), WIRE),
    put("8 inverters: a standing inverter at height 0", LOW, NOT, (1, 0, 0), STANDING),
    put(
        "9 parts: a part too many",
        STAIR,
        Spec.parse("q = a", parts=4),
        (1, 0, 3),
        SOLID,
    ),
)
