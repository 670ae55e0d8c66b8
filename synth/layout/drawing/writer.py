"""Writes a drawing: the plain form that a person types, one layer below the other."""

from __future__ import annotations

from collections.abc import Sequence

from synth.layout.documents import Described, check_size
from synth.layout.drawing.frames import Frames, pin_marks
from synth.layout.drawing.glyphs import SLOW, pin_arrow
from synth.layout.drawing.heading import FORMAT, VERSION, heading_rows
from synth.layout.pins import Stack
from synth.medium import Part
from synth.words import columns

SLOW_TITLE = f"Buffers drawn {SLOW}, of more than 9 ticks"


def drawing_text(layout: Described) -> str:
    """The drawing of a layout; ``read_drawing`` reads it back.

    Raises:
        InputError: if the layout is larger than a drawing may be, or its name or function is no
            line of printable text.
    """
    check_size(layout.size)
    rows = [(FORMAT, str(VERSION))]
    rows += [(word.lower(), value) for word, value in heading_rows(layout.name, layout.made_for)]
    if layout.stack is not None:
        rows.append(("stack", f"{layout.stack.axis} at pitch {layout.stack.pitch}"))
        rows += chain_rows(layout.stack)
    if layout.ground:
        rows.append(("ground", "yes"))
    heading = columns(rows, indent="")
    if layout.pins:
        heading += ["pins", *columns(_pin_rows(layout))]
    frames = Frames(layout)
    layers = [frames.layer(z, range(layout.size[0])) for z in range(layout.size[2])]
    blocks: list[Sequence[str]] = [heading, *layers]
    slow = slow_lines(layout)
    if slow:
        blocks.append([SLOW_TITLE, *slow])
    lines = "\n\n".join("\n".join(block) for block in blocks).split("\n")
    return "\n".join(line.rstrip() for line in lines) + "\n"


def chain_rows(stack: Stack) -> list[tuple[str, str]]:
    """The word and value that say how copies are chained; nothing where they are not."""
    return [("chain", ", ".join(map(str, stack.chain)))] if stack.chain else []


def slow_lines(layout: Described) -> list[str]:
    """The buffers whose delay the drawing has no room for, a line each."""
    return [
        f"  {list(cell)}  {block}"
        for cell, block in layout.cells.items()
        if block.part is Part.BUFFER and block.delay > 9
    ]


def pin_rows(layout: Described) -> list[tuple[str, ...]]:
    """The pins with all that there is to say of each: mark, name, role, cell, face and joint."""
    marks = pin_marks(layout)
    return [
        (f"{marks[pin.name]:2} {pin_arrow(pin.face, pin.role)}", pin.name, str(pin.role),
         f"cell {list(pin.at)}", f"face {pin.face}", f"joint {pin.joint}")
        for pin in layout.pins
    ]  # fmt: skip


def _pin_rows(layout: Described) -> list[tuple[str, ...]]:
    """The pins as a person lists them, where the drawing says the rest."""
    marks = pin_marks(layout)
    places = [(pin.at, pin.face) for pin in layout.pins]
    drawn = {
        (pin.at, pin.face)
        for pin in layout.pins
        if any(not 0 <= at < side for at, side in zip(pin.outside, layout.size, strict=True))
    }
    if all(marks[pin.name] == pin.name for pin in layout.pins) and len(drawn) == len(places):
        return [(pin.name, str(pin.role), f"joint {pin.joint}") for pin in layout.pins]
    rows = pin_rows(layout)
    if len(drawn) == len(places) == len(set(marks.values())):
        # Nothing that is drawn has to be said: then a pin can be moved in the drawing alone.
        return [(mark, name, role, joint) for mark, name, role, _, _, joint in rows]
    return rows
