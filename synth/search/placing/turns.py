"""Who places next, and for how long: ways in turns, rounds of tries."""

from __future__ import annotations

import time
from collections.abc import Generator, Iterator, Sequence
from typing import NamedTuple

from synth.layout import Layout

Tries = Generator[None, None, Layout | None]
"""One ``None`` after each question to a solver; returns what was placed, or None."""


class Way(NamedTuple):
    """One of several ways to place the same.

    Attributes:
        tries: a layout when one is found, None after each question without one.
        share: how many times the time of a way with a share of 1 it has.
        after_s: it waits until the others have had as many seconds of the processor for each share.
    """

    tries: Iterator[Layout | None]
    share: int = 1
    after_s: float = 0.0


def in_turns(ways: Sequence[Way]) -> Iterator[Layout | None]:
    """What several ways yield, that first which has had the least processor time for its share."""
    used = {number: way.after_s for number, way in enumerate(ways)}
    while used:
        number = min(used, key=lambda one: used[one])
        began = time.process_time()
        try:
            found = next(ways[number].tries)
        except StopIteration:
            del used[number]
            continue
        used[number] += (time.process_time() - began) / ways[number].share
        yield found


def counted(tries: Tries) -> Generator[None, None, tuple[Layout | None, int]]:
    """What tries return, and how many questions they asked."""
    asked = 0
    while True:
        try:
            next(tries)
        except StopIteration as end:
            return end.value, asked
        asked += 1
        yield


def found_within(tries: Iterator[Layout | None], seconds: float, deadline: float) -> Layout | None:
    """The first layout of some tries, or None if they are over or the time is up.

    Args:
        tries: a layout when one is found, None after each piece of work without one.
        seconds: of the processor.
        deadline: on the monotonic clock.
    """
    until = time.process_time() + seconds
    while time.process_time() < until and time.monotonic() < deadline:
        try:
            found = next(tries)
        except StopIteration:
            return None
        if found is not None:
            return found
    return None


def share_of_round(number: int) -> int:
    """How many times the least share a round has, from 1 on: 1 1 2 1 1 2 4 1 1 2 ...

    Where nobody knows how long a try that depends on chance takes, no fixed order of shares loses
    less (M. Luby, A. Sinclair, D. Zuckerman, Optimal Speedup of Las Vegas Algorithms, 1993; from
    memory).
    """
    power = number.bit_length()
    if number == (1 << power) - 1:
        return 1 << (power - 1)
    return share_of_round(number - (1 << (power - 1)) + 1)
