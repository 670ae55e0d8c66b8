"""Which part a line of a list means, by the names of the builder's own world."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from synth import fields
from synth.errors import InputError
from synth.exports.lines import Names
from synth.medium import HOST_DIRECTIONS, LEVEL_DIRECTIONS, Block, Cell, Direction, Part
from synth.medium_document import MAX_BUFFER_DELAY
from synth.words import listed


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of a list: which it is, its cell, and what it says of the part.

    Attributes:
        place: where it stands, for messages.
        cell: in the builder's world.
        part, orientation: as the builder calls them; None where the list does not say.
        delay: as text; None or empty where the list does not say.
    """

    place: str
    cell: Cell
    part: str
    orientation: str | None
    delay: str | None


class Blocks:
    """Which part an entry means.

    Args:
        names: what the builder's world calls things.
    """

    def __init__(self, names: Names) -> None:
        self.guessed = 0
        self._names = names
        self._known: dict[tuple[str, str], list[tuple[Block, bool]]] = {}
        for block, exact in blocks_named(names):
            key = (names.part(block), names.orientation(block.facing))
            self._known.setdefault(key, []).append((block, exact))
        self._by_name: dict[str, list[tuple[Block, bool]]] = {}
        for (part, _), found in self._known.items():
            self._by_name.setdefault(part, []).extend(found)

    def block(self, entry: Entry) -> Block:
        """The block of an entry.

        Raises:
            InputError: if it names none, or may be several.
        """
        if entry.part not in self._by_name:
            raise InputError(
                f"no part {fields.shown(entry.part)}",
                place=entry.place,
                way_out=fields.suggestion(entry.part, sorted(self._by_name), "the parts are"),
            )
        meant = self._by_name[entry.part]
        if entry.orientation is not None:
            meant = self._known.get((entry.part, entry.orientation), [])
            if not meant:
                ways = sorted({way for part, way in self._known if part == entry.part})
                raise InputError(
                    f"no {fields.shown(entry.part)} has the orientation "
                    f"{fields.shown(entry.orientation)}",
                    place=entry.place,
                    way_out=f"use {listed([repr(way) for way in ways], 'or')}",
                )
        blocks = self._with_delay(entry, meant)
        if len(blocks) != 1:
            raise InputError(
                f"{fields.shown(entry.part)} may be {listed(sorted(map(str, blocks)), 'or')}",
                place=entry.place,
                way_out="put {orientation} and {delay} into the lines, or give each of them a name "
                "of its own in a file of --names",
            )
        return blocks.pop()

    def _with_delay(self, entry: Entry, meant: list[tuple[Block, bool]]) -> set[Block]:
        """The blocks meant, with the delay that the entry says; the least where it says none."""
        if entry.delay in (None, "", "0"):
            found = {block for block, _ in meant}
            kinds = {(block.part, block.facing) for block in found}
            open_ones = [block for block, exact in meant if block.delay and not exact]
            if len(kinds) == 1 and open_ones:
                self.guessed += 1
                return {open_ones[0]}
            return found
        assert entry.delay is not None
        if not entry.delay.isdecimal() or not 1 <= int(entry.delay[:4]) <= MAX_BUFFER_DELAY:
            raise InputError(
                f"{fields.shown(entry.delay)} is no delay of a buffer",
                place=entry.place,
                way_out=f"use 1 to {MAX_BUFFER_DELAY} ticks of a buffer, none for other parts",
            )
        delay = int(entry.delay)
        buffers = {
            Block(block.part, block.facing, delay)
            for block, exact in meant
            if block.delay and (not exact or block.delay == delay)
        }
        if not buffers:
            raise InputError(
                f"{fields.shown(entry.part)} with a delay of {delay}",
                place=entry.place,
                way_out="only buffers have a delay, and those that a file of --names names by "
                "their delay have that",
            )
        return buffers


def blocks_named(names: Names) -> Iterator[tuple[Block, bool]]:
    """Every block by which a name may be meant, and whether its delay is part of the name."""
    for part in Part:
        if part not in (Part.INVERTER, Part.BUFFER):
            yield Block(part), False
    for way in HOST_DIRECTIONS:
        yield Block(Part.INVERTER, way), False
    for way in LEVEL_DIRECTIONS:
        named = _named_delays(names, way)
        yield from ((Block(Part.BUFFER, way, delay), True) for delay in sorted(named))
        rest = (delay for delay in range(1, MAX_BUFFER_DELAY + 1) if delay not in named)
        # One that stands for all whose delay is not part of the name.
        yield from ((Block(Part.BUFFER, way, delay), False) for delay in (next(rest),))


def _named_delays(names: Names, way: Direction) -> set[int]:
    """The delays that have names of their own."""
    keys = (key.removeprefix(f"buffer {way} ") for key in names.parts)
    return {int(key) for key in keys if key.isdecimal() and 1 <= int(key[:4]) <= MAX_BUFFER_DELAY}
