"""The one way to say when things happen: inputs change at tick 0, outputs are right at ``delay``.

The delay is the smallest T that a layout meets (section 5): at tick T after a change of the inputs
its outputs are right, whatever state it was in, and stay so while the inputs stand still.
"""

from __future__ import annotations

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator import check

CHANGE = "The inputs change at tick 0"
"""The beginning of the count."""


def own_delay(layout: Layout, rules: Rules = DEFAULT_RULES) -> int | None:
    """The delay that a layout meets alone, for what it computes; None if none is known."""
    try:
        return check(layout.replace(stack=None), rules=rules).delay
    except InputError:  # Too many inputs to settle.
        return None


def timing_words(delay: int | None, outputs: str = "the outputs are right") -> str:
    """``The inputs change at tick 0; the outputs are right at tick 2.``

    Args:
        delay: the delay met, or None.
        outputs: what is true at that tick.
    """
    if delay is None:
        return f"{CHANGE}; there is no tick from which {outputs}."
    return f"{CHANGE}; {outputs} at tick {delay}."
