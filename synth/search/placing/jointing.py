"""Slices of chains given the joints that are asked, pin by pin.

Slices are placed, and kept for rows (``synth.composing.kept_slices``), with buffer joints: with
wire joints no full adder slice was placed within 100 seconds. But one that is right with a buffer
in front of a pin needs little to be right with a wire there: mostly a buffer, or a way around it,
within a few cells of the pin. So one pin after the other gets its joint: the cells around it are
asked anew for the same function, all others stay, and the box may grow by a layer or a column.
With all pins at once no such question was answered (15 for the full adder slice, 30,000 conflicts
each). Like everything in this room it proves nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from itertools import product

from synth.encoding import Question
from synth.encoding.choices import slots_of
from synth.encoding.geometry import Geometry, Slot
from synth.encoding.windows import Window
from synth.layout import Layout, Pin
from synth.medium import LEDGE, Cell, Direction, Joint, Role, Size, buffer, shifted
from synth.questions.problem import Problem
from synth.search.placing.behind import is_right
from synth.search.placing.turns import Tries
from synth.search.placing.windowed import asked_window
from synth.simulator import check
from synth.spec import Limits, PinDemand, Spec

RADII = (0, 1, 2, 3, 4)
"""How far from a pin cells are asked anew: so many steps along the length and up, in all."""

MOST_FREE = 44
"""Most cells that are asked anew at once: more were seldom decided."""

MOST_LAYERS = 2
"""Most layers or columns by which the box grows for one pin."""

MOST_QUESTIONS = 120
"""Most questions about one pin."""

CONFLICTS = 20_000
"""The conflicts of one question: some seconds for the most cells there are."""


def by_buffers(problem: Problem) -> Problem | None:
    """The problem of a chain with buffers for all joints; None if it is no chain or has them."""
    spec = problem.spec
    if not spec.chain or all(spec.joint(name) is Joint.BUFFER for name in _own(spec)):
        return None
    return replace(problem, spec=_with_joints(spec, dict.fromkeys(_own(spec), Joint.BUFFER)))


def jointed(layout: Layout, problem: Problem, own: Limits, fits: Callable[[Size], bool]) -> Tries:
    """One None after each question; returns a layout with the joints that are asked, or None.

    Args:
        layout: right but for its joints.
        problem: what is asked.
        own: the limits that the user gave.
        fits: whether a box is of use.
    """
    # Windows know no delay of links: what comes of them is judged by what the user gave.
    spec = problem.spec.replace(limits=replace(problem.limits, link_delay=None))
    while True:
        joints = {pin.name: pin.joint for pin in layout.pins if pin.name in _own(spec)}
        wrong = [pin for pin in layout.pins if _is_wrong(pin, joints, spec)]
        if not wrong:
            return layout if is_right(layout, problem, own) else None
        # Outputs first: most of them need nothing.
        pin = min(wrong, key=lambda one: one.role is Role.INPUT)
        mixed = _with_joints(spec, joints | {pin.name: spec.joint(pin.name)})
        found = yield from _joined(layout, pin, replace(problem, spec=mixed), own, fits)
        if found is None:
            return None
        layout = found


def _is_wrong(pin: Pin, joints: Mapping[str, Joint], spec: Spec) -> bool:
    return pin.name in joints and pin.joint is not spec.joint(pin.name)


def _own(spec: Spec) -> list[str]:
    """The pins that are of no link: a link's joint is always a buffer."""
    return [name for name in spec.pin_names if not spec.linked(name)]


def _with_joints(spec: Spec, joints: Mapping[str, Joint]) -> Spec:
    """A specification with other joints of some pins."""
    given = {
        name: replace(spec.pins.get(name, PinDemand()), joint=joint)
        for name, joint in joints.items()
    }
    return spec.replace(pins={**spec.pins, **given})


def _joined(
    layout: Layout, pin: Pin, problem: Problem, own: Limits, fits: Callable[[Size], bool]
) -> Tries:
    """The layout with the joint of one pin as the problem has it, or None."""
    spec, delay = problem.spec, problem.limits.delay or 0
    rooms = [room for room in rooms_for(layout, spec) if fits(room.layout.size)]
    windows = {
        (window.size, window.free): window
        for room, radius in product(rooms, RADII)
        if (window := room.window(pin.name, radius, problem)) is not None
    }
    # What is decided soonest first: shrinking takes out what the box has too much.
    order = sorted(windows, key=lambda key: (len(key[1]), math.prod(key[0])))
    for key in order[:MOST_QUESTIONS]:
        found = asked_window(windows[key], CONFLICTS)
        yield
        if isinstance(found, Layout):
            judged = spec.replace(limits=own)
            if check(found, judged, delay=own.delay or delay, rules=problem.rules).passes:
                return found
    return None


@dataclass(frozen=True)
class Room:
    """A layout in a box that may be larger than its own.

    Attributes:
        layout: as right as it was.
        added: the cells that are new, but for those of the buffers of links.
    """

    layout: Layout
    added: frozenset[Cell]

    def window(self, name: str, radius: int, problem: Problem) -> Window | None:
        """The question about the cells around a pin; None if they are too many or it has no place.

        All other pins stay.
        """
        layout, spec, delay = self.layout, problem.spec, problem.limits.delay or 0
        question = Question(spec, layout.size, delay, rules=problem.rules)
        x, _, z = next(pin.at for pin in layout.pins if pin.name == name)
        near = (
            cell
            for cell in question.geometry.cells
            if abs(cell[0] - x) + abs(cell[2] - z) <= radius
        )
        free = self.added.union(near)
        slots = slots_of(question)
        pins: dict[str, tuple[Slot, ...]] = {
            pin.name: (Slot(pin.at, pin.face),) for pin in layout.pins
        }
        pins[name] = tuple(slot for slot in slots[name] if slot.cell in free)
        if len(free) > MOST_FREE or not pins[name]:
            return None
        fixed = {cell: block for cell, block in layout.cells.items() if cell not in free}
        return Window(spec, layout.size, delay, fixed, free, pins, rules=problem.rules)

    def longer(self, way: Direction, links: Collection[str]) -> Room | None:
        """With one more layer or column of cells on a side; None if a link cannot pass it.

        A link passes it by a buffer on a ledge.

        Args:
            way: the side.
            links: the names of the pins of links.
        """
        layout = self.layout
        axis, ahead = "xyz".index(way.axis), sum(way.vector) > 0
        size = [*layout.size]
        size[axis] += 1
        box: Size = (size[0], size[1], size[2])
        offset = (0, 0, 0) if ahead else way.opposite.vector
        place = size[axis] - 1 if ahead else 0
        cells = {shifted(cell, offset): block for cell, block in layout.cells.items()}
        pins, given = [], set()
        for pin in layout.pins:
            at, face = shifted(pin.at, offset), pin.face
            if pin.face is way and pin.name in links:
                at = way.step(at)
                below = Direction.NZ.step(at)
                if below[2] < 0 and not layout.ground:
                    return None
                cells[at] = buffer(way if ahead else way.opposite, 1)
                given.add(at)
                if below[2] >= 0:
                    cells[below] = LEDGE
                    given.add(below)
            elif pin.face is way:
                if layout.size[axis] > 1:
                    return None  # Its face would no longer be at the side.
                face = way.opposite
            pins.append(replace(pin, at=at, face=face))
        stack = layout.stack
        if stack is not None and stack.axis == way.axis:
            stack = replace(stack, pitch=size[axis])
        added = {cell for cell in Geometry(box).cells if cell[axis] == place} - given
        return Room(
            layout.replace(size=box, cells=cells, pins=tuple(pins), stack=stack, made_for=None),
            frozenset(shifted(cell, offset) for cell in self.added) | added,
        )


def rooms_for(layout: Layout, spec: Spec) -> list[Room]:
    """The box as it is, and with up to two layers or columns more on its sides."""
    links = [name for name in spec.pin_names if spec.linked(name)]
    rooms = [[Room(layout, frozenset())]]
    for _ in range(MOST_LAYERS):
        longer = (
            room.longer(way, links)
            for room, way in product(rooms[-1], Direction)
            if way is not Direction.NZ or not layout.ground
        )
        rooms.append([room for room in longer if room is not None])
    return [room for same in rooms for room in same]
