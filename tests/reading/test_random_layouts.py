"""The random layouts are what they claim to be: legal, lively, and of every kind."""

from __future__ import annotations

from collections import Counter
from random import Random

from hypothesis import given, settings

from synth.layout import Layout
from synth.medium import Joint, Part, Role
from tests.reading.plain import illegalities, play, stand, verdict
from tests.reading.random_layouts import (
    any_layouts,
    changed_layouts,
    legal_layouts,
    random_change,
    random_drive,
    random_layout,
)

TICKS = 16


@settings(max_examples=100)
@given(legal_layouts())
def test_legal_layouts_are_legal(layout: Layout) -> None:
    assert illegalities(layout) == []
    assert layout.outputs
    assert layout.stack is None


@settings(max_examples=100)
@given(legal_layouts(stack=True))
def test_stacking_layouts_are_legal_and_ask_to_stack(layout: Layout) -> None:
    assert illegalities(layout) == []
    assert layout.stack is not None
    assert layout.stack.pitch >= layout.size["xyz".index(layout.stack.axis)]


@settings(max_examples=50)
@given(changed_layouts(legal_layouts()))
def test_changed_layouts_can_be_judged(layout: Layout) -> None:
    found = verdict(layout)
    assert found.legal == (found.outputs is not None) == (not illegalities(layout))


def test_the_same_seed_gives_the_same_layout() -> None:
    assert random_layout(Random(3)) == random_layout(Random(3))


def test_every_kind_of_layout_comes() -> None:
    seen: Counter[str] = Counter()
    for seed in range(400):
        layout = random_layout(Random(seed), stack=seed % 2 == 1)
        world = stand(layout)
        for block in layout.cells.values():
            seen[str(block)] += 1
        for pin in layout.pins:
            seen[f"{pin.role} {pin.joint} {pin.face}"] += 1
        at = Counter(pin.at for pin in layout.pins)
        seen["two pins on a cell"] += max(at.values()) > 1
        seen[f"ground {layout.ground}"] += 1
        if layout.stack is not None:
            size = layout.size["xyz".index(layout.stack.axis)]
            seen[f"stack {layout.stack.axis} +{layout.stack.pitch - size}"] += 1
        held = [cell for cell in world.of(Part.BUFFER) if world.holders[cell]]
        seen["held"] += bool(held)
        seen["held by an input"] += any(
            holder in world.inputs.values() for cell in held for holder in world.holders[cell]
        )
    kinds = ["solid", "clear", "ledge", "wire", "held", "held by an input", "two pins on a cell"]
    kinds += [f"inverter on {on}" for on in ("+x", "-x", "+y", "-y", "-z")]
    level = ("+x", "-x", "+y", "-y")
    kinds += [f"buffer to {to}, delay {delay}" for to in level for delay in (1, 2, 3, 4)]
    kinds += [f"{role} {joint} {face}" for role in Role for joint in Joint for face in level]
    kinds += [f"stack {axis} +{more}" for axis in "xyz" for more in (0, 1, 2)]
    kinds += ["ground True", "ground False"]
    assert [kind for kind in kinds if not seen[kind]] == []


def test_layouts_are_lively() -> None:
    """Shares measured on these seeds are well above the bounds; a dull generator falls below."""
    moves = depends = unknown = fed_back = 0
    for seed in range(200):
        rng = Random(seed)
        layout = random_layout(rng, (4, 3, 4))
        played = play(layout, random_drive(rng, layout, TICKS), TICKS)
        found = verdict(layout)
        assert found.outputs is not None
        moves += any(len(set(word)) > 1 for word in played["outputs"].values())
        depends += any({"0", "1"} <= set(column) for column in found.outputs.values())
        unknown += any("x" in column for column in found.outputs.values())
        fed_back += bool(found.fed_back)
    assert moves > 80
    assert depends > 40
    assert unknown > 2
    assert fed_back > 30


def test_changes_make_layouts_illegal_in_every_way() -> None:
    rules: Counter[str] = Counter()
    for seed in range(400):
        rng = Random(seed)
        layout = random_change(rng, random_layout(rng, (3, 3, 3)))
        rules.update({str(rule) for rule, _ in illegalities(layout)} or {"legal"})
    wanted = {"legal", "support", "host", "buffer-delay", "pin-spacing"}
    assert wanted <= set(rules)


@settings(max_examples=50)
@given(any_layouts())
def test_any_layouts_can_be_judged(layout: Layout) -> None:
    found = verdict(layout, copies=2)
    assert found.legal == (not illegalities(layout))
