"""A measure against delay, drawn small: one plot for each kind of answer of a gate."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from synth.views.catalogue.gates import Gate, Item
from synth.views.catalogue.words import amount, joint_text, proof_word, stack_text
from synth.views.drawing.svg import Point, number
from synth.views.templating import render
from synth.words import in_units

WIDE, HIGH = 330, 220
_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 12, 24, 40
_STEPS = (1, 2, 5)


def plots_html(gate: Gate) -> str:
    """The plots of a gate as figures; empty where there is no layout with a delay."""
    kinds: dict[tuple[str, str, str], list[Item]] = {}
    for item in (*gate.layouts, *gate.others):
        kinds.setdefault(item.kind, []).append(item)
    drawn = {
        kind: items for kind, items in kinds.items() if any(_value(item, kind[2]) for item in items)
    }
    if not drawn:
        return ""
    latest = max(
        tick or 0
        for items in drawn.values()
        for item in items
        for tick in (item.entry.delay, item.entry.delay_asked)
    )
    plots = [_Plot(kind, items, latest).plot() for kind, items in drawn.items()]
    return render("catalogue/plots.html", plots=plots)


def frontier_of(points: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """The (delay, value) pairs that no other pair equals or betters in both, by delay."""
    best: list[tuple[int, int]] = []
    for delay, value in sorted(set(points)):
        if not best or value < best[-1][1]:
            best.append((delay, value))
    return best


def _value(item: Item, measure: str) -> int | None:
    if item.layout is None or item.entry.delay is None:
        return None
    value = getattr(item.entry, measure)
    return value if isinstance(value, int) else None


class _Plot:
    """Answers of one kind: layouts as marks, the frontier as steps, no layout as a cross."""

    def __init__(self, kind: tuple[str, str, str], items: Sequence[Item], latest: int) -> None:
        self.stack, self.joints, self.measure = kind
        self.items = items
        self.latest = max(latest, 1)
        self.values = [value for item in items if (value := _value(item, self.measure))]
        self.step = _step(max(self.values))
        self.top = -(-max(self.values) // self.step) * self.step

    def _at(self, delay: float, value: float) -> Point:
        wide = WIDE - _LEFT - _RIGHT - 46
        high = HIGH - _TOP - _BOTTOM
        return (
            _LEFT + 10 + wide * delay / self.latest,
            _TOP + high * (1 - value / self.top),
        )

    def plot(self) -> dict[str, object]:
        """What the template draws; lengths in units of the drawing."""
        title = f"{stack_text(self.stack)}, {joint_text(self.joints)}"
        points = sorted({(item.entry.delay or 0, v) for item in self.items
                         if (v := _value(item, self.measure))})  # fmt: skip
        says = "; ".join(
            f"delay {delay}: {amount(value, self.measure)}" for delay, value in frontier_of(points)
        )
        base = self._at(0, 0)[1]
        every = -(-self.latest // 10)
        marks, crosses = self._marks()
        return {
            "caption": title[0].upper() + title[1:],
            "says": f"Smallest {self.measure} against delay. {says}",
            "up": in_units(self.measure),
            "wide": WIDE,
            "high": HIGH,
            "left": _LEFT,
            "right": WIDE - _RIGHT,
            "base": number(base),
            "foot": number(base + 18),
            "sides": [
                (number(self._at(0, value)[1]), value)
                for value in range(0, self.top + 1, self.step)
            ],
            "feet": [
                (number(self._at(delay, 0)[0]), delay) for delay in range(0, self.latest + 1, every)
            ],
            "line": self._steps(points),
            "marks": marks,
            "crosses": crosses,
        }

    def _steps(self, points: Sequence[tuple[int, int]]) -> str:
        edge = frontier_of(points)
        x, y = self._at(*edge[0])
        line = f"M{number(x)} {number(y)}"
        for delay, value in edge[1:]:
            x, y = self._at(delay, value)
            line += f"H{number(x)}V{number(y)}"
        # What is possible at a delay is possible at every larger one.
        return f"{line}H{WIDE - _RIGHT}"

    def _marks(self) -> tuple[list[dict[str, object]], list[tuple[str, str, int]]]:
        """Layouts as marks, and delays that are ruled out as crosses."""
        drawn: dict[tuple[int, int], Item] = {}
        for item in self.items:
            value, delay = _value(item, self.measure), item.entry.delay
            if value and delay is not None:
                before = drawn.get((delay, value))
                if before is None or (self._proven(item) and not self._proven(before)):
                    drawn[delay, value] = item
        edge = set(frontier_of(drawn))
        # Better marks come last and so lie over the others; the tab key visits them in this order.
        marks = [self._mark(drawn[at], *at, at in edge) for at in sorted(drawn)]
        ruled_out = {
            item.entry.delay_asked
            for item in self.items
            if item.layout is None and item.entry.proven and item.entry.delay_asked is not None
        }
        reached = min(delay for delay, _ in drawn)
        crosses = []
        for delay in sorted(delay for delay in ruled_out if delay < reached):
            x, y = self._at(delay, 0)
            crosses.append((number(x - 5), number(y - 15), delay))
        return marks, crosses

    def _proven(self, item: Item) -> bool:
        return item.entry.proven and item.measure == self.measure

    def _mark(self, item: Item, delay: int, value: int, on_edge: bool) -> dict[str, object]:
        x, y = self._at(delay, value)
        proven = self._proven(item)
        words = f"delay {delay}: {amount(value, self.measure)}, {proof_word(item)}"
        if item.entry.proven and not proven:
            words = f"delay {delay}: {amount(value, self.measure)}; smallest by {item.measure}"
        return {
            "number": item.number,
            "words": words,
            "proven": proven,
            "x": number(x),
            "y": number(y),
            "label": str(value) if on_edge else "",
        }


def _step(top: int) -> int:
    """The distance between grid lines: a round number that needs at most five of them."""
    scale = 1
    while True:
        for part in _STEPS:
            if top <= 5 * part * scale:
                return part * scale
        scale *= 10
