"""What the windows of one layout share: its promises and its signals."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from synth.encoding.windows import Labels, Promises, labels_of, promises_of
from synth.shrinking.aim import Aim, Judged
from synth.shrinking.netlist import Netlist


@dataclass
class Known:
    """What the windows of one layout share; worked out when it is first needed.

    Attributes:
        base: the layout.
        aim: what is to be kept.
        rows: the rows that are played, or None for all.
    """

    base: Judged
    aim: Aim
    rows: tuple[int, ...] | None

    @cached_property
    def promises(self) -> Promises:
        """The promises on which its goal rests."""
        aim = self.aim
        ticks = aim.ticks(self.base)
        return promises_of(self.base.layout, aim.spec, ticks, rows=self.rows, rules=aim.rules)

    @cached_property
    def labels(self) -> Labels:
        """The signals that it has."""
        aim = self.aim
        ticks = aim.ticks(self.base)
        netlist = Netlist.of(self.base.layout, aim.rules)
        if netlist is not None:
            return netlist.labels(aim.spec.function, self.rows)
        return labels_of(self.base.layout, aim.spec, ticks, rows=self.rows, rules=aim.rules)
