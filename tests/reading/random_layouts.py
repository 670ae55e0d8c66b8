"""Random layouts that are legal and lively, others that may be illegal, and single changes.

One plain generator driven by ``random.Random`` serves both long runs by seed and hypothesis,
whose strategies hand it a generator that records and shrinks. "Lively" means that parts tend to
act on one another: supports and hosts are under and beside what needs them, buffers tend to lie
between parts, pins sit where something happens.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from hypothesis import strategies as st

from synth.layout import Layout, Pin, Stack
from synth.medium import (
    AXES,
    CLEAR,
    DEFAULT_RULES,
    HOST_DIRECTIONS,
    LEDGE,
    LEVEL_DIRECTIONS,
    SOLID,
    WIRE,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
    Role,
    Size,
    buffer,
    inverter,
)
from tests.reading.legal import DOWN, UP, facing, illegalities
from tests.reading.plain import settle, stack_faults, stand

DELAYS = DEFAULT_RULES.buffer_delays
MAX_SIZE: Size = (5, 5, 5)


@dataclass(frozen=True)
class _Taste:
    """What a layout is likely to hold: chances drawn once a layout, so that layouts differ."""

    block: tuple[float, ...]  # by height: a solid, clear or ledge in an empty cell
    solid: float  # among those, a solid
    wire: float  # a wire where one may be
    inverter: float
    buffer: float
    hang: float  # a hanging rather than a standing inverter


def random_layout(
    rng: Random,
    max_size: Size = MAX_SIZE,
    *,
    stack: bool = False,
    ground: bool | None = None,
    inputs: int = 3,
    outputs: int = 2,
) -> Layout:
    """A legal layout with at most so many inputs and 1 to ``outputs`` outputs.

    With ``stack`` it asks to stack along a random axis at the box's size or up to 2 cells more,
    and most often keeps the static rules of section 7. ``ground`` None: either.
    """
    for _ in range(rng.choice((1, 4, 8, 8))):
        layout = _candidate(rng, max_size, stack, ground, inputs, outputs)
        if _lively(layout) and (layout.stack is None or _copies_touch(layout)):
            break
    return layout


def _lively(layout: Layout) -> bool:
    """Whether what some output reads hangs on more than the parts' standing there: with nothing
    known of any part and input, it is not known either.
    """
    reading = settle(layout, dict.fromkeys((pin.name for pin in layout.inputs), "x"), ticks=0)[0]
    return "x" in reading.outputs.values()


def _copies_touch(layout: Layout) -> bool:
    """Whether a part of one copy acts on a part of the next, without breaking a static rule."""
    if stack_faults(layout):
        return False
    world = stand(layout, copies=2)
    causes = (world.chargers, world.drivers, world.sources, world.solids_beside)
    return any(
        world.owner[cause] != world.owner[cell]
        for table in causes
        for cell, found in table.items()
        for cause in found
    )


def _candidate(
    rng: Random, max_size: Size, stack: bool, ground: bool | None, inputs: int, outputs: int
) -> Layout:
    size = (_side(rng, max_size[0]), _side(rng, max_size[1]), _side(rng, max_size[2]))
    asked = _stack(rng, size) if stack else None
    grounded = rng.random() < 0.4 if ground is None else ground
    if asked is not None and asked.axis == "z" and ground is None:
        grounded = rng.random() < 0.1
    layout = Layout(size, _cells(rng, size, grounded), stack=asked, ground=grounded)
    layout = _with_holders(rng, layout)
    entering = min(inputs, rng.choice((0, 1, 1, 2, 2, 3, 3)))
    layout = _with_pins(rng, layout, entering, rng.randint(1, outputs))
    if asked is not None and rng.random() < 0.85:
        layout = _mend(layout)
    return layout


def _side(rng: Random, longest: int) -> int:
    side = rng.randint(1, longest)
    return max(side, rng.randint(1, longest)) if rng.random() < 0.6 else side


def _stack(rng: Random, size: Size) -> Stack:
    axis = rng.choice(AXES)
    pitch = size[AXES.index(axis)] + rng.choice((0, 0, 0, 0, 1, 2))
    # One above the other at pitch 1, no pin would be 2 away from its own copy.
    return Stack(axis, max(pitch, 2) if axis == "z" else pitch)


def _taste(rng: Random, height: int) -> _Taste:
    low, high = rng.choice((0.15, 0.3)), rng.choice((0.6, 0.8, 0.95))
    floor_first = rng.random() < 0.7  # supports below, what they carry above, and so on
    alternating = tuple(high if (z % 2 == 0) == floor_first else low for z in range(height))
    mixed = tuple(rng.choice((low, 0.5, high)) for _ in range(height))
    return _Taste(
        block=alternating if rng.random() < 0.6 else mixed,
        solid=rng.choice((0.5, 0.75, 0.9)),
        wire=rng.choice((0.3, 0.5, 0.7)),
        inverter=rng.choice((0.15, 0.3, 0.45)),
        buffer=rng.choice((0.05, 0.2, 0.4)),
        hang=rng.choice((0.2, 0.5, 0.8)),
    )


def _cells(rng: Random, size: Size, ground: bool) -> dict[Cell, Block]:
    """Parts from the lowest height up, so that what may rest on them is known."""
    taste = _taste(rng, size[2])
    cells: dict[Cell, Block] = {}
    for z in range(size[2]):
        level = [(x, y, z) for x in range(size[0]) for y in range(size[1])]
        for cell in level:
            if rng.random() < taste.block[z]:
                insulator = CLEAR if rng.random() < 0.5 else LEDGE
                cells[cell] = SOLID if rng.random() < taste.solid else insulator
        for cell in level:
            if cell not in cells:
                block = _acting(rng, cells, cell, ground, taste)
                if block is not None:
                    cells[cell] = block
    return cells


def _acting(
    rng: Random, cells: dict[Cell, Block], cell: Cell, ground: bool, taste: _Taste
) -> Block | None:
    """A wire, inverter or buffer that may be in a cell, or None."""
    below = cells.get(DOWN.step(cell))
    if below is None and cell[2] == 0 and ground:
        below = LEDGE
    if rng.random() < taste.inverter:
        standing = [DOWN] if below == SOLID else []
        hanging = [d for d in LEVEL_DIRECTIONS if cells.get(d.step(cell)) == SOLID]
        hosts = hanging if hanging and rng.random() < taste.hang else standing or hanging
        if hosts:
            return inverter(rng.choice(hosts))
    if below in (SOLID, LEDGE) and rng.random() < taste.buffer:
        return buffer(_lively_direction(rng, cells, cell), rng.choice(DELAYS))
    if below in (SOLID, CLEAR, LEDGE) and rng.random() < taste.wire:
        return WIRE
    return None


def _lively_direction(rng: Random, cells: dict[Cell, Block], cell: Cell) -> Direction:
    """Where a buffer points: most often into something, or away from something."""
    useful = [
        d for d in LEVEL_DIRECTIONS if d.step(cell) in cells or d.opposite.step(cell) in cells
    ]
    return rng.choice(useful if useful and rng.random() < 0.8 else LEVEL_DIRECTIONS)


def _with_holders(rng: Random, layout: Layout) -> Layout:
    """Sometimes turns or adds a buffer so that it points into the side of another."""
    buffers = [cell for cell, block in layout.cells.items() if block.part is Part.BUFFER]
    if not buffers or rng.random() < 0.6:
        return layout
    held = rng.choice(buffers)
    side = rng.choice(facing(layout.cells[held]).sides)
    cell = side.step(held)
    if not layout.inside(cell):
        return layout
    changed = layout.with_cells({cell: buffer(side.opposite, rng.choice(DELAYS))})
    return layout if illegalities(changed) else changed


def _with_pins(rng: Random, layout: Layout, inputs: int, outputs: int) -> Layout:
    """Pins of both joints on legal places, most of them where something happens."""
    axis = None if layout.stack is None else layout.stack.axis
    # A pin along the stacking axis is legal, though such a layout does not stack.
    along = rng.random() < 0.05
    places = [
        (cell, face)
        for cell in _box(layout.size)
        for face in LEVEL_DIRECTIONS
        if not layout.inside(face.step(cell)) and (along or face.axis != axis)
    ]
    rng.shuffle(places)
    if rng.random() < 0.8:
        places.sort(key=lambda place: _dullness(layout, place[0]))
    elif rng.random() < 0.5:
        # Corner cells first: they carry pins on both their faces.
        places.sort(key=lambda place: place[0][:2])
    # Outputs first, so that one always finds a place.
    names = [("qr"[n], Role.OUTPUT) for n in range(outputs)]
    names += [("abc"[n], Role.INPUT) for n in range(inputs)]
    wires = rng.choice((0.5, 0.7, 1.0))
    for name, role in names:
        joints = [Joint.BUFFER, Joint.WIRE] if rng.random() >= wires else [Joint.WIRE, Joint.BUFFER]
        layout = _with_pin(layout, name, role, [(*place, j) for j in joints for place in places])
    pins = list(layout.pins)
    rng.shuffle(pins)
    return layout.replace(pins=tuple(pins))


def _with_pin(
    layout: Layout, name: str, role: Role, places: list[tuple[Cell, Direction, Joint]]
) -> Layout:
    """The layout with a pin in the first place that is legal; unchanged if none is."""
    for cell, face, joint in places:
        changed = layout.replace(pins=(*layout.pins, Pin(name, role, cell, face, joint)))
        if not illegalities(changed):
            return changed
    return layout


def _box(size: Size) -> list[Cell]:
    return [(x, y, z) for x in range(size[0]) for y in range(size[1]) for z in range(size[2])]


def _dullness(layout: Layout, cell: Cell) -> int:
    """0 for a cell where a pin acts on something or is acted on, 1 if it may, 2 if hardly."""
    block = layout.cells.get(cell)
    near = layout.cells.get(UP.step(cell)), layout.cells.get(DOWN.step(cell))
    if block is None:
        return 1 if WIRE in near else 2
    if block.part in (Part.WIRE, Part.BUFFER, Part.INVERTER):
        return 0
    return 0 if block == SOLID else 1 if WIRE in near else 2


def _mend(layout: Layout) -> Layout:
    """Takes out parts until the static rules of section 7 hold (as far as parts break them)."""
    while True:
        cells = [cell for _, cell in stack_faults(layout) if cell in layout.cells]
        cells = [c for c in cells if layout.cells[c].part in _REMOVABLE]
        if not cells:
            return layout
        layout = layout.with_cells({cells[0]: None})


_REMOVABLE = (Part.WIRE, Part.INVERTER, Part.BUFFER)  # nothing rests on these


# Layouts that may be illegal.


def random_block(rng: Random) -> Block | None:
    """Any block, or None for an empty cell; sometimes a buffer of a delay no rule table has."""
    part = rng.choice((None, *Part))
    if part is None:
        return None
    if part is Part.INVERTER:
        return inverter(rng.choice(HOST_DIRECTIONS))
    if part is Part.BUFFER:
        return buffer(rng.choice(LEVEL_DIRECTIONS), rng.choice((*DELAYS, *DELAYS, 5)))
    return Block(part)


def random_change(rng: Random, layout: Layout) -> Layout:
    """The layout with one thing changed: most often a cell; a pin, the ground or the pitch."""
    kind = rng.random()
    if kind < 0.15 and layout.pins:
        return _moved_pin(rng, layout)
    if kind < 0.2:
        return layout.replace(ground=not layout.ground)
    if kind < 0.3 and layout.stack is not None:
        pitch = max(1, layout.stack.pitch + rng.choice((-1, 1)))
        return layout.replace(stack=Stack(layout.stack.axis, pitch))
    return layout.with_cells({rng.choice(_box(layout.size)): random_block(rng)})


def _moved_pin(rng: Random, layout: Layout) -> Layout:
    pins = list(layout.pins)
    index = rng.randrange(len(pins))
    old = pins[index]
    cell = rng.choice(_box(layout.size))
    faces = [d for d in LEVEL_DIRECTIONS if not layout.inside(d.step(cell))]
    if not faces:
        return layout
    joint = rng.choice(tuple(Joint))
    pins[index] = Pin(old.name, old.role, cell, rng.choice(faces), joint)
    return layout.replace(pins=tuple(pins))


def random_drive(rng: Random, layout: Layout, ticks: int) -> dict[str, str]:
    """A drive word an input: pulses of every length, from one tick to the whole word."""
    words = {}
    for pin in layout.inputs:
        hold = rng.choice((0.3, 0.5, 0.8))
        bit = rng.choice("01")
        word = ""
        for _ in range(rng.randint(1, ticks)):
            word += bit
            if rng.random() > hold:
                bit = "1" if bit == "0" else "0"
        words[pin.name] = word
    return words


# Strategies.


def _generators() -> st.SearchStrategy[Random]:
    return st.randoms(use_true_random=False)


def legal_layouts(
    max_size: Size = (4, 3, 4), *, stack: bool = False, ground: bool | None = None, inputs: int = 3
) -> st.SearchStrategy[Layout]:
    """Legal, lively layouts; see ``random_layout``."""
    return _generators().map(
        lambda rng: random_layout(rng, max_size, stack=stack, ground=ground, inputs=inputs)
    )


def changed_layouts(layouts: st.SearchStrategy[Layout]) -> st.SearchStrategy[Layout]:
    """Layouts of another strategy with one thing changed; many of them illegal."""
    return st.builds(random_change, _generators(), layouts)


def any_layouts(max_size: Size = (3, 3, 3)) -> st.SearchStrategy[Layout]:
    """Layouts of 1 to 6 changes, legal or not; some ask to stack."""

    def build(rng: Random) -> Layout:
        layout = random_layout(rng, max_size, stack=rng.random() < 0.3)
        for _ in range(rng.randint(1, 6)):
            layout = random_change(rng, layout)
        return layout

    return _generators().map(build)
