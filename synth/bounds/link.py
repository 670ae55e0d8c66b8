"""The least link delay: a bound on every slice of a chain, from its truth table alone.

Sections are those of ``synth/medium.md``; C is the link delay of section 11. Let o be the output
of a link and i the input of one, and let two rows differ in i alone and ask for different values of
o. All inputs of links are unknown until tick t, and known from then on, other than i alike in both
rows. So whatever is on or off for sure before is so in both rows, and stays so. Sure power is an OR
of sources (``delay.py``), and so is possible power.

**1 tick.** o reads its buffer, which shows one tick later what it saw, and at tick t it is not
known: it could not be right for both rows. So C is at least 1.

**2 ticks, if o is i turned round in these rows.** In the row with i off the buffer would have to
see for sure at tick t what it must not see, not even possibly, in the other. Its sources there are
inputs other than i, or were known before: they are the same in the other row.

**3 ticks, if o follows i in these rows, and in some row i is on and o must be off.** In that row
nothing may lead from i to o's buffer through wires, solids and buffers alone: it would be on
wherever i is. So what gives o its power for sure at tick t + 1, with i on, is

- an input other than i, or known before: then it gives it with i off, too;
- a buffer that for sure saw at tick t an input other than i, or what was known before: the same;
- an inverter whose host was not possibly charged at tick t, with i on. With i off the host is then
  not charged for sure: all that could do so is i, or is the same in both rows. So the inverter is
  possibly on, and o with it.

Each contradicts that o is off with i off. Hence C is at least 3: two inverters and the buffer.

Don't-cares ask for nothing. In a box as small as may be whether these ticks can be had is another
question, which only a search decides.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from synth.spec import BooleanFunction, Spec
from synth.words import ticks


@dataclass(frozen=True)
class LinkBound:
    """No slice has a link delay below ``ticks``.

    Attributes:
        ticks: the least link delay that is not ruled out.
        reason: why none has less; empty with 0 ticks.
    """

    ticks: int
    reason: str = ""

    @property
    def words(self) -> str:
        """``no slice has a link delay below 3 ticks: co follows ci, ...``."""
        return f"no slice has a link delay below {ticks(self.ticks)}: {self.reason}"


def least_link_delay(spec: Spec) -> LinkBound:
    """The bound on C of all links of a slice (section 11); of no chain it is 0."""
    found = (
        _of_one(spec.function, link.output, other.input)
        for link in spec.chain
        for other in spec.chain
    )
    return max(found, key=lambda bound: bound.ticks, default=LinkBound(0))


def _of_one(function: BooleanFunction, output: str, name: str) -> LinkBound:
    """The bound that one output and one input of links set."""
    pairs = set(_pairs(function, output, name))
    on = (column[1] for column in _columns(function, output, name))
    if ("0", "1") in pairs and "0" in on:
        reason = (
            f"{output} follows {name}, and must be off in some rows in which {name} is on: that "
            "takes two inverters and the buffer of the link"
        )
        return LinkBound(3, reason)
    if ("1", "0") in pairs:
        reason = f"{output} is {name} turned round: that takes an inverter and the link's buffer"
        return LinkBound(2, reason)
    if ("0", "1") in pairs:
        return LinkBound(1, f"{output} follows {name}: that takes the buffer of the link")
    return LinkBound(0)


def _columns(function: BooleanFunction, output: str, name: str) -> Iterator[tuple[str, str]]:
    """What is asked of the output with the input off and on, all other inputs alike."""
    column = function.outputs[output]
    bit = 1 << (len(function.inputs) - 1 - function.inputs.index(name))
    for row in range(function.rows):
        if not row & bit:
            yield column[row], column[row | bit]


def _pairs(function: BooleanFunction, output: str, name: str) -> Iterator[tuple[str, str]]:
    """Those of ``_columns`` in which both values are asked, and differ."""
    for off, on in _columns(function, output, name):
        if {off, on} == {"0", "1"}:
            yield off, on
