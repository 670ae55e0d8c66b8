"""What the desk plays is the simulator's play, whatever the design is short of."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from synth.desk.player import MOST_KEPT, Player
from synth.desk.scene import scene_of
from synth.layout import Layout
from synth.medium import SOLID, WIRE, Part
from synth.simulator import trace
from synth.simulator.legality import legality
from tests.layout.strategies import layouts
from tests.simulator.build import box, hung
from tests.stored import stored_layout
from tests.views.layouts import INVERTER_CHAIN

XOR = stored_layout("xor2")


def test_switches_give_the_trace_of_the_simulator() -> None:
    player = Player.of(XOR)
    first = len(player.ticks)
    player.switch(first - 1, {"a": 1})
    second = len(player.ticks)
    player.switch(second - 1, {"b": 1})
    ticks = len(player.ticks)
    words = {
        "a": "0" * first + "1" * (ticks - first),
        "b": "0" * second + "1" * (ticks - second),
    }
    told = trace(XOR, words, ticks)
    for name in ("q",):
        played = "".join(str(player.outputs(tick)[name]) for tick in range(ticks))
        assert played == told["outputs"][name]
    for tick, shown in enumerate(told["ticks"]):
        values = player.values(tick)
        for x, y, z, strength in shown["wires"]:
            assert values[x, y, z] == strength
        assert {
            cell for cell, value in values.items()
            if value and cell in XOR.cells and XOR.cells[cell].part is not Part.WIRE
        } == {tuple(cell) for key in ("charged", "on") for cell in shown[key]}  # fmt: skip


@given(layouts())
def test_any_layout_is_played_without_what_breaks_a_rule(layout: Layout) -> None:
    player = Player.of(layout)
    assert not legality(player.layout)
    for cell, block in layout.cells.items():
        assert player.layout.cells.get(cell) == (None if cell in player.left_out else block)
    assert {cell for cell in player.left_out if layout.inside(cell)} <= {
        *(fault.at for fault in legality(layout)),
        *(pin.outside for pin in layout.pins),
    }
    data = scene_of(layout, player, player.faults)
    assert {len(looks) for _, _, looks in data["play"]["ticks"]} == {len(data["play"]["live"])}
    assert len(data["symbols"]) == len(data["cells"])


@given(st.sampled_from(sorted(XOR.cells)), st.booleans(), st.booleans())
def test_after_an_edit_the_rest_keeps_its_power(
    cell: tuple[int, int, int], a: bool, b: bool
) -> None:
    before = Player.of(XOR, inputs={"a": int(a), "b": int(b)})
    after = Player.of(XOR.with_cells({cell: None}), before=before)
    assert after.switches() == before.switches()
    # The first tick shown is that of the edit: what stayed still puts out what it did.
    devices = (*after.fabric.inverters, *after.fabric.buffers)
    old = before.values(-1)
    for number, device in enumerate(devices):
        assert after.ticks[0].state.on[number] == old[device]
    # Put back, it is at rest as it was.
    again = Player.of(XOR, before=after)
    assert again.at_rest
    assert again.outputs(-1) == before.outputs(-1)


def test_why_names_a_cause_and_what_is_left_out_has_none() -> None:
    player = Player.of(XOR)
    cell = next(cell for cell, block in XOR.cells.items() if block.part is Part.INVERTER)
    found = player.why(cell, len(player.ticks) - 1)
    assert found is not None
    assert "host" in found.why
    illegal = Player.of(INVERTER_CHAIN.with_cells({(0, 0, 0): None}))
    assert (0, 0, 1) in illegal.left_out
    assert illegal.why((0, 0, 1), 0) is None


def test_a_ring_is_played_on_and_never_at_rest() -> None:
    ring = box(
        (2, 1, 2), {(0, 0, 0): SOLID, (0, 0, 1): WIRE, (1, 0, 0): hung("-x"), (1, 0, 1): SOLID}
    )
    player = Player.of(ring)
    assert not player.at_rest
    before = len(player.ticks)
    player.run(3)
    assert len(player.ticks) == before + 3
    told = [player.values(tick)[1, 0, 0] for tick in range(before)]
    assert told == [index % 2 for index in range(before)]
    for _ in range(20):
        player.run(64)
    assert len(player.ticks) == MOST_KEPT
