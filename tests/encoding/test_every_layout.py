"""Trying everything in tiny boxes: the models of the formula are exactly the right layouts.

Every legal layout is played by the simulator; those that do what is asked must be the same set as
the models of the formula, both ways. This is what makes an "impossible" believable.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import pytest

from synth.encoding import Question, encode
from synth.layout import Layout, Pin, Stack
from synth.medium import Direction, Joint, Role, Size
from synth.simulator import Settling, check, legality, settle
from synth.spec import BooleanFunction, PinDemand, Spec, StackDemand
from tests.encoding.every_layout import as_key, every_legal_layout, held, models, pin_places

WIRE_JOINTS = {"a": Joint.WIRE, "b": Joint.WIRE, "q": Joint.WIRE}
BUFFER_JOINTS = {"a": Joint.BUFFER, "b": Joint.BUFFER, "q": Joint.BUFFER}
MIXED_JOINTS = {"a": Joint.BUFFER, "b": Joint.WIRE, "q": Joint.WIRE}


@dataclass(frozen=True)
class Case:
    """A tiny box, its pins and the delays to ask about.

    ``places`` fixes the pins, name by name, as (cell, face); without it they go everywhere on
    ``faces``.
    """

    size: Size
    inputs: int
    delays: tuple[int, ...]
    joints: dict[str, Joint]
    ground: bool = False
    places: dict[str, tuple[tuple[int, int, int], str]] | None = None
    faces: set[str] = field(default_factory=lambda: {"+x", "-x", "+y", "-y"})

    def __str__(self) -> str:
        box = "x".join(map(str, self.size))
        joints = "-".join(str(self.joints[name]) for name in self.names)
        ground = "-ground" if self.ground else ""
        return f"{box}-{joints}{ground}-T{self.delays[-1]}-{'fixed' if self.places else 'free'}"

    @property
    def names(self) -> list[str]:
        return [*"ab"[: self.inputs], "q"]

    def pins(self) -> list[tuple[Pin, ...]]:
        roles = {name: Role.OUTPUT if name == "q" else Role.INPUT for name in self.names}
        if self.places is not None:
            return [
                tuple(
                    Pin(name, roles[name], cell, Direction(face), self.joints[name])
                    for name, (cell, face) in self.places.items()
                )
            ]
        return list(pin_places(self.size, roles, self.joints, self.faces))

    def spec(self, column: str) -> Spec:
        function = BooleanFunction(tuple("ab"[: self.inputs]), {"q": column})
        asks = {}
        for name in self.names:
            faces = tuple(Direction(face) for face in sorted(self.faces))
            at = None
            if self.places is not None:
                at, face = self.places[name]
                faces = (Direction(face),)
            asks[name] = PinDemand(faces, at, self.joints[name])
        return Spec(function, pins=asks, ground=self.ground)


# Of places that mirror each other one is enough. Pins on one face and on two faces of one cell are
# in the first case; pins that face away from each other in the second, the fourth and the sixth.
# Two inputs within one tick are in the third and the fifth, within two in the sixth and the eighth.
CASES = [
    Case((2, 1, 2), 1, (0, 1, 2), WIRE_JOINTS, faces={"-x", "+y"}),
    Case((2, 1, 2), 1, (1,), BUFFER_JOINTS, faces={"+x", "-x"}),
    Case((2, 1, 1), 2, (1,), MIXED_JOINTS, ground=True, faces={"+x", "-x", "+y"}),
    Case((1, 1, 3), 1, (0, 1, 2), WIRE_JOINTS, faces={"+x", "-x"}),
    Case((1, 1, 2), 2, (1,), MIXED_JOINTS, ground=True, faces={"+x", "-x", "+y"}),
    Case(
        (3, 1, 2),
        2,
        (2,),
        WIRE_JOINTS,
        places={"a": ((0, 0, 1), "-x"), "b": ((2, 0, 1), "+x"), "q": ((1, 0, 0), "+y")},
    ),
    Case(
        (3, 1, 2),
        1,
        (0, 2),
        BUFFER_JOINTS,
        places={"a": ((0, 0, 0), "-x"), "q": ((2, 0, 1), "+x")},
    ),
    Case(
        (1, 2, 3),
        2,
        (2,),
        MIXED_JOINTS,
        places={"a": ((0, 0, 0), "-x"), "b": ((0, 1, 2), "+x"), "q": ((0, 0, 2), "-y")},
    ),
    Case(
        (2, 2, 1),
        1,
        (0, 1, 2),
        WIRE_JOINTS,
        ground=True,
        places={"a": ((0, 0, 0), "-x"), "q": ((1, 1, 0), "+x")},
    ),
]


def columns(rows: int) -> list[str]:
    """Every function of so many rows."""
    return [format(number, f"0{rows}b") for number in range(1 << rows)]


def with_dont_care(rows: int) -> list[str]:
    """Columns with a don't-care; with four rows only the one that few layouts compute."""
    return ["1" * (rows - 1) + "-", *(["-0"] if rows == 2 else [])]


def settled_columns(layout: Layout, settling: Settling, delay: int) -> str | None:
    """The output's value at a tick for every assignment, or None if an input is fed back."""
    for pin in layout.inputs:
        if settling.fed_back(pin.name, delay):
            return None
    surely = settling.surely_reads("q", delay)
    possibly = settling.possibly_reads("q", delay)
    rows = 1 << len(layout.inputs)
    return "".join(
        "1" if surely >> row & 1 else "x" if possibly >> row & 1 else "0" for row in range(rows)
    )


def fits(settled: str, column: str) -> bool:
    return all(want in ("-", value) for value, want in zip(settled, column, strict=True))


@pytest.mark.parametrize("case", CASES, ids=str)
def test_the_models_are_the_right_layouts(case: Case) -> None:
    pins = case.pins()
    by_column: dict[tuple[int, str], set[object]] = defaultdict(set)
    legal = 0
    for bare in every_legal_layout(case.size, case.ground):
        for choice in pins:
            layout = bare.replace(pins=choice)
            if held(layout) or legality(layout):
                continue
            legal += 1
            settling, key = settle(layout), as_key(layout)
            for delay in case.delays:
                settled = settled_columns(layout, settling, delay)
                if settled is not None:
                    by_column[delay, settled].add(key)
    assert legal > 100
    rows = 1 << case.inputs
    for delay in case.delays:
        open_ones = with_dont_care(rows) if delay == case.delays[-1] else []
        for column in (*columns(rows), *open_ones):
            right = set().union(
                *(
                    layouts
                    for (at, settled), layouts in by_column.items()
                    if at == delay and fits(settled, column)
                )
            )
            question = Question(case.spec(column), case.size, delay, break_symmetry=False)
            found = [as_key(layout) for layout in models(encode(question))]
            assert len(found) == len(set(found))
            assert set(found) == right, (delay, column)


STACKS = [
    ((2, 2, 2), "y", 2, WIRE_JOINTS, {"a": ((0, 0, 1), "-x"), "q": ((1, 0, 0), "+x")}),
    ((2, 1, 2), "y", 2, BUFFER_JOINTS, {"a": ((0, 0, 1), "-x"), "q": ((1, 0, 0), "+x")}),
    ((2, 1, 2), "y", 1, BUFFER_JOINTS, {"a": ((0, 0, 0), "-x"), "q": ((1, 0, 1), "+x")}),
    ((1, 2, 2), "x", 1, BUFFER_JOINTS, {"a": ((0, 0, 0), "-y"), "q": ((0, 1, 1), "+y")}),
    ((2, 1, 3), "z", 3, BUFFER_JOINTS, {"a": ((0, 0, 1), "-x"), "q": ((1, 0, 0), "+x")}),
    ((2, 1, 2), "z", 2, WIRE_JOINTS, {"a": ((0, 0, 1), "-x"), "q": ((1, 0, 0), "+x")}),
]


@pytest.mark.parametrize(("size", "axis", "pitch", "joints", "places"), STACKS, ids=str)
def test_the_models_of_a_stack_are_the_layouts_that_stack(
    size: Size,
    axis: str,
    pitch: int,
    joints: dict[str, Joint],
    places: dict[str, tuple[tuple[int, int, int], str]],
) -> None:
    """Inverters and followers: every model stacks, and every layout that stacks is a model.

    The second half could fail for a layout whose copies lean on each other (see
    ``synth.encoding``); in boxes this small there is none.
    """
    pins = tuple(
        Pin(name, Role.OUTPUT if name == "q" else Role.INPUT, cell, Direction(face), joints[name])
        for name, (cell, face) in places.items()
    )
    delay = 1
    bare = every_legal_layout(size) if size != (2, 2, 2) else None
    for column in ("01", "10"):
        function = BooleanFunction(("a",), {"q": column})
        asks = {
            name: PinDemand((Direction(face),), cell, joints[name])
            for name, (cell, face) in places.items()
        }
        spec = Spec(function, pins=asks, stack=StackDemand(axis, pitch))
        encoding = encode(Question(spec, size, delay, break_symmetry=False))
        found = set()
        for layout in models(encoding, 300 if bare is None else None):
            verdict = check(layout, spec, delay=delay)
            assert verdict.passes, verdict.faults
            found.add(as_key(layout))
        if bare is None:
            assert found
            continue
        right = set()
        for layout in bare:
            stacked = layout.replace(pins=pins, stack=Stack(axis, pitch))
            if held(stacked) or legality(stacked):
                continue
            settled = settled_columns(stacked, settle(stacked), delay)
            if settled != column:
                continue
            if check(stacked, spec, delay=delay).passes:
                right.add(as_key(stacked))
        assert found == right
