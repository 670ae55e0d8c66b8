"""Windows for tests: cut into layouts, or with everything free; and all their models."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import count

from pysat.solvers import Solver

from synth.encoding import Question
from synth.encoding.geometry import Slot
from synth.encoding.windows import Labels, Promises, Window, WindowEncoding, encode_window
from synth.layout import Layout
from synth.medium import Cell
from synth.spec import Spec


def everywhere(question: Question) -> dict[str, tuple[Slot, ...]]:
    """Every place that the specification admits for each pin."""
    spec = question.spec
    return {
        name: tuple(
            slot
            for slot in question.geometry.slots()
            if slot.face in spec.faces(name) and spec.pins[name].at in (None, slot.cell)
        )
        for name in spec.pin_names
    }


def all_free(question: Question) -> Window:
    """The window that is the whole question."""
    return Window(
        question.spec,
        question.size,
        question.delay,
        cells={},
        free=frozenset(question.geometry.cells),
        pins=everywhere(question),
    )


def cut(
    layout: Layout,
    spec: Spec,
    delay: int,
    free: Iterable[Cell],
    promises: Promises | None = None,
    labels: Labels | None = None,
) -> Window:
    """The window of a layout whose free cells are given, its pins where they are."""
    chosen = frozenset(free)
    cells = {cell: block for cell, block in layout.cells.items() if cell not in chosen}
    pins = {pin.name: (Slot(pin.at, pin.face),) for pin in layout.pins}
    return Window(spec, layout.size, delay, cells, chosen, pins, promises=promises, labels=labels)


def models(encoding: WindowEncoding, most: int | None = None) -> Iterator[Layout]:
    """The layout of every model, each once, ``most`` at most."""
    if encoding.contradicts_itself:
        return
    choices = encoding.choices
    with Solver(name="cadical195", bootstrap_with=encoding.clauses) as solver:
        for _ in count() if most is None else range(most):
            if not solver.solve():
                return
            model = solver.get_model()
            true = set(model)
            yield encoding.decode(model)
            if not choices:
                return
            solver.add_clause([-literal if literal in true else literal for literal in choices])


def has_model(window: Window) -> bool:
    """Whether the formula of a window has a model."""
    return any(True for _ in models(encode_window(window), 1))
