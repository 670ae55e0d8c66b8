"""The least delay: a bound on the ticks of every layout of a function, from its truth table alone.

Sections are those of ``synth/medium.md``. Sets are sets of rows (input assignments). In the
three-valued play (section 5) let S(g) be the rows in which g is surely on at a tick, and P(g) those
in which it is possibly on. A row *lies below* another if every input that is on in it is on in the
other, too.

**Everything is an OR.** In one instant (section 4) every wire, solid and lead, what a buffer sees
and what an output reads is on exactly where one of some sources is on: inputs, inverters and
buffers. Each rule names things of which one being on is enough, none asks for two at once or for
one to be off, and the strength of a wire is a largest value; so the least solution for many sources
is the union of those for each alone. Which sources these are, the layout says. In the possible play
they are more, because strength does not fade there; neighbours in a stack and what they might do
come on top. So a source g that makes an output q surely on has

    S(g) within S(q),  P(g) within P(q),  and S(g) within P(g)

(the last by induction over ticks: section 5 only turns more "sure" into less "possible" and the
other way round). An output that meets T has P(q) without any row where q must be 0, and every row
where it must be 1 in S(q). Hence:

    each row r where q must be 1 lies in S(g) of some g with no row where q must be 0 in S(g).   (*)

Rows that are don't-cares appear nowhere. Each output stands alone: others, pins that share a cell,
and what they need can only ask for more. So can joints: an input that is fed back, or that holds
a buffer, breaks a layout or makes it know less. What holds of a layout alone holds of each copy in
a stack, since a row of one copy has to work (section 7).

**0 ticks.** Inverters and buffers are unknown at tick 0: S is empty. So g in (*) is an input: one
that is on at r, and off wherever q must be 0.

**1 tick.** Besides an input, g in (*) may be

- a buffer. It is surely on at tick 1 only if its delay is 1, nothing holds it, and it saw power for
  sure at tick 0: S(g) is an OR of inputs. That input of them which is on at r is then off wherever
  q must be 0, and serves in place of g.
- an inverter. It is surely on at tick 1 where its host was not possibly charged at tick 0. A host
  that an inverter or buffer reaches, or the input of a neighbour, is possibly charged then in every
  row; so S(g) is empty, or the NOR of those inputs that reach the host (of none: every row, which
  is how a constant 1 comes about). They are off at r, so the NOR holds in every row that lies
  below r. None of these may be a row where q must be 0. The NOR of all the inputs that are off at
  r is on in just these rows and no others.

So q can be had within 1 tick only if each row where it must be 1 has an input on that is off
wherever q must be 0, or has no row below it where q must be 0.

**2 ticks and more.** Here g in (*) may be an inverter whose host is reached by inverters that were
decided at tick 1. Of the inputs that are off at r and inverters on those that are on at r, it
makes the AND that is on at r alone. So the condition (*) never fails: as a network of inverters
and wires, space left aside, every function can be had within 2 ticks, as the OR of such ANDs, and
with any number of outputs. No bound of this kind is above 2. Whether the network finds room is
another question, which only a search decides.

With space left aside the conditions for 0 and 1 tick are sufficient as well: the OR of the inputs
and NORs named. In space they are necessary, and that is all that is claimed.
"""

from __future__ import annotations

from dataclasses import dataclass

from synth.spec import BooleanFunction


@dataclass(frozen=True, slots=True)
class DelayBound:
    """A bound on the delay of every layout of a function.

    Attributes:
        ticks: no layout of any size meets fewer: 0, 1 or 2.
        reason: why not, in one sentence; empty for 0 ticks, which need none.
    """

    ticks: int
    reason: str = ""


NO_BOUND = DelayBound(0)
"""What is known about the delay without looking at the function."""


def least_delay(function: BooleanFunction) -> DelayBound:
    """The largest bound on the delay that the truth table gives; the module says why it holds.

    It takes a few operations on whole columns for each output. Joints, faces, ground, stacking and
    the rule table do not matter.
    """
    outputs = [_Output(function, name) for name in function.outputs]
    for tick in (1, 0):
        for output in outputs:
            row = output.too_fast(tick)
            if row is not None:
                return DelayBound(tick + 1, output.reason(tick, row))
    return NO_BOUND


class _Output:
    """One output; columns are masks, bit ``r`` for row ``r`` of counting order."""

    def __init__(self, function: BooleanFunction, name: str) -> None:
        self.function = function
        self.name = name
        column = function.outputs[name]
        self.ones = sum(1 << row for row, value in enumerate(column) if value == "1")
        self.zeros = sum(1 << row for row, value in enumerate(column) if value == "0")
        count = len(function.inputs)
        self.places = [1 << (count - 1 - index) for index in range(count)]
        """For each input the bit of a row's number that says whether it is on."""
        rows = range(function.rows)
        self.on = [sum(1 << row for row in rows if row & place) for place in self.places]

    def too_fast(self, tick: int) -> int | None:
        """A row where the output must be 1 and nothing can make it so by tick 0 or 1."""
        had = self._powered_at()
        if tick == 1:
            had |= ~self._above_a_zero()
        missing = self.ones & ~had
        return missing.bit_length() - 1 if missing else None

    def _powered_at(self) -> int:
        """The rows with an input on that is off wherever the output must be 0."""
        powered = 0
        for on in self.on:
            if not on & self.zeros:
                powered |= on
        return powered

    def _above_a_zero(self) -> int:
        """The rows that have a row below them, or are one, where the output must be 0."""
        above = self.zeros
        for on, place in zip(self.on, self.places, strict=True):
            above |= (above & ~on) << place
        return above

    def reason(self, tick: int, row: int) -> str:
        """Why nothing can be on in a row by tick 0 or 1, in one sentence."""
        cannot = f"{tick} tick{'' if tick == 1 else 's'} cannot be had by any layout"
        if not self.places:
            return f"{cannot}: {self.name} must be 1, and there is no input"
        one = f"{self.name} must be 1 at {self._said(row)}"
        powered = [
            name
            for name, place in zip(self.function.inputs, self.places, strict=True)
            if row & place
        ]
        if not powered:
            # By tick 1 an inverter can be on there, so this is tick 0.
            return f"{cannot}: {one}, where no input is on"
        if len(powered) == 1:
            inputs = f"the one input on there ({powered[0]}) is also on"
        else:
            inputs = f"each input on there ({', '.join(powered)}) is also on"
        text = f"{cannot}: {one}; {inputs} where {self.name} must be 0"
        if tick == 0:
            return text
        below = next(r for r in range(row) if self.zeros >> r & 1 and not r & ~row)
        return (
            f"{text}, and an inverter surely on there by tick 1 is also on at {self._said(below)}, "
            f"where {self.name} must be 0"
        )

    def _said(self, row: int) -> str:
        names = zip(self.function.inputs, self.places, strict=True)
        return " ".join(f"{name}={int(bool(row & place))}" for name, place in names)
