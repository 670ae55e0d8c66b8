"""Networks that hand one link on by what is killed and what is generated.

Where the other inputs stand still, the output of a link is off, on, or follows the input. So it is
the input while nothing *kills* it, or what is *generated* anyway; both are signals of the other
inputs alone. The words are those of the trade for carries. Such a network has few inverters between
input and output, and these hear two signals, however many inverters it takes to make those. Among
networks with fewest inverters there may be none like it.
"""

from __future__ import annotations

from collections.abc import Iterator

from synth.medium import ChainLink
from synth.search.placing.networks import Network, inverter_name, networks
from synth.spec import BooleanFunction

KILLED, GENERATED = " killed", " generated"
"""Names of the two signals while they are looked for; no pin is called so."""

KEPT_ROW, TURNED_ROW = 2, 1
"""Inverters in a row from the input to an output that follows it, or its complement."""


def handing(
    function: BooleanFunction,
    link: ChainLink,
    row: int,
    depth: int,
    most: int,
    until: float | None = None,
) -> Iterator[Network]:
    """Networks of the output of a link, those with fewest inverters first.

    Args:
        function: of the whole; its other outputs are left out.
        link: the link.
        row: the most inverters in a row from the link's input to its output.
        depth: the most inverters in a row of all else.
        most: how many networks for each number of inverters.
        until: when to stop looking for more, as ``time.monotonic`` gives it, or None.
    """
    column = function.outputs[link.output]
    part = BooleanFunction(function.inputs, {link.output: column})
    free = tuple(name for name in function.inputs if name != link.input)
    for turned, needed in ((False, KEPT_ROW), (True, TURNED_ROW)):
        columns = _columns(function.inputs.index(link.input), len(free), column, turned)
        if needed > row or columns is None:
            continue
        for source in networks(BooleanFunction(free, columns), depth, most=most, until=until):
            first = len(source.hears) + 1
            gathered = dict(zip(columns, source.outputs, strict=True))
            followed: tuple[tuple[str, ...], ...] = ((link.input, *gathered[KILLED]),)
            if not turned:
                followed = ((link.input,), (inverter_name(first), *gathered[KILLED]))
            last = inverter_name(first + len(followed) - 1)
            yield Network(part, (*source.hears, *followed), ((last, *gathered[GENERATED]),))


def _columns(place: int, others: int, column: str, turned: bool) -> dict[str, str] | None:
    """The truth tables of both signals over the other inputs.

    None if the output cannot be made of them, or nothing is ever killed: then it needs no inverter.

    Args:
        place: of the link's input among all inputs.
        others: how many others there are.
        column: the truth table of the output.
        turned: whether the output follows the complement of the input.
    """
    killed, generated = "", ""
    bit = 1 << others - place
    for number in range(1 << others):
        # The rows in which the others read so: the bits from the input's on move up.
        row = (number // bit * 2) * bit + number % bit
        off, on = column[row], column[row + bit]
        if turned:
            off, on = on, off
        if off == "1" and on == "0":
            return None
        # What is generated is on whatever the input; so it is free only where nothing must be off.
        generated += {"0": "0", "1": "1", "-": "0" if on == "0" else "-"}[off]
        killed += "-" if off == "1" else {"0": "1", "1": "0", "-": "-"}[on]
    return {KILLED: killed, GENERATED: generated} if "1" in killed else None
