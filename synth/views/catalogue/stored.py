"""Reads a store for the catalogue."""

from __future__ import annotations

from collections.abc import Iterator

from synth.errors import InputError
from synth.layout.pins import show_size
from synth.library import Store
from synth.library.verify import listed_faults
from synth.questions.cover import covers_lower
from synth.spec import Spec
from synth.views.catalogue.gates import Item


def items_of(store: Store) -> Iterator[Item]:
    """Every entry of a store with its layout, specification and claim; layouts are judged anew.

    Raises:
        InputError: if a kept layout does not do what was asked, or if the listed facts of an
            entry differ from those of its question and layout.
    """
    for number in store.numbers():
        entry, asked, answer = store.answered(number)
        # An answer without a layout has no size.
        layout = None if entry.length is None else store.layout(entry.number)
        claim = store.claim(entry.number)
        problem = next(listed_faults(entry, asked, answer), None)
        if problem is not None:
            raise InputError(
                f"entry {entry.number}: {problem}",
                file=str(store.path),
                way_out="'gatefit library verify' finds all such entries",
            )
        boxes = tuple(answer.question for answer in store.ruled_out(asked))
        lower_too = covers_lower(asked.problem)
        beyond = None if entry.beyond is None else store.layout_beyond(number)
        within = _within(asked.spec)
        toml = asked.toml
        yield Item(entry, layout, toml, claim, asked.rules, boxes, lower_too, beyond, within)


def _within(spec: Spec) -> str:
    """The limits of space of a question: ``5 x 2 x 5``, and what else there is."""
    limits = spec.limits
    sides = (limits.length or 0, limits.width or 0, limits.height or 0)
    more = ((name, getattr(limits, name)) for name in ("floor", "volume"))
    said = [f"{name} {most}" for name, most in more if most is not None]
    return ", ".join([show_size(sides), *said])
