"""The words in which the catalogue tells an answer, the same on every page."""

from __future__ import annotations

from synth.layout.pins import show_size
from synth.library.proofs import Reference
from synth.views.catalogue.gates import Item
from synth.words import counted, unit_of

NOTHING = "\N{EN DASH}"
"""Stands where a table has no value."""


def amount(value: int | None, measure: str) -> str:
    """A value of a measure with its unit: ``3 ticks``, ``24 cells``."""
    return "not known" if value is None else counted(value, unit_of(measure))


def sentence(text: str) -> str:
    """With a capital letter and a full stop."""
    return f"{text[0].upper()}{text[1:].rstrip('.')}." if text else ""


def size_text(item: Item) -> str:
    """``4 x 2 x 4`` with a multiplication sign; empty without a layout."""
    return "" if item.layout is None else times(show_size(item.layout.size))


def times(text: str) -> str:
    """A size with multiplication signs."""
    return text.replace(" x ", " \N{MULTIPLICATION SIGN} ")


def beyond_text(item: Item) -> str:
    """``none known in 5 x 2 x 5; 56 cells in 7 x 2 x 4``: a layout beyond the limits asked."""
    beyond = item.entry.beyond
    if beyond is None or item.beyond is None:
        return ""
    known = f"{amount(beyond.volume, 'volume')} in {times(show_size(beyond.size))}"
    none = "none" if item.entry.proven else "none known"
    return f"{none} in {times(item.within)}; {known}"


def stack_text(stack: str) -> str:
    """Along which axis copies stack; free-standing where stacking was not asked."""
    return f"stacks along {stack}" if stack else "free-standing"


def joint_text(joints: str) -> str:
    """What stands outside the pins."""
    return f"joints: {joints}" if joints else "joints: free"


def proof_word(item: Item) -> str:
    """In a word or two, for tables: whether a smaller one is known to be impossible.

    *Proven* is said only where a certificate is kept; elsewhere the solver alone says so.
    """
    if item.layout is None:
        return "impossible" if item.entry.proven else "undecided"
    if not item.entry.proven:
        return "best known"
    return "smallest" if Reference.read(item.entry.proof) is None else "proven"


def proof_text(item: Item) -> str:
    """In a sentence: why there is no smaller layout, or none at all, as far as that is known."""
    entry = item.entry
    if item.layout is None:
        if entry.proven:
            return " ".join(filter(None, ("No layout keeps these limits.", sentence(item.claim))))
        said = "Not decided: no layout was found, and not every box was ruled out."
        if entry.bound is not None:
            least = amount(entry.bound, item.measure)
            said += f" A {item.measure} below {least} is ruled out."
        return said
    # The claim, where there is one, is the search's own sentence.
    if entry.proven:
        by = " then ".join(entry.minimize) if entry.minimize else ""
        return sentence(item.claim) or f"No layout under the limits asked is smaller by {by}."
    if entry.bound is None:
        return "The smallest known; a smaller one may exist."
    return (
        f"The smallest known; a {item.measure} below {amount(entry.bound, item.measure)} "
        "is ruled out, and values between are open."
    )
