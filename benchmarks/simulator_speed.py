"""How fast the simulator plays and settles: a small gate, and a large random layout.

Run from the top of the project: ``python -m benchmarks.simulator_speed``. Prints one table;
times are of one core, the best of a few runs. ``--record FILE`` keeps them.
"""

from __future__ import annotations

import argparse
import random
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from synth.layout import Layout, Pin
from synth.layout.pins import show_size
from synth.medium import (
    CLEAR,
    DEFAULT_RULES,
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
from synth.simulator import settle, trace
from synth.simulator.fabric import Fabric, fabric_of
from synth.simulator.play import after, dark, frame
from synth.simulator.settling import input_masks, play_unknown

GATE_SIZE: Size = (3, 2, 5)
LARGE_SIZE: Size = (50, 50, 20)


def random_legal(size: Size, seed: int, inputs: int) -> Layout:
    """A legal layout of parts at random, about two cells in three filled.

    Inputs stand on the -x side and one output on the +x side, in lanes two apart.
    """
    rng = random.Random(seed)
    cells: dict[Cell, Block] = {}
    for z in range(size[2]):
        for x in range(size[0]):
            for y in range(size[1]):
                block = _any_block(rng, cells.get((x, y, z - 1)))
                if block is not None:
                    cells[(x, y, z)] = block
    for cell, block in list(cells.items()):
        if block.part is not Part.INVERTER:
            continue
        hosts = [
            direction
            for direction in (*LEVEL_DIRECTIONS, Direction.NZ)
            if cells.get(direction.step(cell)) == SOLID
        ]
        if hosts:
            cells[cell] = inverter(rng.choice(hosts))
        else:
            del cells[cell]
    spots = [(lane, height) for height in range(0, size[2], 2) for lane in range(0, size[1], 2)]
    pins = [
        Pin(f"i{number}", Role.INPUT, (0, *spot), Direction.NX, Joint.WIRE)
        for number, spot in enumerate(spots[:inputs])
    ]
    pins.append(Pin("q", Role.OUTPUT, (size[0] - 1, 0, 0), Direction.PX, Joint.WIRE))
    return Layout(size, cells, tuple(pins))


def _any_block(rng: random.Random, below: Block | None) -> Block | None:
    choice = rng.random()
    if choice < 0.3:
        return SOLID
    if choice < 0.36:
        return rng.choice((CLEAR, LEDGE))
    if choice < 0.5:
        return inverter(Direction.NZ)
    if below is None or below.part not in (Part.SOLID, Part.LEDGE):
        return None
    if choice < 0.75:
        return WIRE
    return buffer(rng.choice(LEVEL_DIRECTIONS), rng.choice(DEFAULT_RULES.buffer_delays))


def settle_ticks(fabric: Fabric, inputs: int) -> int:
    """Settle to the end and return the ticks played."""
    full = (1 << (1 << inputs)) - 1
    masks = [(mask, mask) for mask in input_masks(inputs)]
    return sum(1 for _ in play_unknown(fabric, DEFAULT_RULES, full, masks))


def play_ticks(fabric: Fabric, ticks: int) -> int:
    """Play with every input switching at every third tick and return the ticks played."""
    state = dark(fabric)
    for tick in range(ticks):
        inputs = [(tick // 3 + index) % 2 for index in range(len(fabric.inputs))]
        state = after(fabric, state, frame(fabric, state, inputs, DEFAULT_RULES))
    return ticks


def best(action: Callable[[], int], runs: int) -> tuple[int, float]:
    """What the action returned and the least seconds it took."""
    fastest, result = float("inf"), 0
    for _ in range(runs):
        start = time.perf_counter()
        result = action()
        fastest = min(fastest, time.perf_counter() - start)
    return result, fastest


def main() -> None:
    """Measure, print the table, record."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rows: list[dict[str, Any]] = []

    def row(layout: str, what: str, seconds: float | None, rate: str = "", **more: int) -> None:
        took = "" if seconds is None else f"{seconds:.5f}"
        print(f"{layout:<14}{what:<36}{took:>10}  {rate}", flush=True)
        rows.append({"layout": layout, "what": what, "seconds": seconds, **more})

    print(f"{'layout':<14}{'what':<36}{'seconds':>10}  rate")
    for inputs in (2, 3):
        gate = fabric_of(random_legal(GATE_SIZE, options.seed, inputs))
        name = show_size(GATE_SIZE)
        ticks, seconds = best(partial(settle_ticks, gate, inputs), options.runs * 20)
        played = ticks * (1 << inputs)
        rate = f"{played / seconds:,.0f} assignment-ticks a second"
        row(name, f"settle, {inputs} inputs", seconds, rate, assignment_ticks=played)
        ticks, seconds = best(partial(play_ticks, gate, 200), options.runs)
        rate = f"{ticks / seconds:,.0f} assignment-ticks a second"
        row(name, f"play, {inputs} inputs", seconds, rate, assignment_ticks=ticks)

    layout = random_legal(LARGE_SIZE, options.seed, 3)
    name = show_size(LARGE_SIZE)
    parts = f"{layout.part_count:,} of {layout.volume:,} cells"
    row(name, "parts", None, parts, parts=layout.part_count)
    _, seconds = best(lambda: fabric_of(layout).fog, 1)
    row(name, "weave the fabric", seconds)
    large = fabric_of(layout)
    ticks, seconds = best(lambda: settle_ticks(large, 3), 1)
    each = f"{seconds / ticks:.4f} seconds a tick"
    row(name, f"settle, 8 assignments, {ticks} ticks", seconds, each, ticks=ticks)
    ticks, seconds = best(lambda: play_ticks(large, 20), 1)
    each = f"{seconds / ticks:.4f} seconds a tick"
    row(name, f"play {ticks} ticks", seconds, each, ticks=ticks)
    drive = {pin.name: "01" for pin in layout.inputs}
    _, seconds = best(lambda: len(trace(layout, drive, 20)["ticks"]), 1)
    row(name, "trace 20 ticks, all told", seconds)
    _, seconds = best(lambda: len(settle(layout).ticks), 1)
    row(name, "settle, all told", seconds)
    keep(options.record, solver="none", rows=rows)


if __name__ == "__main__":
    main()
