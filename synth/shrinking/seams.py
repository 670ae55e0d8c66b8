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


def _cost(draft: Draft, axis: int, seam: Seam, line: Line, at: int) -> float:
    """How much is broken around one line if it loses that cell."""
    cost = 3.0 if line_hurts(draft.cells, axis, line, at) else 0.0
    a, b = line
    for other in ((a + 1, b), (a - 1, b), (a, b + 1), (a, b - 1)):
        if other in seam:
            cost += len(sheared(draft.cells, axis, (line, at), (other, seam[other])))
            cost += 0.2 * abs(at - seam[other])
    return cost
