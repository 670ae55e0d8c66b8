"""What fits: of each function that a store has a layout of, the smallest that a box holds."""

from __future__ import annotations

from synth.library.entry import Entry, Query
from synth.library.store import Store
from synth.medium import Size


def fitting(store: Store, size: Size, query: Query) -> list[Entry]:
    """The smallest layout of each function that fits a box, by volume, parts and delay.

    A layout that does not stack along x or y may be turned by a quarter. Whatever joints it has and
    however it stacks, a function counts once: who needs others asks for them by the query.

    Args:
        store: the store.
        size: the box, in cells.
        query: what else an entry has to be.
    """
    best: dict[str, Entry] = {}
    for entry in store.entries(query):
        key = entry.function_key
        if _fits(entry, size) and (key not in best or _rank(entry) < _rank(best[key])):
            best[key] = entry
    return sorted(best.values(), key=_rank)


def _fits(entry: Entry, size: Size) -> bool:
    if entry.length is None or entry.width is None or entry.height is None:
        return False
    length, width, height = size
    lies = entry.length <= length and entry.width <= width
    turned = entry.length <= width and entry.width <= length and entry.stack not in ("x", "y")
    return entry.height <= height and (lies or turned)


def _rank(entry: Entry) -> tuple[int, ...]:
    return (entry.volume or 0, entry.parts or 0, entry.delay or 0, entry.number)
