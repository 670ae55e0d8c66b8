"""One row of the store, light enough to list ten thousand of them, and queries for rows."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from synth.medium import Size
from synth.questions.outcome import Status

STATUSES = (Status.FOUND, Status.IMPOSSIBLE, Status.UNDECIDED)


@dataclass(frozen=True, slots=True)
class BeyondSize:
    """The measures of a layout beyond the limits of its question: cells, parts and ticks."""

    length: int
    width: int
    height: int
    parts: int
    delay: int

    @property
    def size(self) -> Size:
        """Length, width and height."""
        return (self.length, self.width, self.height)

    @property
    def floor(self) -> int:
        """Its floor, in cells."""
        return self.length * self.width

    @property
    def volume(self) -> int:
        """Its volume, in cells."""
        return self.floor * self.height

    def document(self) -> dict[str, int]:
        """The measures as JSON writes them."""
        names = ("length", "width", "height", "volume", "floor", "parts", "delay")
        return {name: getattr(self, name) for name in names}


@dataclass(frozen=True, slots=True)
class Entry:
    """What the store knows about one question, without its layout.

    Attributes:
        number: counts questions in the order in which they came in; users name entries by it.
        key: the key of the question (``synth.library.canonical``).
        function_key: the key of the function up to the order of its inputs.
        name: a name for the function, such as a target's; may be empty.
        inputs, outputs: their numbers.
        function: an expression for each output, in canonical names.
        table: the column of each output, canonical, separated by spaces.
        stack: the stacking axis, or "".
        joints: ``wire``, ``buffer`` or ``mixed``.
        minimize: the measures, in order of importance.
        delay_asked: the limit on delay, in ticks, or None.
        status: ``found``, ``impossible`` or ``undecided``.
        proven: whether the answer is final: smallest, or impossible.
        length, width, height, volume, floor, parts, delay: measures of the layout; None without
            one.
        bound: for an undecided search, the least value of the first measure not ruled out.
        proof: what the claim rests on, or None.
        solver, seed, seconds, version, made: how, how long, by which version and on which day it
            was searched.
        beyond: the measures of the best layout beyond the limits, which answers nothing; None
            unless there is one, and always where a layout within the limits is known.
    """

    number: int
    key: str
    function_key: str
    name: str
    inputs: int
    outputs: int
    function: str
    table: str
    stack: str
    joints: str
    minimize: tuple[str, ...]
    delay_asked: int | None
    status: Status
    proven: bool
    length: int | None
    width: int | None
    height: int | None
    volume: int | None
    floor: int | None
    parts: int | None
    delay: int | None
    bound: int | None
    proof: str | None
    solver: str
    seed: int
    seconds: float
    version: str
    made: str
    beyond: BeyondSize | None = None

    def document(self) -> dict[str, Any]:
        """The entry as JSON writes it."""
        values = {item.name: getattr(self, item.name) for item in fields(self)}
        beyond = None if self.beyond is None else self.beyond.document()
        return values | {"minimize": list(self.minimize), "beyond": beyond}


@dataclass(frozen=True, slots=True)
class Query:
    """Which entries to list; None leaves a property open.

    ``volume``, ``length``, ``width``, ``height``, ``floor``, ``parts`` and ``delay`` are upper
    bounds on the layout; entries without a layout do not meet them. ``delay_asked`` is exact.
    ``text`` must occur in the name or the expression; ``tag`` must be one of the entry's tags.
    """

    inputs: int | None = None
    outputs: int | None = None
    stack: str | None = None
    joints: str | None = None
    status: str | None = None
    proven: bool | None = None
    delay_asked: int | None = None
    function_key: str | None = None
    text: str | None = None
    tag: str | None = None
    length: int | None = None
    width: int | None = None
    height: int | None = None
    volume: int | None = None
    floor: int | None = None
    parts: int | None = None
    delay: int | None = None

    def where(self) -> tuple[str, list[Any]]:
        """The query as an SQL condition and its values."""
        conditions, values = [], []
        for item in fields(self):
            value = getattr(self, item.name)
            if value is None:
                continue
            if item.name == "text":
                conditions.append("(name LIKE ? ESCAPE '\\' OR function LIKE ? ESCAPE '\\')")
                escaped = value.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
                values += [f"%{escaped}%"] * 2
                continue
            if item.name == "tag":
                conditions.append("number IN (SELECT number FROM tags WHERE tag = ?)")
                values.append(value)
                continue
            compare = "<=" if item.name in BOUNDS else "="
            conditions.append(f"{item.name} {compare} ?")
            values.append(value)
        return " AND ".join(conditions) or "1", values


BOUNDS = ("length", "width", "height", "volume", "floor", "parts", "delay")
"""The properties of a query that are upper bounds."""
