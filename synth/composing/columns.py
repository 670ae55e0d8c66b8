"""Columns of products: wires along y that several crosspoints power and several taps read."""

from __future__ import annotations

from collections.abc import Sequence

from synth.composing.canvas import Canvas, Unbuildable


def paint_column(
    canvas: Canvas, x: int, height: int, sources: Sequence[int], taps: Sequence[int]
) -> None:
    """Paint the wires of a column; long ones are repeated towards where they are read.

    Args:
        canvas: where to paint.
        x, height: where it lies.
        sources: the y at which something powers it.
        taps: the y at which it is read.

    Raises:
        Unbuildable: if it is so long that signals run one way only, and that does not do.
    """
    low, high = min(taps), max(taps)
    reach = canvas.rules.reach
    if max(*sources, high) - min(*sources, low) < reach:
        low, high = min(*sources, low), max(*sources, high)
        for y in range(low, high + 1):
            canvas.wire((x, y, height))
        return
    if high - low >= reach and min(sources) < low and max(sources) > high:
        raise Unbuildable("columns are read over too long a way")
    between = [y for y in sources if low < y < high]
    if high - low >= reach or between:
        _one_way(canvas, x, height, sources, taps)
        return
    start, end = min(*sources, low), max(*sources, high)
    busy = {*sources, *taps}
    upwards = [(x, y, height) for y in range(start, low + 1)]
    downwards = [(x, y, height) for y in range(end, high - 1, -1)]
    for cells in (upwards, downwards):
        breaks = {cell for cell in cells if cell[1] not in busy}
        canvas.line(cells, breaks=breaks, spare=high - low)
    for y in range(low, high + 1):
        canvas.wire((x, y, height))


def _one_way(
    canvas: Canvas, x: int, height: int, sources: Sequence[int], taps: Sequence[int]
) -> None:
    """A column in which everything runs along +y: all that read it lie beyond its sources."""
    if max(sources) > min(taps):
        raise Unbuildable("a column is read before its last source")
    cells = [(x, y, height) for y in range(min(sources), max(taps) + 1)]
    busy = {*sources, *taps}
    canvas.line(cells, breaks={cell for cell in cells if cell[1] not in busy})
