"""Seams to cut along: straight ones, ones with a jog, and ones that wander where little breaks."""

from __future__ import annotations

import random

from synth.shrinking.draft import Draft, Line, Seam, line_hurts, lines_of, sheared

FARTHEST_JOG = 3
"""The largest distance, in cells, between the two halves of a seam with a jog."""

SWEEPS = 3
"""How often each line of a wandering seam may move."""

STRAY = 3
"""How far, in cells, a wandering seam may go from where it began."""

_LINE_COST = 3.0
"""What a line that breaks costs; two lines that meet anew cost one."""

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
    cost and leaves some rows of lines no choice, so that seams differ. Which of the two ways it may
    jog along is drawn, longer ones more often: then a row of lines across is short.
    """
    lines = lines_of(draft.size, axis)
    spans = [1 + max(line[across] for line in lines) for across in range(2)]
    across = generator.choices((0, 1), weights=spans)[0]
    rows = [[line for line in lines if line[across] == at] for at in range(spans[across])]
    length = draft.size[axis]
    costs = [
        [
            _LINE_COST * sum(line_hurts(draft.cells, axis, line, at) for line in row)
            + generator.random()
            for at in range(length)
        ]
        for row in rows
    ]
    fixed = generator.randrange(len(rows))
    meant = generator.randrange(length)
    costs[fixed] = [cost + _ELSEWHERE * abs(at - meant) for at, cost in enumerate(costs[fixed])]
    totals, ways = costs[0], []
    for before, row, own in zip(rows, rows[1:], costs[1:], strict=False):
        reached, way = [], []
        for at in range(length):
            found = min(
                (totals[place] + _jog_cost(draft, axis, (before, place), (row, at)), place)
                for place in range(max(0, at - FARTHEST_JOG), min(length, at + FARTHEST_JOG + 1))
            )
            reached.append(found[0] + own[at])
            way.append(found[1])
        totals = reached
        ways.append(way)
    at = min(range(length), key=totals.__getitem__)
    seam = dict.fromkeys(rows[-1], at)
    for row, way in zip(reversed(rows[:-1]), reversed(ways), strict=True):
        at = way[at]
        seam |= dict.fromkeys(row, at)
    return seam


def _jog_cost(
    draft: Draft, axis: int, one: tuple[list[Line], int], other: tuple[list[Line], int]
) -> float:
    """How much is broken between two rows of lines that lose cells at two places."""
    (before, place), (row, at) = one, other
    if place == at:
        return 0.0
    met = sum(
        len(sheared(draft.cells, axis, (line, place), (beside, at)))
        for line, beside in zip(before, row, strict=True)
    )
    return met + _STRAIGHT * abs(place - at)


def _cost(draft: Draft, axis: int, seam: Seam, line: Line, at: int) -> float:
    """How much is broken around one line if it loses that cell."""
    cost = _LINE_COST if line_hurts(draft.cells, axis, line, at) else 0.0
    a, b = line
    for other in ((a + 1, b), (a - 1, b), (a, b + 1), (a, b - 1)):
        if other in seam:
            cost += len(sheared(draft.cells, axis, (line, at), (other, seam[other])))
            cost += _STRAIGHT * abs(at - seam[other])
    return cost
