"""Seams to cut along: straight ones, ones with a jog, and ones that wander where little breaks."""

from __future__ import annotations

import random

import numpy as np
import numpy.typing as npt

from synth.medium import Block, Part
from synth.shrinking.draft import Draft, Line, Seam, line_hurts, lines_of, parted, sheared

FARTHEST_JOG = 3
"""The largest distance, in cells, between the two halves of a seam with a jog."""

SWEEPS = 3
"""How often each line of a wandering seam may move."""

STRAY = 3
"""How far, in cells, a wandering seam may go from where it began."""

_LINE_COST = 3.0
"""What a line that breaks costs; two lines that meet anew cost one."""

_PARTED_COST = 2.0
"""What two lines cost that no longer meet where their parts may have to do with each other."""

_STRAIGHT = 0.2
"""What a step aside costs that breaks nothing."""

_ELSEWHERE = 1.0
"""What it costs a seam of least cost, for each cell, to pass by a place drawn for it."""


def straight(draft: Draft, axis: int, at: int) -> Seam:
    """A whole slice."""
    return dict.fromkeys(lines_of(draft.size, axis), at)


def jogged(draft: Draft, axis: int, generator: random.Random) -> Seam:
    """Two halves of slices that lie a few cells apart."""
    length = draft.size[axis]
    first = generator.randrange(length)
    far = generator.choice([d for d in range(-FARTHEST_JOG, FARTHEST_JOG + 1) if d])
    second = min(length - 1, max(0, first + far))
    lines = lines_of(draft.size, axis)
    across = generator.randrange(2)
    sides = sorted({line[across] for line in lines})
    border = generator.choice(sides)
    return {line: first if line[across] < border else second for line in lines}


def wandering(draft: Draft, axis: int, generator: random.Random) -> Seam:
    """A seam that starts straight and moves, line by line, to where less is broken."""
    length = draft.size[axis]
    start = generator.randrange(length)
    lines = lines_of(draft.size, axis)
    seam = dict.fromkeys(lines, start)
    places = [at for at in range(start - STRAY, start + STRAY + 1) if 0 <= at < length]
    for _ in range(SWEEPS):
        generator.shuffle(lines)
        for line in lines:
            costs = [(_cost(draft, axis, seam, line, at) + generator.random(), at) for at in places]
            seam[line] = min(costs)[1]
    return seam


def least(draft: Draft, axis: int, generator: random.Random) -> Seam:
    """The seam that breaks least of all that run straight one way across and jog along the other.

    By dynamic programming, as a path of least cost through a picture; chance adds a little to every
    cost and draws a place to pass by, so that seams differ. Which of the two ways it may jog along
    is drawn, the longer one more often: then what runs straight across is short.
    """
    others = [other for other in range(3) if other != axis]
    across = generator.choices((0, 1), weights=[draft.size[other] for other in others])[0]
    order = (others[across], axis, others[1 - across])
    held, codes, kinds = _pictures(draft, order)
    chance = np.random.default_rng(generator.randrange(1 << 32))
    rows, length, _ = held.shape
    costs = _LINE_COST * _hurt_lines(codes, kinds == _INVERTER) + chance.random((rows, length))
    place = generator.randrange(length)
    costs[generator.randrange(rows)] += _ELSEWHERE * np.abs(np.arange(length) - place)
    # Lines meet anew in front of the jog: the cells of the one that loses its cell first, moved.
    later = np.zeros((rows, length + 1))
    sooner = np.zeros((rows, length + 1))
    later[1:, 1:-1] = np.cumsum((held[:-1, 1:] & held[1:, :-1]).sum(axis=2), axis=1)
    sooner[1:, 1:-1] = np.cumsum((held[1:, 1:] & held[:-1, :-1]).sum(axis=2), axis=1)
    later[:, -1], sooner[:, -1] = later[:, -2], sooner[:, -2]
    apart = np.zeros((rows, length + 1))
    apart[1:, 1:] = np.cumsum(_joined(kinds, upright=order[0] == 2).sum(axis=2), axis=1)
    apart *= _PARTED_COST
    totals = costs[0]
    ways = []
    for row in range(1, rows):
        best = totals.copy()
        way = np.arange(length)
        for jog in range(1, min(FARTHEST_JOG, length - 1) + 1):
            low, high = np.arange(length - jog), np.arange(jog, length)
            met = apart[row, high] - apart[row, low + 1] + _STRAIGHT * jog
            up = totals[low] + (later[row, high] - later[row, low]) + met
            better = up < best[high]
            best[high] = np.where(better, up, best[high])
            way[high] = np.where(better, low, way[high])
            down = totals[high] + (sooner[row, high] - sooner[row, low]) + met
            better = down < best[low]
            best[low] = np.where(better, down, best[low])
            way[low] = np.where(better, high, way[low])
        totals = best + costs[row]
        ways.append(way)
    path = [int(np.argmin(totals))]
    for way in reversed(ways):
        path.append(int(way[path[-1]]))
    path.reverse()
    return {line: path[line[across]] for line in lines_of(draft.size, axis)}


Picture = npt.NDArray[np.bool_]
"""Whether something holds of a cell: by row, place along the axis, and line of the row."""

Numbers = npt.NDArray[np.int64]
"""A number for each cell in the same order."""

_SOLID, _ACTIVE, _INVERTER = 2, 3, 4
"""Kinds of parts as numbers, those that carry others only being 1; ``draft.joined`` is about them.
"""

_KIND = {
    Part.CLEAR: 1,
    Part.LEDGE: 1,
    Part.SOLID: _SOLID,
    Part.WIRE: _ACTIVE,
    Part.BUFFER: _ACTIVE,
    Part.INVERTER: _INVERTER,
}


def _pictures(draft: Draft, order: tuple[int, int, int]) -> tuple[Picture, Numbers, Numbers]:
    """What cells hold anything; a number for each block, 0 for none; the kinds of parts."""
    shape = tuple(draft.size[axis] for axis in order)
    codes = np.zeros(shape, dtype=np.int64)
    kinds = np.zeros(shape, dtype=np.int64)
    numbers: dict[Block, int] = {}
    for cell, block in draft.cells.items():
        place = (cell[order[0]], cell[order[1]], cell[order[2]])
        codes[place] = numbers.setdefault(block, len(numbers) + 1)
        kinds[place] = _KIND[block.part]
    return codes > 0, codes, kinds


def _joined(kinds: Numbers, *, upright: bool) -> Picture:
    """For each row but the first, place and line: whether it is joined to the one before."""
    one, other = kinds[:-1], kinds[1:]
    active = (one >= _ACTIVE) | (other >= _ACTIVE)
    least_kind = 1 if upright else _SOLID
    return active & (one >= least_kind) & (other >= least_kind)


def _hurt_lines(codes: Numbers, hanging: Picture) -> Numbers:
    """For each row and place the lines that break there (``line_hurts``)."""
    before, after = np.zeros_like(codes), np.zeros_like(codes)
    before[:, 1:], after[:, :-1] = codes[:, :-1], codes[:, 1:]
    between = (codes == 0) & (before > 0) & (after > 0)
    unlike = (codes > 0) & (codes != before) & (codes != after)
    counted: Numbers = (between | unlike | hanging).sum(axis=2)
    return counted


def _cost(draft: Draft, axis: int, seam: Seam, line: Line, at: int) -> float:
    """How much is broken around one line if it loses that cell."""
    cost = _LINE_COST if line_hurts(draft.cells, axis, line, at) else 0.0
    a, b = line
    for other in ((a + 1, b), (a - 1, b), (a, b + 1), (a, b - 1)):
        if other in seam:
            ends = ((line, at), (other, seam[other]))
            cost += len(sheared(draft.cells, axis, *ends))
            cost += _PARTED_COST * len(parted(draft.cells, axis, *ends))
            cost += _STRAIGHT * abs(at - seam[other])
    return cost
