"""What a layout was made for, as a specification: what it is judged by when nothing else is asked.

Between the two only the writing differs: a layout keeps equations or a table, a specification has
truth tables.
"""

from __future__ import annotations

from functools import lru_cache

from synth.errors import InputError
from synth.layout import Layout
from synth.layout.made_for import MadeFor, Table
from synth.simulator.demands import match_pins
from synth.spec import BooleanFunction, Limits, Spec
from synth.spec.documents import read_spec
from synth.spec.expression import parse_function
from synth.spec.function_text import expression_of
from synth.spec.tokens import RESERVED
from synth.spec.writing import spec_document


def made_for(function: BooleanFunction, delay: int | None) -> MadeFor:
    """What a layout of a function keeps of it.

    Args:
        function: what was asked.
        delay: ticks that the layout has to meet, or None.
    """
    return MadeFor(_written(function), delay)


@lru_cache(maxsize=256)
def _written(function: BooleanFunction) -> str | Table:
    """Equations where they can say it, else the table of a specification's document."""
    equations = []
    unwritable = not RESERVED.isdisjoint({*function.inputs, *function.outputs})
    for name, column in function.outputs.items():
        text = None
        if not unwritable and "-" not in column:
            text = expression_of(column, function.inputs)
        if text is None:
            document = spec_document(Spec(function))
            keys = ("inputs", "outputs", "table")
            inputs, outputs, rows = (tuple(document[key]) for key in keys)
            return Table(inputs, outputs, rows)
        equations.append(f"{name} = {text}")
    return "; ".join(equations)


def spec_made_for(layout: Layout) -> Spec | None:
    """What a layout was made for: function and delay, nothing else asked; None if it does not say.

    Raises:
        InputError: if its function cannot be read, or is not one of its pins.
    """
    kept = layout.made_for
    if kept is None:
        return None
    names = [pin.name for pin in layout.inputs]
    try:
        if isinstance(kept.function, str):
            function = parse_function(kept.function, names)
        else:
            table = kept.function
            function = read_spec(
                {
                    "inputs": list(table.inputs),
                    "outputs": list(table.outputs),
                    "table": list(table.rows),
                }
            ).function
        spec = Spec(function, limits=Limits(delay=kept.delay))
        match_pins(layout, spec)
    except InputError as error:
        where = error.place or ""
        own = "delay" if where.startswith("limits.") else f"function, {where}".rstrip(", ")
        raise InputError(error.problem, place=own, way_out=error.way_out) from None
    return spec
