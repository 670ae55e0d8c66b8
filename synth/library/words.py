"""Functions in words, for lists."""

from __future__ import annotations

from synth.spec import BooleanFunction
from synth.spec.function_text import expression_of


def expressions(function: BooleanFunction) -> list[str]:
    """``y1 = x1 ^ x2`` for each output; its column if there is no short expression."""
    return [f"{name} = {_text(column, function)}" for name, column in function.outputs.items()]


def _text(column: str, function: BooleanFunction) -> str:
    text = None if "-" in column else expression_of(column, function.inputs)
    return text if text is not None else f"table {column}"
