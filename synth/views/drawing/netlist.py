"""The netlist as a drawing: rectangular symbols of IEEE Std 91, signals from left to right.

``1`` in a symbol is one input passed on, ``>=1`` an OR; a circle at the output negates. Layered
drawing: a column a rank, nodes ordered by where their signals come from, every signal in a
track of its own between two columns. Signals that run backwards, in loops, are dashed below.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from synth.layout.layout import show_size
from synth.simulator.explaining.netlist import Node, NodeKind
from synth.views.drawing import palette
from synth.views.drawing.svg import Picture, Point, element, path, text, text_width
from synth.views.explanation import Explanation
from synth.views.text.explaining import node_words
from synth.views.titles import title_of

_BOX = 46.0
_ROW = 78.0
_TRACK = 11.0
_PAD = 24.0
_SMALL = 11.0
_STAGGER = 8.0

_Item = tuple[str, int]
"""A node in its own column, or its signal passing through a later one."""


def netlist_picture(found: Explanation, row: int | None = None) -> Picture:
    """The drawn netlist.

    Args:
        row: an assignment in counting order; symbols then show the settled value of each node
            as 0 or 1, and signals that are on are drawn heavy. None shows neither.
    """
    return _Drawing(found, row).picture()


class _Drawing:
    def __init__(self, found: Explanation, row: int | None) -> None:
        self.found = found
        self.row = row
        self.nodes = found.netlist.nodes
        self.rank = self._ranks()
        self.last = max(self.rank.values(), default=0)
        self.columns = self._columns()
        self.xs, self.ys = self._places()

    def _ranks(self) -> dict[str, int]:
        """Inputs in the first column, outputs in the last, the others by rank."""
        ranks = self.found.ranks()
        inner = [ranks[n.name] for n in self.nodes.values() if n.kind is not NodeKind.OUTPUT]
        last = max(inner, default=0) + 1
        ranked = {}
        for node in self.nodes.values():
            if node.kind is NodeKind.INPUT:
                ranked[node.name] = 0
            elif node.kind is NodeKind.OUTPUT:
                ranked[node.name] = last
            else:
                ranked[node.name] = max(1, ranks[node.name])
        return ranked

    def _forward(self, name: str) -> list[str]:
        """The nodes in later columns that see a node."""
        return [
            node.name
            for node in self.nodes.values()
            if name in node.sees and self.rank[node.name] > self.rank[name]
        ]

    def _columns(self) -> list[list[_Item]]:
        """Nodes and passing signals by column, each ordered by where it comes from."""
        columns: list[list[_Item]] = [[] for _ in range(self.last + 1)]
        for name in self.nodes:
            columns[self.rank[name]].append((name, self.rank[name]))
            end = max((self.rank[other] for other in self._forward(name)), default=0)
            for rank in range(self.rank[name] + 1, end):
                columns[rank].append((name, rank))
        for _ in range(4):
            for rank in range(1, len(columns)):
                place = {item[0]: index for index, item in enumerate(columns[rank - 1])}
                columns[rank].sort(key=lambda item: self._middle(item, place))
            for rank in range(len(columns) - 2, -1, -1):
                ahead = columns[rank + 1]
                columns[rank].sort(key=lambda item: self._middle_ahead(item, ahead))
        return columns

    def _middle(self, item: _Item, place: dict[str, int]) -> float:
        name, rank = item
        sources = [name] if rank > self.rank[name] else list(self.nodes[name].sees)
        found = [place[source] for source in sources if source in place]
        return sum(found) / len(found) if found else float(len(place))

    def _middle_ahead(self, item: _Item, ahead: Sequence[_Item]) -> float:
        found = [index for index, other in enumerate(ahead) if self._leads(item, other)]
        return sum(found) / len(found) if found else float(len(ahead))

    def _leads(self, item: _Item, other: _Item) -> bool:
        """Whether the signal of an item runs on to one in the next column."""
        passing = other[1] > self.rank[other[0]]
        return other[0] == item[0] if passing else item[0] in self.nodes[other[0]].sees

    def _places(self) -> tuple[list[float], dict[_Item, float]]:
        """The left end of every column, and the height of every item."""
        xs, x = [], _PAD
        for rank, column in enumerate(self.columns):
            xs.append(x)
            own = [self.nodes[name] for name, at in column if at == self.rank[name]]
            x += max([_BOX, *(self._label_width(node) for node in own)])
            x += (len(column) + 3) * _TRACK if rank < self.last else 0
        self.right = x
        tallest = max((len(column) for column in self.columns), default=1)
        ys = {}
        for rank, column in enumerate(self.columns):
            # Every other column a little lower: lines of one never run into those of the next.
            top = _PAD + 46 + (tallest - len(column)) * _ROW / 2 + rank % 2 * _STAGGER
            for index, item in enumerate(column):
                ys[item] = top + (index + 0.5) * _ROW
        self.low = _PAD + 46 + tallest * _ROW + _STAGGER
        return xs, ys

    def _labels(self, node: Node) -> tuple[str, str]:
        """What stands above and below a symbol."""
        if node.kind is NodeKind.INPUT:
            return node.name, ""
        logic = self.found.logic(node.name)
        if len(logic) > 30:
            logic = logic[:27] + "..."
        return node_words(node), logic

    def _label_width(self, node: Node) -> float:
        return max(text_width(words, _SMALL) for words in self._labels(node)) + 8

    def picture(self) -> Picture:
        """Title, signals, then symbols over them."""
        found = self.found
        title = f"{title_of(found.layout)}, {show_size(found.layout.size)} cells"
        if found.critical:
            title += f"; critical path (violet) {found.ticks} tick{'s' if found.ticks != 1 else ''}"
        body = [text(title, _PAD, _PAD + 14, size=15, weight="bold")]
        body += [self._signal(name) for name in self.nodes]
        backs = [
            (name, node.name)
            for node in self.nodes.values()
            for name in node.sees
            if self.rank[node.name] <= self.rank[name]
        ]
        body += [self._backwards(number, *pair) for number, pair in enumerate(backs)]
        body += [self._symbol(node) for node in self.nodes.values()]
        width = max(self.right + _PAD, text_width(title, 15) + 2 * _PAD)
        return Picture(width, self.low + len(backs) * _TRACK + _PAD, "".join(body))

    def _colour(self, name: str, reader: str) -> str:
        path_taken = self.found.critical
        pairs = set(pairwise(path_taken))
        return palette.INVERTER_LINE if (name, reader) in pairs else palette.INK

    def _width(self, name: str) -> float:
        return 3.0 if self.row is not None and self._value(name) == "1" else 1.4

    def _value(self, name: str) -> str:
        assert self.row is not None
        return self.found.column(name)[self.row]

    def _end(self, item: _Item) -> Point:
        """Where the signal of an item leaves its column's symbols."""
        name, rank = item
        x = self.xs[rank] + (_BOX if rank == self.rank[name] else 0)
        if self.nodes[name].kind is NodeKind.INVERTER and rank == self.rank[name]:
            x += 8
        return (x, self.ys[item])

    def _port(self, reader: str, name: str) -> Point:
        """Where a signal enters the symbol of a node."""
        sees = self.nodes[reader].sees
        step = (_BOX - 12) / max(1, len(sees) - 1) if len(sees) > 1 else 0
        # Ports in the order of the signals' heights, so that they need not cross.
        ordered = sorted(sees, key=lambda seen: (self._arrival(reader, seen), sees.index(seen)))
        offset = (ordered.index(name) - (len(sees) - 1) / 2) * step
        rank = self.rank[reader]
        y = self.ys[(reader, rank)] + offset
        # Clear of what other signals of the gap before run along.
        others = [self.ys[item] for item in self.columns[rank - 1] if item[0] != name]
        while any(abs(y - other) < 3 for other in others):
            y += 3
        return (self.xs[rank], y)

    def _arrival(self, reader: str, name: str) -> float:
        before = self.rank[reader] - 1
        return self.ys.get((name, max(before, self.rank[name])), self.low)

    def _signal(self, name: str) -> str:
        """All of a signal that runs forwards: a track a gap, a dot where it divides."""
        readers = self._forward(name)
        if not readers:
            return ""
        drawn: list[str] = []
        critical: list[str] = []
        dots: list[str] = []
        end = max(self.rank[reader] for reader in readers)
        for rank in range(self.rank[name], end):
            item = (name, rank)
            start = self._end(item)
            track = self.xs[rank + 1] - (1 + self.columns[rank].index(item)) * _TRACK
            targets = [(reader, self._port(reader, name)) for reader in readers
                       if self.rank[reader] == rank + 1]  # fmt: skip
            further = rank + 1 < end
            ends = [(self._colour(name, reader), point) for reader, point in targets]
            if further:
                y = self.ys[(name, rank + 1)]
                onwards = [r for r in readers if self.rank[r] > rank + 1]
                colour = next(
                    (c for c in (self._colour(name, r) for r in onwards) if c != palette.INK),
                    palette.INK,
                )
                ends.append((colour, (self.xs[rank + 1], y)))
            for colour, point in ends:
                line = path(
                    [start, (track, start[1]), (track, point[1]), point],
                    fill="none",
                    stroke=colour,
                    stroke_width=self._width(name),
                )
                (drawn if colour == palette.INK else critical).append(line)
            if len(ends) > 1:
                dots.append(element("circle", cx=track, cy=start[1], r=3.4, fill=palette.INK))
            if further:
                # On through the column to the next gap.
                y = self.ys[(name, rank + 1)]
                passed = path(
                    [(self.xs[rank + 1], y), self._end((name, rank + 1))],
                    fill="none",
                    stroke=palette.INK,
                    stroke_width=self._width(name),
                )
                drawn.append(passed)
        return "".join([*drawn, *critical, *dots])

    def _backwards(self, number: int, name: str, reader: str) -> str:
        """A signal of a loop: out, below everything, and back."""
        start = self._end((name, self.rank[name]))
        target = self._port(reader, name)
        low = self.low + number * _TRACK
        out, back = start[0] + 7 + number % 3 * 3, target[0] - 7 - number % 3 * 3
        return path(
            [start, (out, start[1]), (out, low), (back, low), (back, target[1]), target],
            fill="none",
            stroke=palette.INK,
            stroke_width=self._width(name),
            stroke_dasharray="5 3",
        )

    def _symbol(self, node: Node) -> str:
        x, y = self.xs[self.rank[node.name]], self.ys[(node.name, self.rank[node.name])]
        above, below = self._labels(node)
        top = y - _BOX / 2
        if node.kind is NodeKind.INPUT:
            drawn = path(
                [(x, y - 12), (x + 32, y - 12), (x + _BOX, y), (x + 32, y + 12), (x, y + 12)],
                closed=True,
                fill=palette.PAPER,
                stroke=palette.INK,
                stroke_width=1.6,
            )
            sign, above = above if len(above) < 4 else "in", above if len(above) >= 4 else ""
        else:
            fill, line = {
                NodeKind.INVERTER: (palette.INVERTER_FILL, palette.INVERTER_LINE),
                NodeKind.BUFFER: (palette.BUFFER_FILL, palette.BUFFER_LINE),
            }.get(node.kind, (palette.PAPER, palette.INK))
            drawn = element(
                "rect", x=x, y=top, width=_BOX, height=_BOX, fill=fill, stroke=line,
                stroke_width=1.8,
            )  # fmt: skip
            if node.kind is NodeKind.INVERTER:
                drawn += element(
                    "circle", cx=x + _BOX + 4, cy=y, r=4, fill=palette.PAPER, stroke=line,
                    stroke_width=1.8,
                )  # fmt: skip
            sign = "1" if len(node.sees) == 1 else "≥1" if node.sees else "0"
        drawn += text(sign, x + _BOX / 2 - (4 if node.kind is NodeKind.INPUT else 0), y + 5,
                      size=14, anchor="middle")  # fmt: skip
        if node.kind is NodeKind.BUFFER and node.delay > 1:
            drawn += text(f"{node.delay} ticks", x + _BOX / 2, y + 18, size=9, anchor="middle")
        bold = "bold" if node.kind is NodeKind.OUTPUT else "normal"
        drawn += text(above, x, top - 5, size=_SMALL, weight=bold)
        drawn += text(below, x, top + _BOX + 13, size=_SMALL, fill=palette.FAINT)
        if self.row is not None:
            value = f"= {self._value(node.name)}"
            place = (x, top + 3) if node.kind is NodeKind.INPUT else (x + 4, top + 13)
            drawn += text(value, *place, size=10, weight="bold")
        return drawn


def netlist_dot(found: Explanation) -> str:
    """The netlist in the DOT language, for any program that draws graphs."""
    lines = [f"digraph {_quoted(title_of(found.layout))} {{", "  rankdir=LR;"]
    critical = set(pairwise(found.critical))
    for node in found.netlist.nodes.values():
        label = node_words(node)
        if node.kind is not NodeKind.INPUT:
            label += f"\n{found.logic(node.name)}"
        if node.kind is NodeKind.BUFFER:
            label += f"\n{node.delay} tick{'s' if node.delay != 1 else ''}"
        pin = node.kind in (NodeKind.INPUT, NodeKind.OUTPUT)
        shape = "plaintext" if pin else "box"
        lines.append(f"  {_quoted(node.name)} [shape={shape}, label={_quoted(label)}];")
    for node in found.netlist.nodes.values():
        negates = node.kind is NodeKind.INVERTER
        for seen in node.sees:
            style = ["arrowhead=odot"] if negates else []
            if (seen, node.name) in critical:
                style.append("penwidth=2.5")
            words = f" [{', '.join(style)}]" if style else ""
            lines.append(f"  {_quoted(seen)} -> {_quoted(node.name)}{words};")
    return "\n".join([*lines, "}", ""])


def _quoted(words: str) -> str:
    escaped = words.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'
