"""Lists of parts: comma-separated values, and lines by a template of the builder's own."""

from __future__ import annotations

import csv
import io
import re
import string
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from synth import fields
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.transform import mirrored, turned
from synth.medium import (
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    Block,
    Cell,
    Direction,
    Part,
)
from synth.medium_document import read_toml
from synth.views.plan_steps import building_steps

PLACEHOLDERS = ("x", "y", "z", "part", "orientation", "delay", "number")
"""What a template may name: the cell, the part, its orientation (empty for parts without one), the
ticks of a buffer (0 for other parts), and the number of the part in the order of work."""

DEFAULT_TEMPLATE = "{x} {y} {z} {part} {orientation}"

MAX_TEMPLATE = 1_000
"""The most characters of a template, and of a name that is put into it."""

MAX_WIDTH = 100
"""The widest field, and the most decimal places, that a placeholder may ask for."""

MAX_TEXT = 100_000_000
"""Most characters of all lines together."""

_NUMBER = re.compile(r"[0-9]+")


@dataclass(frozen=True, slots=True)
class Names:
    """The words that a builder's own world uses.

    Attributes:
        parts: by part, or part with its orientation (``"inverter -z"``, ``"buffer +x"``), or that
            with the delay (``"buffer +x 2"``); the most exact entry counts.
        orientations: by direction.
    """

    parts: Mapping[str, str] = field(default_factory=dict)
    orientations: Mapping[str, str] = field(default_factory=dict)

    def part(self, block: Block) -> str:
        """The name of a block; that of the medium if there is no entry."""
        for key in reversed(_keys(block)):
            if key in self.parts:
                return self.parts[key]
        return str(block.part)

    def orientation(self, way: Direction | None) -> str:
        """The name of a direction; empty for none."""
        return "" if way is None else self.orientations.get(str(way), str(way))


@dataclass(frozen=True, slots=True)
class Placing:
    """Where and how the layout goes into the builder's world.

    Attributes:
        origin: the place of its cell (0, 0, 0), after mirroring and turning.
        quarters: quarter turns seen from above, +x to +y.
        mirror: ``x`` or ``y`` to mirror along it first, or None. A mirrored layout works just as
            well; worlds whose axes have the other handedness need it.
    """

    origin: Cell = (0, 0, 0)
    quarters: int = 0
    mirror: str | None = None

    def __call__(self, layout: Layout) -> Layout:
        """The layout mirrored and turned, still with its corner at (0, 0, 0)."""
        placed = layout if self.mirror is None else mirrored(layout, self.mirror)
        return turned(placed, self.quarters)

    def cell(self, cell: Cell) -> Cell:
        """A cell of the placed layout in the builder's world."""
        x, y, z = (at + offset for at, offset in zip(cell, self.origin, strict=True))
        return (x, y, z)


def csv_text(layout: Layout) -> str:
    """A header, then one line for each part: cell, part, orientation, delay.

    RFC 4180 (from memory), but with bare newlines.
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(["x", "y", "z", "part", "orientation", "delay"])
    for cell, block in layout.cells.items():
        writer.writerow([*cell, block.part, block.facing or "", block.delay or ""])
    return stream.getvalue()


def lines_text(
    layout: Layout,
    template: str = DEFAULT_TEMPLATE,
    names: Names | None = None,
    placing: Placing | None = None,
) -> str:
    """One line for each part by ``template``, in an order in which parts can be placed.

    Raises:
        InputError: if the template has an unknown placeholder, is not a template, or exceeds the
            limits above.
    """
    names = names or Names()
    placing = placing or Placing()
    check_template(template)
    placed = placing(layout)
    lines: list[str] = []
    length = 0
    for step in building_steps(placed):
        for part in step.placements:
            x, y, z = placing.cell(part.cell)
            line = _formatted(
                template,
                {
                    "x": x,
                    "y": y,
                    "z": z,
                    "part": names.part(part.block),
                    "orientation": names.orientation(part.block.facing),
                    "delay": part.block.delay,
                    "number": part.number,
                },
            )
            lines.append(line)
            length += len(line)
            if length > MAX_TEXT:
                raise InputError(
                    f"the lines have more than {MAX_TEXT:,} characters in all",
                    place="--template",
                    way_out="use a shorter template",
                )
    return "".join(f"{line}\n" for line in lines)


def mirror_warning(
    template: str = DEFAULT_TEMPLATE, placing: Placing | None = None
) -> str | None:  # fmt: skip
    """The warning if the lines give a mirror image of the layout; None if they do not.

    Readers take the coordinates of a line in the order in which they stand: ``{x} {z} {y}``
    exchanges two axes and so mirrors, as ``--mirror`` does; both together do not. A template that
    does not name each axis once, or writes the name of an axis beside it (``x={x}``), exchanges
    none.
    """
    mirrored_by = []
    if placing is not None and placing.mirror is not None:
        mirrored_by.append(f"--mirror {placing.mirror}")
    named = [
        (name, (text or "").rstrip().lower().endswith((f"{name}=", f"{name}:", f"{name} =")))
        for text, name, _, _ in string.Formatter().parse(template)
        if name in ("x", "y", "z")
    ]
    order = [name for name, labelled in named if not labelled]
    # Exchanging two axes mirrors; rotating all three (y z x) only turns.
    if sorted(order) == ["x", "y", "z"] and "".join(order) in ("xzy", "zyx", "yxz"):
        mirrored_by.append(f"the order {' '.join(order)} of the template")
    if len(mirrored_by) != 1:
        return None
    return (
        f"{mirrored_by[0]} gives a mirror image of the layout, unless the axes of your world have "
        "the other handedness; it works just as well, but is not the layout as it is drawn"
    )


def check_template(template: str) -> None:
    """Refuse a template that cannot be filled in.

    Raises:
        InputError: naming the placeholder that is wrong.
    """
    if len(template) > MAX_TEMPLATE:
        raise InputError(
            f"a template of {len(template):,} characters",
            place="--template",
            way_out=f"use at most {MAX_TEMPLATE:,}",
        )
    try:
        pieces = list(string.Formatter().parse(template))
    except ValueError as error:
        raise InputError(
            f"{fields.shown(template)} is no template ({error})",
            place="--template",
            way_out="write placeholders as {x}, and braces themselves as {{ and }}",
        ) from None
    for _, name, spec, conversion in pieces:
        if name is None:
            continue
        if name not in PLACEHOLDERS or conversion:
            shown = f"{{{name}{'!' + conversion if conversion else ''}}}"
            if name == "facing":
                raise InputError(
                    f"the placeholder {shown!r} is called '{{orientation}}' now",
                    place="--template",
                    way_out="write {orientation}",
                )
            raise InputError(
                f"no placeholder {shown!r}",
                place="--template",
                way_out=fields.suggestion(name, PLACEHOLDERS, "there are"),
            )
        if spec and "{" in spec:
            raise InputError(
                f"a placeholder inside the format of {name!r}",
                place="--template",
                way_out="write a plain format such as {x:>3}",
            )
        if spec and any(len(digits) > 3 or int(digits) > MAX_WIDTH for digits in _numbers(spec)):
            raise InputError(
                f"the format {fields.shown(spec)} of {name!r} is too wide",
                place="--template",
                way_out=f"use a width of {MAX_WIDTH} at most",
            )
    values = dict.fromkeys(PLACEHOLDERS, 0) | {"part": "", "orientation": ""}
    _formatted(template, values)


def _numbers(spec: str) -> list[str]:
    """The numbers in a format, without leading zeros."""
    return [digits.lstrip("0") or "0" for digits in _NUMBER.findall(spec)]


def _formatted(template: str, values: Mapping[str, object]) -> str:
    try:
        return template.format(**values)
    except (ValueError, OverflowError, MemoryError) as error:
        raise InputError(
            f"a format of {fields.shown(template)} does not fit ({error})",
            place="--template",
            way_out="numbers are x, y, z, delay and number; part and orientation are text",
        ) from None


def load_names(path: str | Path) -> Names:
    """Read names (TOML): tables ``[parts]`` and ``[orientations]``, each optional.

    Raises:
        InputError: naming the file, the key and what to write instead.
    """
    document = read_toml(path)
    try:
        if "facings" in document:
            raise InputError(
                "the table [facings] is called [orientations] now",
                place="facings",
                way_out="write [orientations]",
            )
        fields.check_keys(document, ["parts", "orientations"], None)
        known_parts = sorted({key for block in _every_block() for key in _keys(block)[:2]})
        parts = _table(document, "parts")
        for key in parts:
            # A delay may be any whole number, because a rule table can have other delays.
            base, _, delay = key.rpartition(" ")
            exact = base.startswith("buffer ") and base in known_parts and delay.isdecimal()
            if key not in known_parts and not exact:
                raise InputError(
                    f"no part {fields.shown(key)}",
                    place="parts",
                    way_out=fields.suggestion(key, known_parts, "there are"),
                )
        orientations = _table(document, "orientations")
        fields.check_keys(orientations, [str(way) for way in Direction], "orientations")
        return Names(parts, orientations)
    except InputError as error:
        raise error.in_file(str(path)) from None


def _table(document: Mapping[str, object], key: str) -> dict[str, str]:
    table = fields.table(document.get(key, {}), key)
    named = {}
    for word, value in table.items():
        place = fields.under(key, word)
        named[word] = fields.text(value, place)
        if len(named[word]) > MAX_TEMPLATE:
            raise InputError(
                f"a name of {len(named[word]):,} characters",
                place=place,
                way_out=f"use at most {MAX_TEMPLATE:,}",
            )
    return named


def _keys(block: Block) -> list[str]:
    """The keys under which the name of a block may be given, the most exact last."""
    keys = [str(block.part)]
    if block.facing is not None:
        keys.append(f"{block.part} {block.facing}")
    if block.delay:
        keys.append(f"{block.part} {block.facing} {block.delay}")
    return keys


def _every_block() -> list[Block]:
    plain = [Block(p) for p in Part if p not in (Part.INVERTER, Part.BUFFER)]
    inverters = [Block(Part.INVERTER, way) for way in HOST_DIRECTIONS]
    return plain + inverters + [Block(Part.BUFFER, way, 1) for way in LEVEL_DIRECTIONS]
