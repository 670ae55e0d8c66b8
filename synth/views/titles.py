"""What a layout is called where a picture, page or file needs a title."""

from __future__ import annotations

from functools import lru_cache

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator import settle
from synth.simulator.checking import settled_columns
from synth.spec.function_text import function_text

LONGEST = 72
"""The most characters of a title made from a function; a longer one is cut."""


def title_of(layout: Layout, rules: Rules = DEFAULT_RULES) -> str:
    """The layout's name, or else what it computes: ``q = a ^ b``.

    A layout without a name that computes nothing, since it is not legal, has no outputs, or does
    not settle, is called ``layout``.
    """
    if layout.name:
        return layout.name
    if not layout.outputs:
        return "layout"
    return _computed(layout, rules)


@lru_cache(maxsize=4)
def _computed(layout: Layout, rules: Rules) -> str:
    """What a layout computes, in words; kept, since a page asks for it more than once."""
    try:
        outputs = settled_columns(settle(layout, rules))
    except InputError:
        return "layout"
    if any("x" in column for column in outputs.values()):
        return "layout"
    words = "; ".join(function_text(outputs, [pin.name for pin in layout.inputs]))
    return words if len(words) <= LONGEST else words[: LONGEST - 3].rstrip() + "..."
