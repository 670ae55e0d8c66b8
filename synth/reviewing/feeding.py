"""Backwards along links: what can power a wire, and where its power comes from."""

from __future__ import annotations

from collections.abc import Iterator

from synth.simulator.fabric import Fabric


def backwards(fabric: Fabric, wire: int) -> Iterator[int]:
    """A wire and those whose strength can reach it over links, the nearest first.

    Without loss, as what is possibly on is played (section 5).
    """
    givers: list[list[int]] = [[] for _ in fabric.wires]
    for giver, receivers in enumerate(fabric.receivers[: len(fabric.wires)]):
        for receiver in receivers:
            givers[receiver].append(giver)
    seen = {wire: None}
    front = [wire]
    while front:
        yield from front
        ahead = dict.fromkeys(giver for one in front for giver in givers[one])
        front = [giver for giver in ahead if giver not in seen]
        seen.update(dict.fromkeys(front))


def feeders(fabric: Fabric, wire: int) -> list[int]:
    """Numbers of the emitters that can power a wire, the nearest first."""
    found: dict[int, None] = {}
    for one in backwards(fabric, wire):
        found.update(dict.fromkeys(fabric.sources[one]))
    return list(found)
