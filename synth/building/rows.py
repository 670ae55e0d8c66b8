"""Circuits as rows of equal slices: slower than what is placed, and of kept slices far smaller.

Only iterative circuits are such rows (``synth.composing.iterative``): adders, comparators,
parities. Inputs and outputs lie along the row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice

from synth.building.best import Asked
from synth.building.proving import prove
from synth.composing.iterative import iterations
from synth.composing.kept_slices import SliceAsked
from synth.composing.rows import RowAsked
from synth.layout import Layout
from synth.layout.transform import turned

Source = Callable[[SliceAsked], list[Layout]]
"""Gives slices that do what is asked, by its names."""


def rows(asked: Asked, source: Source, most: int | None = None) -> Iterator[Layout]:
    """Rows of slices that compute a circuit, proven to.

    Args:
        asked: what is asked of the layout.
        source: of slices.
        most: the source is asked for slices of at most so many functions; None: of all.
    """
    circuit = asked.circuit
    pins = {name: asked.pins[name] for name in (*circuit.inputs, *circuit.outputs)}
    for iteration in islice(iterations(circuit), most):
        wanted = RowAsked(iteration, pins, asked.joint, asked.rules)
        for layout in source(wanted.slices):
            row = wanted.row(layout)
            if row is not None and _computes(asked, row):
                yield _lying(asked, row)


def _lying(asked: Asked, row: Layout) -> Layout:
    """A row across the box where its length has a limit that it keeps so."""
    limits = asked.limits
    if limits.length is None or row.length <= limits.length:
        return row
    across = turned(row)
    return across if limits.excess(across, 0) < limits.excess(row, 0) else row


def _computes(asked: Asked, row: Layout) -> bool:
    """Whether a row is right: judged, and proven equal to the circuit."""
    judgement = asked.judged(row)
    if judgement.faults or judgement.network is None or judgement.delay is None:
        return False
    proof = prove(asked.circuit, row, judgement, asked.pins, rules=asked.rules)
    return proof.equal is True
