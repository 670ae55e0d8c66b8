"""The page of one gate: what it computes, its smallest layout, its frontier, all its layouts."""

from __future__ import annotations

from collections.abc import Sequence

from synth.layout import Layout
from synth.layout.pins import show_size
from synth.views.catalogue.frontier_svg import plots_html
from synth.views.catalogue.gates import (
    Gate,
    Item,
    columns_of,
    input_names,
    lines_of,
    output_names,
)
from synth.views.catalogue.words import (
    NOTHING,
    amount,
    beyond_text,
    joint_text,
    proof_text,
    proof_word,
    size_text,
    stack_text,
    times,
)
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.svg import Picture
from synth.views.templating import drawn, render
from synth.views.text.verdict import MAX_TABLE_ROWS

_COMPARED = ("Delay", "Volume", "Floor", "Size", "Parts", "Stacks", "Joints", "Proof")


def gate_html(
    gate: Gate,
    title: str,
    before: Gate | None,
    after: Gate | None,
    exports: Sequence[tuple[str, str]] = (),
) -> str:
    """The page of a gate, with links to its neighbours in the index.

    Args:
        gate: the gate.
        title: the title of the catalogue.
        before, after: the neighbours.
        exports: the endings of further files that each layout has, and what to call them.
    """
    return render(
        "catalogue/gate.html",
        root="../",
        title=title,
        gate=gate,
        before=before,
        after=after,
        face=None if gate.face is None else _face(gate.face),
        inputs=input_names(gate.inputs),
        outputs=output_names(len(gate.columns)),
        truth=_truth(gate),
        row_count=1 << gate.inputs,
        free=any("-" in column for column in gate.columns),
        plots=drawn(plots_html(gate)),
        compared_head=_COMPARED,
        compared=[_compared(item) for item in gate.layouts],
        cards=[_card(gate, item) for item in gate.layouts],
        exports=exports,
        others=[_other(item) for item in gate.others],
    )


def _face(item: Item) -> dict[str, object]:
    words = (
        f"{size_text(item)} cells, {amount(item.entry.delay, 'delay')}, "
        f"{stack_text(item.entry.stack)}."
    )
    return {"number": item.number, "drawing": _drawing(item), "words": words}


def _drawing(item: Item) -> dict[str, object]:
    """Where the picture in space is (it is a file of its own), and its size."""
    assert item.layout is not None
    return _drawn(item.layout, f"Layout {item.number}", f"{item.number}")


def _drawn(layout: Layout, what: str, stem: str) -> dict[str, object]:
    picture = space_picture(layout)
    size = times(show_size(layout.size))
    return {
        "says": f"{what} in space: {size} cells, {layout.part_count} parts",
        "href": f"../layouts/{stem}-space.svg",
        "wide": round(picture.width),
        "high": round(picture.height),
    }


def space_picture(layout: Layout) -> Picture:
    """A layout in space with its layers apart: the small picture that lists show."""
    return isometric_picture(layout, words=False)


def _truth(gate: Gate) -> list[tuple[str, str]] | None:
    """The truth table: input bits and output values of each row; None if it is too long."""
    rows = 1 << gate.inputs
    if rows > MAX_TABLE_ROWS:
        return None
    return [
        (
            format(row, f"0{gate.inputs}b") if gate.inputs else "",
            "".join(column[row] for column in gate.columns),
        )
        for row in range(rows)
    ]


def _compared(item: Item) -> tuple[str, ...]:
    return (
        amount(item.entry.delay, "delay").split()[0],
        str(item.entry.volume),
        str(item.entry.floor),
        size_text(item),
        str(item.entry.parts),
        item.entry.stack or NOTHING,
        item.entry.joints,
        proof_word(item),
    )


def _card(gate: Gate, item: Item) -> dict[str, object]:
    entry = item.entry
    facts = [
        ("delay", amount(entry.delay, "delay")),
        ("size", f"{size_text(item)} cells"),
        ("volume", amount(entry.volume, "volume")),
        ("floor", amount(entry.floor, "floor")),
        ("parts", str(entry.parts)),
        ("joints", entry.joints),
        ("smallest by", ", ".join(entry.minimize)),
        ("asked delay", "" if entry.delay_asked is None else f"at most {entry.delay_asked}"),
    ]
    heading = f"{stack_text(entry.stack)}, {amount(entry.delay, 'delay')}"
    return {
        "number": item.number,
        "drawing": _drawing(item),
        "heading": heading[0].upper() + heading[1:],
        "proven": entry.proven,
        "proof": proof_word(item),
        "own_order": _own_order(gate, item),
        "facts": facts,
        "claim": proof_text(item),
        "effort": _effort(item),
        "alike": _alike(gate, item),
    }


def _alike(gate: Gate, item: Item) -> list[dict[str, object]]:
    """Other questions whose answers are equal in every measure."""
    return [
        {
            "number": other.number,
            "asked": _asked_delay(other),
            "proof": proof_word(other),
            "same": other.layout == item.layout,
        }
        for other in gate.alike[item.number]
        if other is not item
    ]


def _asked_delay(item: Item) -> str:
    asked = item.entry.delay_asked
    return "any delay" if asked is None else f"delay at most {asked}"


def _own_order(gate: Gate, item: Item) -> str:
    """The expressions of a layout whose inputs are ordered otherwise than on this page."""
    columns = columns_of(item.entry)
    return "" if columns == gate.columns else "; ".join(lines_of(columns, gate.inputs))


def _effort(item: Item) -> str:
    """How the answer was found."""
    entry = item.entry
    words = [f"searched {entry.seconds:.1f} s with {entry.solver}" if entry.solver else ""]
    if entry.proof and entry.proof not in item.claim and "no proof kept" not in entry.proof:
        words.append(f"rests on {entry.proof}")
    words.append(entry.made)
    return ", ".join(word for word in words if word)


def _other(item: Item) -> dict[str, object]:
    entry = item.entry
    asked = (_asked_delay(item), stack_text(entry.stack), joint_text(entry.joints))
    return {
        "number": item.number,
        "asked": ", ".join(asked),
        "proof": proof_word(item),
        "text": proof_text(item),
        "specification": item.specification,
        "beyond": _beyond(item),
    }


def _beyond(item: Item) -> dict[str, object] | None:
    """A layout beyond the limits asked: a picture, what it is, and where its files are."""
    layout, entry = item.beyond, item.entry.beyond
    if layout is None or entry is None:
        return None
    text = beyond_text(item)
    facts = (
        ("delay", amount(entry.delay, "delay")),
        ("size", f"{times(show_size(entry.size))} cells"),
        ("volume", amount(entry.volume, "volume")),
        ("floor", amount(entry.floor, "floor")),
        ("parts", str(entry.parts)),
    )
    return {
        "drawing": _drawn(layout, f"Beyond the limits of {item.number}", f"{item.number}-beyond"),
        "stem": f"../layouts/{item.number}-beyond",
        "title": f"Beyond the limits: {text}",
        "facts": facts,
    }


def neighbours(gates: Sequence[Gate], index: int) -> tuple[Gate | None, Gate | None]:
    """The gates before and after one in the index."""
    return (
        gates[index - 1] if index else None,
        gates[index + 1] if index + 1 < len(gates) else None,
    )
