"""Makes a routed circuit smaller over its seams: cuts and windows (``synth.shrinking``).

A circuit has too many inputs for a truth table. So windows are asked with the signals of the layout
in a few assignments (``sampled``), and every layout on the way is judged against the circuit, as
placements are.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from synth.building.limits import BuildLimits
from synth.building.sampled import sampled
from synth.circuits.circuit import Circuit
from synth.circuits.judging import Judgement, judge
from synth.layout import Layout
from synth.medium import Rules, Size
from synth.shrinking.aim import Aim, Judged, Pinning
from synth.shrinking.crew import Alone
from synth.shrinking.events import Event, Gained
from synth.shrinking.journal import Journal
from synth.shrinking.loop import Loop
from synth.simulator.verdict import Verdict
from synth.spec import PinDemand, Spec


@dataclass(frozen=True, kw_only=True)
class CircuitAim(Aim):
    """What every layout along the way must keep: the circuit, and no more delay than it has.

    Attributes:
        circuit: what is computed.
        names: the pin of each input and output of the circuit.
        asked: the limits of the build.
        keeps: whether a layout keeps what else is asked of it.
    """

    circuit: Circuit
    names: Mapping[str, str]
    asked: BuildLimits
    keeps: Callable[[Layout, Judgement], bool]

    @property
    def own_judge(self) -> Aim:
        """Itself: the specification of its windows knows some assignments only."""
        return self

    def judge(self, layout: Layout) -> Judged | None:
        """The layout with its verdict and score if it is right, else None."""
        if not all(self.admits(pin, layout.size) for pin in layout.pins):
            return None
        found = judge(layout, self.circuit, self.names, play=False, rules=self.rules)
        if found.faults or found.delay is None or found.delay > self.delay:
            return None
        if not self.keeps(layout, found):
            return None
        verdict = Verdict(legal=True, function=True, delay=found.delay, stacks=None, outputs=None)
        return Judged(layout, verdict, self.score(layout, verdict))

    def excess(self, size: Size, parts: int) -> int:
        """By how much a box is beyond the limits, in cells."""
        length, width, height = size
        asked = self.asked
        pairs = (
            (asked.length, length),
            (asked.width, width),
            (asked.height, height),
            (asked.volume, length * width * height),
        )
        return sum(max(0, own - most) for most, own in pairs if most is not None)


@dataclass
class Shrinking:
    """A routed layout being shrunk.

    Args:
        circuit: what it computes.
        start: the layout and what the simulator says of it: no faults.
        names: the pin of each input and output of the circuit.
        asked: the limits of the build.
        keeps: whether a layout keeps what else is asked of it, such as balance.
        told: given every layout that is better than all before.
        seed: of the moves.
        rules: the rule table.
    """

    circuit: Circuit
    start: tuple[Layout, Judgement]
    names: Mapping[str, str]
    asked: BuildLimits
    keeps: Callable[[Layout, Judgement], bool]
    told: Callable[[Layout], object]
    seed: int
    rules: Rules

    def run(self, deadline: float | None, effort: int | None) -> None:
        """Shrink until the time (on the monotonic clock) is up or the effort is spent."""
        layout, judgement = self.start
        network = judgement.network
        if network is None or judgement.delay is None:
            return
        spec = Spec(
            sampled(self.circuit, network, self.names, self.seed),
            pins={pin.name: PinDemand(joint=pin.joint) for pin in layout.pins},
        )
        aim = CircuitAim(
            spec,
            max(judgement.delay, self.asked.delay or 0),
            ("volume",),
            Pinning.FACE,
            layout.pins,
            rules=self.rules,
            circuit=self.circuit,
            names=self.names,
            asked=self.asked,
            keeps=self.keeps,
        )
        judged = aim.judge(layout)
        if judged is None:
            return
        loop = Loop(
            aim,
            judged,
            Journal(),
            Alone(),
            seed=self.seed,
            deadline=deadline,
            most_effort=effort,
            tidy=False,
            reporter=self,
        )
        loop.run()

    def event(self, event: Event) -> None:
        """Hear of what was gained."""
        if isinstance(event, Gained):
            self.told(event.layout)
