"""Reads a store for the catalogue."""

from __future__ import annotations

from collections.abc import Iterator

from synth.library import Store
from synth.views.catalogue.gates import Item


def items_of(store: Store) -> Iterator[Item]:
    """Every entry of a store with what belongs to it; layouts are judged anew.

    Raises:
        InputError: if a layout kept does not do what was asked.
    """
    for entry in list(store.entries()):
        asked = store.asked(entry.number)
        # An answer without a layout has no size.
        layout = None if entry.length is None else store.layout(entry.number)
        claim = store.claim(entry.number)
        yield Item(entry, layout, asked.toml, claim, asked.rules)
