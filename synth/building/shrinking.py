"""Makes circuits smaller over their seams: cuts and windows (``synth.shrinking``).

A circuit has too many inputs for a truth table. So windows are asked with the signals of the layout
in a few assignments (``sampled``), and every layout on the way is judged against the circuit, as
placements are. While layouts are small several starts are shrunk in turn: which of them ends as the
smallest shows only then.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from synth.building.best import Asked, Best, Made
from synth.building.sampled import sampled
from synth.layout import Layout
from synth.medium import Size
from synth.shrinking.aim import Aim, Judged, Pinning
from synth.shrinking.crew import crew
from synth.shrinking.turns import Turns
from synth.simulator.verdict import Verdict
from synth.spec import PinDemand, Spec

FURTHER_STARTS = 3
"""Most starts that are shrunk beside the best."""

NEAR = 1.5
"""How many times as large as the best a further start may be."""

FEW_CELLS = 1_000
"""Largest start that is shrunk beside others, in cells: to shrink one that is larger takes all the
time there is.
"""

TURN = 10_000
"""Effort of a turn: a second or two, so that all starts have had one soon."""


@dataclass(frozen=True, kw_only=True)
class CircuitAim(Aim):
    """What every layout along the way must keep: the circuit, and no more delay than it has.

    Attributes:
        asked: what is asked of the layout of the circuit.
        uneven: whether the start was not balanced, so that nothing else need be.
    """

    asked: Asked
    uneven: bool

    @property
    def own_judge(self) -> Aim:
        """Itself: the specification of its windows knows some assignments only."""
        return self

    def judge(self, layout: Layout) -> Judged | None:
        """The layout with its verdict and score if it is right, else None."""
        if not all(self.admits(pin, layout.size) for pin in layout.pins):
            return None
        # The longest way is found sooner than the ticks that plays of all assignments need.
        found = self.asked.judged(layout, play=self.asked.is_timed)
        late = found.delay is not None and found.delay > self.delay
        if late and self.asked.is_timed:
            found = self.asked.timed(found)
        if found.faults or found.delay is None or found.delay > self.delay:
            return None
        if not self.uneven and not self.asked.keeps_balance(found):
            return None
        verdict = Verdict(legal=True, function=True, delay=found.delay, stacks=None, outputs=None)
        return Judged(layout, verdict, self.score(layout, verdict))

    def excess(self, size: Size, parts: int) -> int:
        """By how much a box is beyond the limits, in cells."""
        length, width, height = size
        asked = self.asked.limits
        pairs = (
            (asked.length, length),
            (asked.width, width),
            (asked.height, height),
            (asked.volume, length * width * height),
        )
        return sum(max(0, own - most) for most, own in pairs if most is not None)


def worth_shrinking(best: Best) -> Iterator[Made]:
    """The best layout, and the starts that may end as smaller ones, the smallest first.

    Those keep limits and balance as well as the best does; where the delay is to be small they are
    as quick.
    """
    if best.made is None:
        return
    yield best.made
    if best.made.layout.volume > FEW_CELLS:
        return
    counted = 3 if best.asked.by == "delay" else 2
    most = min(FEW_CELLS, NEAR * best.made.layout.volume)
    left = FURTHER_STARTS
    for made in sorted(best.starts.values(), key=best.key):
        alike = best.key(made)[:counted] <= best.key(best.made)[:counted]
        if left and alike and made.layout.volume <= most and made.layout != best.made.layout:
            yield made
            left -= 1


@dataclass
class Shrinking:
    """Layouts of a circuit being shrunk.

    Attributes:
        best: given every layout that is gained.
        seed: of the moves.
        workers: how many windows are asked at once; 1: in this process.
    """

    best: Best
    seed: int
    workers: int = 1

    def run(self, deadline: float | None, effort: int | None) -> None:
        """Shrink until the time (on the monotonic clock) is up or the effort is spent."""
        askers = crew(self.workers)
        try:
            turns = Turns(
                deadline=deadline,
                most_effort=effort,
                turn=TURN,
                seed=self.seed,
                askers=askers,
                tidy=False,
            )
            for made in worth_shrinking(self.best):
                self._enter(turns, made)
            turns.take_turns()
        finally:
            askers.close()

    def _enter(self, turns: Turns, made: Made) -> None:
        """Take up a start, if it is a netlist."""
        asked, layout = self.best.asked, made.layout
        network = made.judgement.network
        if network is None or made.judgement.delay is None:
            return
        most_ticks = asked.limits.delay or 0
        spec = Spec(
            sampled(asked.circuit, network, asked.pins, self.seed),
            pins={pin.name: PinDemand(joint=pin.joint) for pin in layout.pins},
        )
        aim = CircuitAim(
            spec,
            max(made.judgement.delay if asked.is_timed else network.delay, most_ticks),
            ("volume",),
            Pinning.FACE,
            layout.pins,
            rules=asked.rules,
            asked=asked,
            uneven=made.uneven,
        )
        judged = aim.judge(layout)
        if judged is not None:

            def told(found: Judged) -> None:
                self.best.shrunk(found.layout, made.origin)

            turns.enter(aim, judged, told)
