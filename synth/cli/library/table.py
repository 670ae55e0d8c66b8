"""Entries of a store as a table of at most 80 columns, in which no two rows are alike."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from synth.layout.pins import show_size
from synth.words import WIDTH, filled

if TYPE_CHECKING:
    from synth.library import Store
    from synth.library.entry import BeyondSize, Entry

LEAST_FUNCTION = 12
"""Least width of the column that takes what the others leave."""

HEAD = ("no.", "function", "stack", "joints", "asked", "layout", "answer")
_GAP = 2


def entry_lines(store: Store, entries: Sequence[Entry]) -> list[str]:
    """Entries as a table with a heading; nothing for none.

    ``asked`` and ``layout`` give box and delay: ``5x2x5 in 4`` is length, width and height in
    cells, and ticks. What else was asked, notes and tags stand below a row.
    """
    from synth.library.briefly import asked_besides, asked_box
    from synth.views.text.layers import columns

    if not entries:
        return []
    documents = [store.asked_document(entry.number) for entry in entries]
    below: list[list[tuple[str, str]]] = []
    rows: list[tuple[str, ...]] = []
    for entry, document in zip(entries, documents, strict=True):
        with store.reading("results", entry.number, "asked"):
            rows.append(_cells(entry, asked_box(document)))
            besides = ", ".join(asked_besides(document))
            said = [("also asked", besides)] if besides else []
            if entry.beyond is not None:
                said.append(("beyond the limits", beyond_words(entry.beyond)))
            below.append(said)
    free = WIDTH - sum(max(map(len, cells)) for cells in zip(*_without_function(rows), strict=True))
    most = max(LEAST_FUNCTION, free - _GAP * (len(HEAD) - 1))
    rows = [(number, shortened(text, most), *rest) for number, text, *rest in rows]
    _tell_apart(rows, below, entries)
    remarks = store.remarks()
    lines = columns([HEAD, *rows], indent="")
    shown = lines[:1]
    for entry, line, said in zip(entries, lines[1:], below, strict=True):
        note, tags = remarks.get(entry.number, ("", ()))
        said += [("tags", ", ".join(tags))] if tags else []
        said += [("note", note)] if note else []
        shown += [line, *(piece for label, text in said for piece in _below(label, text))]
    return shown


def _without_function(rows: Sequence[Sequence[str]]) -> list[tuple[str, ...]]:
    return [(number, *rest) for number, _, *rest in [HEAD, *rows]]


def _tell_apart(
    rows: Sequence[Sequence[str]], below: Sequence[list[tuple[str, str]]], entries: Sequence[Entry]
) -> None:
    """Where rows would be alike but for their number, say of which function each is, and if that
    is not enough, of which question.
    """
    for label, words in (
        ("function", [entry.function for entry in entries]),
        ("question", [entry.key[:12] for entry in entries]),
    ):
        looks = [(*row[1:], *said) for row, said in zip(rows, below, strict=True)]
        count = Counter(looks)
        for look, said, word in zip(looks, below, words, strict=True):
            if count[look] > 1:
                said.append((label, word))


def _below(label: str, text: str) -> list[str]:
    return filled(f"      {label}: {text}", " " * 8).split("\n")


def _cells(entry: Entry, asked: str) -> tuple[str, ...]:
    return (
        str(entry.number),
        entry.name or entry.function.removeprefix("y1 = "),
        entry.stack or "-",
        entry.joints,
        asked,
        _layout(entry),
        answer_words(entry),
    )


def shortened(text: str, most: int) -> str:
    """A text of at most so many characters."""
    return text if len(text) <= most else text[: most - 3] + "..."


def _layout(entry: Entry) -> str:
    if entry.length is None or entry.width is None or entry.height is None:
        return "-"
    size = show_size((entry.length, entry.width, entry.height)).replace(" ", "")
    return size if entry.delay is None else f"{size} in {entry.delay}"


def beyond_words(beyond: BeyondSize) -> str:
    """``7x2x4 in 4, 56 cells``: a layout beyond the limits of its question."""
    size = show_size(beyond.size).replace(" ", "")
    return f"{size} in {beyond.delay}, {beyond.volume} cells"


def answer_words(entry: Entry) -> str:
    """The answer in one or two words, and the bound of one that is not proven."""
    if entry.status == "found":
        return f"smallest {entry.minimize[0]}"
    if entry.status == "impossible":
        return "impossible"
    best = "best yet" if entry.volume is not None else "open"
    if entry.bound is None:
        return best
    measure = "" if entry.minimize[0] == "volume" else f"{entry.minimize[0]} "
    return f"{best}, {measure}>= {entry.bound}"
