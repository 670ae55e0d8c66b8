"""The netlist as a drawing: rectangular symbols of IEEE Std 91, signals from left to right.

``1`` in a symbol passes one input on, ``>=1`` is an OR; a circle at the output negates. Nodes that
are on are filled and their lines heavy; the critical path is a double line. The drawing has layers:
one column for each rank, nodes ordered by where their signals come from, and a track of its own for
every signal between two columns. Signals that run backwards, in loops, are dashed and run below.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from synth.layout.pins import show_size
from synth.simulator.explaining.netlist import Node, NodeKind
from synth.views.drawing import palette
from synth.views.drawing.svg import Picture, Point, element, lines, path, shifted, text, text_width
from synth.views.explanation import Explanation
from synth.views.text.explaining import node_words
from synth.views.titles import title_of
from synth.words import ticks

_BOX = 46.0
_ROW = 92.0
_TRACK = 11.0
_PAD = 24.0
_SMALL = 11.0
_STAGGER = 8.0
_KEY = 260.0
"""Width of an entry of the legend."""

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
        """The column of each node: inputs in the first, outputs in the last, the others by rank."""
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
            title += f"; critical path {found.ticks} tick{'s' if found.ticks != 1 else ''}"
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
        width = max(self.right + _PAD, text_width(title, 15) + 2 * _PAD, 2 * _PAD + _KEY)
        low = self.low + len(backs) * _TRACK + _PAD
        key = netlist_key(width - 2 * _PAD, powered=self.row is not None, loops=bool(backs))
        body.append(shifted(key.body, _PAD, low))
        return Picture(width, low + key.height + _PAD, "".join(body))

    def _critical(self, name: str, reader: str) -> bool:
        """Whether the critical path goes from one node to the other."""
        return (name, reader) in set(pairwise(self.found.critical))

    def _width(self, name: str) -> float:
        return 3.6 if self.row is not None and self._value(name) == "1" else 1.4

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
        """The point where a signal enters the symbol of a node."""
        sees = self.nodes[reader].sees
        step = (_BOX - 12) / max(1, len(sees) - 1) if len(sees) > 1 else 0
        # Ports in the order of the signals' heights, so that they need not cross.
        ordered = sorted(sees, key=lambda seen: (self._arrival(reader, seen), sees.index(seen)))
        offset = (ordered.index(name) - (len(sees) - 1) / 2) * step
        rank = self.rank[reader]
        y = self.ys[(reader, rank)] + offset
        # Keep clear of the tracks of other signals in the gap before.
        others = [self.ys[item] for item in self.columns[rank - 1] if item[0] != name]
        while any(abs(y - other) < 3 for other in others):
            y += 3
        return (self.xs[rank], y)

    def _arrival(self, reader: str, name: str) -> float:
        before = self.rank[reader] - 1
        return self.ys.get((name, max(before, self.rank[name])), self.low)

    def _signal(self, name: str) -> str:
        """All lines of a signal that run forwards: one track in each gap, a dot at each branch."""
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
            ends = [(self._critical(name, reader), point) for reader, point in targets]
            if further:
                y = self.ys[(name, rank + 1)]
                onwards = [r for r in readers if self.rank[r] > rank + 1]
                ends.append((any(self._critical(name, r) for r in onwards), (self.xs[rank + 1], y)))
            for double, point in ends:
                line = _line(
                    [start, (track, start[1]), (track, point[1]), point],
                    self._width(name),
                    double=double,
                )
                (critical if double else drawn).append(line)
            if len(ends) > 1:
                dots.append(element("circle", cx=track, cy=start[1], r=3.4, fill=palette.INK))
            if further:
                # On through the column to the next gap.
                y = self.ys[(name, rank + 1)]
                through = any(self._critical(name, r) for r in readers if self.rank[r] > rank + 1)
                ends_at = [(self.xs[rank + 1], y), self._end((name, rank + 1))]
                passed = _line(ends_at, self._width(name), double=through)
                (critical if through else drawn).append(passed)
        return "".join([*drawn, *critical, *dots])

    def _backwards(self, number: int, name: str, reader: str) -> str:
        """A signal of a loop: out of its node, below everything, and back."""
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
        on = self.row is not None and self._value(node.name) == "1"
        if node.kind is NodeKind.INPUT:
            drawn = path(
                [(x, y - 12), (x + 32, y - 12), (x + _BOX, y), (x + 32, y + 12), (x, y + 12)],
                closed=True,
                fill=palette.ON if on else palette.PAPER,
                stroke=palette.INK,
                stroke_width=1.6,
            )
            sign, above = above if len(above) < 4 else "in", above if len(above) >= 4 else ""
        else:
            drawn = _box(node.kind, x, top, on=on)
            sign = "1" if len(node.sees) == 1 else "≥1" if node.sees else "0"
        ink = palette.ON_INK if on else palette.INK
        drawn += text(sign, x + _BOX / 2 - (4 if node.kind is NodeKind.INPUT else 0), y + 5,
                      size=14, anchor="middle", fill=ink)  # fmt: skip
        if node.kind is NodeKind.BUFFER and node.delay > 1:
            drawn += text(
                ticks(node.delay), x + _BOX / 2, y + 18, size=9, anchor="middle", fill=ink
            )
        bold = "bold" if node.kind is NodeKind.OUTPUT else "normal"
        drawn += _label(above, x, top - 5, weight=bold)
        drawn += _label(below, x, top + _BOX + 13, fill=palette.FAINT)
        if self.row is not None:
            value = f"= {self._value(node.name)}"
            if node.kind is NodeKind.INPUT:
                drawn += _label(value, x, y + 26, weight="bold")
            else:
                drawn += text(value, x + 4, top + 13, size=10, weight="bold", fill=ink)
        return drawn


def _line(points: Sequence[Point], width: float, *, double: bool = False) -> str:
    """A signal; the critical path as a double line."""
    line = path(points, fill="none", stroke=palette.INK, stroke_width=width + (3 if double else 0))
    if double:
        line += path(points, fill="none", stroke=palette.PAPER, stroke_width=1.6)
    return line


def _box(kind: NodeKind, x: float, top: float, *, on: bool) -> str:
    """The symbol of a node other than an input, with a circle where it negates."""
    fill, line = {
        NodeKind.INVERTER: (palette.INVERTER_FILL, palette.INVERTER_LINE),
        NodeKind.BUFFER: (palette.BUFFER_FILL, palette.BUFFER_LINE),
    }.get(kind, (palette.PAPER, palette.INK))
    drawn = element(
        "rect", x=x, y=top, width=_BOX, height=_BOX, fill=palette.ON if on else fill, stroke=line,
        stroke_width=1.8,
    )  # fmt: skip
    if kind is NodeKind.INVERTER:
        drawn += element(
            "circle", cx=x + _BOX + 4, cy=top + _BOX / 2, r=4,
            fill=palette.ON_LINE if on else palette.PAPER, stroke=line, stroke_width=1.8,
        )  # fmt: skip
    return drawn


def _label(
    words: str, x: float, y: float, *, weight: str = "normal", fill: str = palette.INK
) -> str:  # fmt: skip
    """Small text on a ground of its own, so that no line runs through it."""
    if not words:
        return ""
    paper = element(
        "rect", x=x - 1, y=y - _SMALL + 1, width=0.9 * text_width(words, _SMALL), height=_SMALL + 2,
        fill=palette.PAPER,
    )  # fmt: skip
    return paper + text(words, x, y, size=_SMALL, weight=weight, fill=fill)


def netlist_key(width: float, *, powered: bool = False, loops: bool = False) -> Picture:
    """What the symbols of the netlist mean.

    Args:
        powered: whether values are shown.
        loops: whether signals run backwards.
    """
    small = _BOX * 0.6

    def boxed(kind: NodeKind, sign: str, on: bool = False) -> str:
        drawn = _box(kind, 0, 0, on=on) + text(
            sign, _BOX / 2, _BOX / 2 + 5, size=14, anchor="middle",
            fill=palette.ON_INK if on else palette.INK,
        )  # fmt: skip
        return f'<g transform="scale(0.6)">{drawn}</g>'

    def line(**kind: bool) -> str:
        heavy = 3.6 if kind.get("heavy") else 1.4
        points = [(0.0, small / 2), (small, small / 2)]
        return _line(points, heavy, double=kind.get("double", False))

    dashed = path(
        [(0, small / 2), (small, small / 2)], fill="none", stroke=palette.INK, stroke_width=1.4,
        stroke_dasharray="5 3",
    )  # fmt: skip
    entries = [
        (boxed(NodeKind.INVERTER, "1"), "inverter: the circle negates"),
        (boxed(NodeKind.BUFFER, "1"), "buffer"),
        (boxed(NodeKind.OUTPUT, "≥1"), "on when any signal it sees is"),
        (line(double=True), "double line: critical path"),
    ]
    if powered:
        entries.append((boxed(NodeKind.BUFFER, "1", on=True), "filled: on"))
        entries.append((line(heavy=True), "heavy line: signal that is on"))
    if loops:
        entries.append((dashed, "dashed: runs backwards"))
    fit = max(1, int(width // _KEY))
    body = [lines([((0, 0), (width, 0))], stroke=palette.FAINT, stroke_width=0.8)]
    for index, (drawn, words) in enumerate(entries):
        row, column = divmod(index, fit)
        x, y = column * _KEY, 12 + row * (small + 8)
        body.append(shifted(drawn, x, y) + text(words, x + small + 14, y + small / 2 + 4))
    return Picture(width, 12 + -(-len(entries) // fit) * (small + 8), "".join(body))


def netlist_dot(found: Explanation) -> str:
    """The netlist in the DOT language, for any program that draws graphs."""
    rows = [f"digraph {_quoted(title_of(found.layout))} {{", "  rankdir=LR;"]
    critical = set(pairwise(found.critical))
    for node in found.netlist.nodes.values():
        label = node_words(node)
        if node.kind is not NodeKind.INPUT:
            label += f"\n{found.logic(node.name)}"
        if node.kind is NodeKind.BUFFER:
            label += f"\n{node.delay} tick{'s' if node.delay != 1 else ''}"
        pin = node.kind in (NodeKind.INPUT, NodeKind.OUTPUT)
        shape = "plaintext" if pin else "box"
        rows.append(f"  {_quoted(node.name)} [shape={shape}, label={_quoted(label)}];")
    for node in found.netlist.nodes.values():
        negates = node.kind is NodeKind.INVERTER
        for seen in node.sees:
            style = ["arrowhead=odot"] if negates else []
            if (seen, node.name) in critical:
                style.append("penwidth=2.5")
            words = f" [{', '.join(style)}]" if style else ""
            rows.append(f"  {_quoted(seen)} -> {_quoted(node.name)}{words};")
    return "\n".join([*rows, "}", ""])


def _quoted(words: str) -> str:
    escaped = words.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'
