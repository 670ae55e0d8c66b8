"""Properties of play and settling on random layouts."""

from __future__ import annotations

from itertools import pairwise
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout, Pin
from synth.medium import AXES, DEFAULT_RULES, Block, Cell, Direction, Part
from synth.simulator import check, settle, trace
from synth.simulator.fabric import fabric_of
from synth.simulator.play import State, after, frame
from synth.simulator.settling import Both
from tests.reading.random_layouts import legal_layouts, random_drive


def masks(tick: Both) -> list[tuple[int, int]]:
    """Sure and possible masks of everything at one tick."""
    sure, possible = tick.sure, tick.possible
    pairs = [(sure.on, possible.on), (sure.powered, possible.powered)]
    pairs += [(sure.driven, possible.driven), (sure.charged, possible.charged)]
    return [pair for sures, possibles in pairs for pair in zip(sures, possibles, strict=True)]


@settings(max_examples=150, deadline=None)
@given(legal_layouts())
def test_what_is_known_stays_known_and_is_never_both(layout: Layout) -> None:
    ticks = settle(layout).ticks
    for tick in ticks:
        assert all(sure & ~possible == 0 for sure, possible in masks(tick))
    for earlier, later in pairwise(ticks):
        for (sure, possible), (sure_next, possible_next) in zip(
            masks(earlier), masks(later), strict=True
        ):
            assert sure & ~sure_next == 0
            assert possible_next & ~possible == 0


@settings(max_examples=150, deadline=None)
@given(legal_layouts(), st.randoms(use_true_random=False))
def test_settling_covers_every_play_from_any_state(layout: Layout, rng: Random) -> None:
    settled = settle(layout)
    fabric = fabric_of(layout)
    row = rng.randrange(1 << len(layout.inputs))
    count = len(fabric.inputs)
    inputs = [row >> (count - 1 - index) & 1 for index in range(count)]
    # A change pending at tick 0 was set before, so it is due in less than k ticks.
    state = State(
        tuple(rng.randrange(2) for _ in range(fabric.first_input)),
        tuple(rng.randrange(delay) for delay in fabric.delays),
    )
    for tick in range(len(settled.ticks) + 4):
        shown = frame(fabric, state, inputs, DEFAULT_RULES)
        both = settled.at(tick)
        for name in ("on", "powered", "driven", "charged"):
            found = getattr(shown.power, name)
            sure, possible = getattr(both.sure, name), getattr(both.possible, name)
            # The last emitter and wire stand for the fog of a row, of which there is none.
            kinds = list(zip(found, sure, possible, strict=True))
            for value, surely, possibly in kinds[:-1] if name in ("on", "powered") else kinds:
                assert (surely >> row & 1) <= value <= (possibly >> row & 1)
        state = after(fabric, state, shown)


@settings(max_examples=100, deadline=None)
@given(legal_layouts(), st.randoms(use_true_random=False))
def test_a_trace_reads_what_is_known_once_inputs_stand_still(layout: Layout, rng: Random) -> None:
    verdict = check(layout)
    if verdict.delay is None:
        return
    assert verdict.outputs is not None
    words = random_drive(rng, layout, 12)
    longest = max((len(word) for word in words.values()), default=1)
    ticks = longest + verdict.delay + 3
    document = trace(layout, words, ticks)
    row = int("".join(word[-1] for word in document["inputs"].values()) or "0", 2)
    for name, column in verdict.outputs.items():
        tail = document["outputs"][name][longest - 1 + verdict.delay :]
        assert tail == column[row] * len(tail)


def mirrored(layout: Layout, axis: int) -> Layout:
    """The mirror image along x (0) or y (1)."""
    return layout.replace(
        cells={
            flipped(layout, cell, axis): Block(block.part, facing_back(block, axis), block.delay)
            for cell, block in layout.cells.items()
        },
        pins=tuple(
            Pin(
                pin.name, pin.role, flipped(layout, pin.at, axis), turned(pin.face, axis), pin.joint
            )
            for pin in layout.pins
        ),
    )


def flipped(layout: Layout, cell: Cell, axis: int) -> Cell:
    x, y, z = (
        layout.size[place] - 1 - value if place == axis else value
        for place, value in enumerate(cell)
    )
    return (x, y, z)


def turned(way: Direction, axis: int) -> Direction:
    return way.opposite if way.axis == AXES[axis] else way


def facing_back(block: Block, axis: int) -> Direction | None:
    return None if block.facing is None else turned(block.facing, axis)


@settings(max_examples=80, deadline=None)
@given(legal_layouts(stack=True), st.sampled_from([0, 1]), st.randoms(use_true_random=False))
def test_a_mirror_image_plays_and_settles_as_the_image(
    layout: Layout, axis: int, rng: Random
) -> None:
    image = mirrored(layout, axis)
    words = random_drive(rng, layout, 12)
    played, reflected = trace(layout, words, 12), trace(image, words, 12)
    assert reflected["outputs"] == played["outputs"]
    for one, other in zip(played["ticks"], reflected["ticks"], strict=True):
        for name, entries in one.items():
            moved = [
                [*flipped(layout, (x, y, z), axis), *strength] for x, y, z, *strength in entries
            ]
            assert other[name] == sorted(moved)
    first, second = check(layout), check(image)
    assert (first.outputs, first.delay, first.fed_back, first.stacks) == (
        second.outputs,
        second.delay,
        second.fed_back,
        second.stacks,
    )


@settings(max_examples=80, deadline=None)
@given(legal_layouts(), st.randoms(use_true_random=False))
def test_clear_and_ledge_differ_only_in_what_may_rest_on_them(layout: Layout, rng: Random) -> None:
    """Section 2: swapping the two where nothing forbids it changes no trace."""
    swapped = layout.with_cells(
        {
            cell: Block(Part.LEDGE if block.part is Part.CLEAR else Part.CLEAR)
            for cell, block in layout.cells.items()
            if block.part in (Part.CLEAR, Part.LEDGE)
            and layout.cells.get(Direction.PZ.step(cell), Block(Part.SOLID)).part is not Part.BUFFER
        }
    )
    words = random_drive(rng, layout, 12)
    assert trace(swapped, words) == trace(layout, words)
