"""The one way to say when things happen: inputs change at tick 0, outputs are right at ``delay``.

The delay is the smallest T that a layout meets (section 5): at tick T after a change of the inputs
its outputs are right, whatever state it was in, and stay so while the inputs stand still.
"""

from __future__ import annotations

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator import check, settle
from synth.simulator.acyclic import Network, network_of
from synth.simulator.settling import MAX_SETTLED_INPUTS

CHANGE = "The inputs change at tick 0"
"""The beginning of the count."""


def own_delay(layout: Layout, rules: Rules = DEFAULT_RULES) -> int | None:
    """The delay that a layout meets alone, for what it computes; None if none is known."""
    try:
        return check(layout.replace(stack=None), rules=rules).delay
    except InputError:  # Too many inputs to settle.
        return None


def settled_by(layout: Layout, rules: Rules = DEFAULT_RULES) -> int:
    """A tick after which nothing changes any more while the inputs stand still.

    The first such tick in the three-valued play; of layouts with too many inputs for that, the
    longest way through inverters and buffers.

    Raises:
        InputError: if the layout is not legal, or has too many inputs and is no netlist.
    """
    if len(layout.inputs) > MAX_SETTLED_INPUTS:
        network = network_of(layout, rules)
        if isinstance(network, Network):
            return max((element.known_at for element in network.elements), default=0)
    return len(settle(layout, rules).ticks) - 1


def timing_words(delay: int | None, outputs: str = "the outputs are right") -> str:
    """``The inputs change at tick 0; the outputs are right at tick 2.``

    Args:
        delay: the delay met, or None.
        outputs: what is true at that tick.
    """
    if delay is None:
        return f"{CHANGE}; there is no tick from which {outputs}."
    return f"{CHANGE}; {outputs} at tick {delay}."
