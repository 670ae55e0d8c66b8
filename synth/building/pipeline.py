"""Builds a circuit: optimised, mapped, placed many times over, painted, shrunk, proven right."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from synth.building.annealing import Bursts, placed
from synth.building.balancing import balanced
from synth.building.best import Asked, Best
from synth.building.composed import composed
from synth.building.estimate import estimated_delay
from synth.building.events import Silent, Watcher
from synth.building.finishing import Way, finished
from synth.building.journal import Journal
from synth.building.limits import BuildLimits
from synth.building.mapping import NandNetwork, mapped
from synth.building.optimise import optimised
from synth.building.painting import painted
from synth.building.placing import Placement
from synth.building.result import Built
from synth.building.shrinking import Shrinking
from synth.circuits.circuit import Circuit
from synth.circuits.ticks import Ticks
from synth.composing.canvas import LONGEST, Unbuildable
from synth.composing.compose import MOST_CELLS
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Joint, Rules
from synth.words import counted

PLACING, MOST_PLACING = 0.3, 0.8
"""Share of the time in which placements are tried; in the rest the best is shrunk. Where placing
still gains, as it does with many gates, it goes on for longer, up to the second share."""

STALE = 1 / 3
"""Placing still gains if the last gain came within this share of its time."""

HOPELESS = 1.5
"""Placing ends early if its best is so many times larger than what is composed."""

FEW_BURSTS = 4
"""Bursts of placements before that is decided."""

MOST_GATES = 400
"""Most NANDs that are placed."""

WAYS = ("area", "delay")
"""What is to be small."""


def build(
    circuit: Circuit,
    *,
    limits: BuildLimits | None = None,
    by: str = "area",
    joint: Joint = Joint.BUFFER,
    time_limit_s: float = 60.0,
    rounds: int | None = None,
    effort: int | None = None,
    seed: int = 0,
    balance: bool = False,
    rules: Rules = DEFAULT_RULES,
    resume: str | Path | None = None,
    certificate: str | Path | None = None,
    watcher: Watcher | None = None,
) -> Built:
    """A layout that computes a circuit, judged by the simulator and proven equal to it.

    Args:
        circuit: what to build.
        limits: what the layout has to keep.
        by: ``area`` or ``delay``: what is to be small.
        joint: of every pin.
        time_limit_s: seconds for placing and shrinking; reading, judging and proving come on top.
        rounds: at most so many placements, whatever the time; the same in every run.
        effort: of shrinking, whatever the time, in conflicts of its solver (formulas count as
            well); the same in every run. None: until the time is up, or none at all with
            ``rounds``.
        seed: same seed, rounds and effort, same layout.
        balance: whether all outputs are to settle at the same tick.
        rules: the rule table.
        resume: a journal: every gain is kept there, and what it holds is gone on from.
        certificate: a folder for the circuit, the layout and the proof that they are equal.
        watcher: told how it goes on.

    Returns:
        The best layout; see ``Built``.

    Raises:
        InputError: if the circuit is too large, or an argument or the journal cannot be used.
        KeyboardInterrupt: never by itself; from the keyboard the best so far is proven and given.
    """
    if by not in WAYS:
        raise InputError(f"no way to build by {by!r}", place="by", way_out="use area or delay")
    asked = Asked(circuit, limits or BuildLimits(), by, joint, balance, rules)
    work = _Work(asked, seed, watcher or Silent())
    work.prepare(None if resume is None else Path(resume))
    try:
        work.improve(time_limit_s, rounds)
        if rounds is None or effort is not None:
            work.shrink(time_limit_s, effort)
    except KeyboardInterrupt:
        work.stopped()
    return finished(work.best, work.way, None if certificate is None else Path(certificate))


class _Work:
    """One circuit on its way to a layout."""

    def __init__(self, asked: Asked, seed: int, watcher: Watcher) -> None:
        self.asked = asked
        self.seed = seed
        self.best = Best(asked, watcher)
        self.routed = 0
        self.tried = 0
        self.placing_began = self.best.began

    def prepare(self, journal: Path | None) -> None:
        """Optimise and map, place once, and take up what a journal holds."""
        circuit, by, best = self.asked.circuit, self.asked.by, self.best
        clashing = set(circuit.inputs) & set(circuit.outputs)
        if clashing:
            raise InputError(
                f"{sorted(clashing)[0]!r} is an input and an output",
                way_out="give the output a name of its own",
            )
        better = optimised(circuit, by=by)
        self.ands, self.depth = len(better.ands), better.depth
        best.stage(
            "optimised",
            f"{counted(len(circuit.ands), 'AND')}, depth {circuit.depth}, became "
            f"{len(better.ands)}, depth {better.depth}",
        )
        self.network: NandNetwork = mapped(better, by=by)
        gates = len(self.network.gates)
        if gates > MOST_GATES:
            raise InputError(
                f"{gates} NANDs are too many",
                way_out=f"cut the circuit into pieces of at most {MOST_GATES}",
            )
        best.stage("mapped", f"{counted(gates, 'NAND')}, depth {self.network.depth}")
        asked = {
            "by": by,
            "joint": str(self.asked.joint),
            "limits": self.asked.limits.words(),
            "balance": "outputs" if self.asked.balance else "none",
        }
        best.journal = Journal.of(circuit, asked, journal)
        self._paint(placed(self.network))
        if best.made is not None:
            self.routed = best.made.layout.volume
            best.stage_of_best("routed")
        self._compose()
        best.take_up()

    def _compose(self) -> None:
        """Let a layout that is composed compete, if there are few inputs."""
        if self.asked.balance or not self.network.gates:
            return
        asked = self.asked
        layout = composed(asked.circuit, asked.joint, by=asked.by, rules=asked.rules)
        if layout is not None and self.best.offer(layout):
            self.best.stage_of_best("composed")

    def improve(self, time_limit_s: float, rounds: int | None) -> None:
        """Place again and again, from new starts, until rounds or a share of the time are over."""
        self.placing_began = self.best.gained_at = time.monotonic()

        def is_late() -> bool:
            now = time.monotonic()
            spent = now - self.placing_began
            if rounds is not None or spent < PLACING * time_limit_s:
                return False
            return spent >= MOST_PLACING * time_limit_s or now - self.best.gained_at > STALE * spent

        bursts = Bursts(
            self.network, seed=self.seed, price=self._price(), rounds=rounds, stop=is_late
        )
        while self.network.gates and not bursts.over and not is_late():
            found = bursts.next()
            if self._paint(found.placement):
                bursts.keep(found)
            if rounds is None and self._is_hopeless(bursts):
                break
        self.tried += bursts.tried

    def _is_hopeless(self, bursts: Bursts) -> bool:
        """Whether placing does not come near the best, which must then be composed."""
        made = self.best.made
        if made is None or bursts.best is None or self.asked.by == "delay":
            return False
        placed = math.prod(bursts.best.placement.size)
        return bursts.count >= FEW_BURSTS and placed > HOPELESS * made.layout.volume

    def shrink(self, time_limit_s: float, effort: int | None) -> None:
        """Shrink the best over its seams, until the time since the start or the effort is over."""
        made, asked = self.best.made, self.asked
        if made is None or not self.network.gates:
            return
        self.best.stage_of_best("placed")
        shrinking = Shrinking(
            asked.circuit,
            (made.layout, made.judgement),
            asked.pins,
            asked.limits,
            lambda layout, judgement: made.uneven or asked.keeps_balance(layout, judgement),
            self.best.offer,
            self.seed,
            asked.rules,
        )
        deadline = None if effort is not None else self.placing_began + time_limit_s
        shrinking.run(deadline, effort)
        self.best.stage_of_best("shrunk")

    def stopped(self) -> None:
        """Stopped from the keyboard: the best so far is what counts."""
        self.best.stage("stopped", "from the keyboard; going on with the best so far")

    def _price(self) -> Callable[[Placement], float]:
        """What a placement costs: its area or delay, and dearly what it breaks of limits."""
        limits = self.asked.limits
        by_delay = self.asked.by == "delay"
        timed = by_delay or limits.delay is not None

        def price(placement: Placement) -> float:
            length, width, height = placement.size
            delay = estimated_delay(placement, self.asked.rules.reach) if timed else 0
            over = 0.0
            for most, own in (
                (limits.length, length),
                (limits.width, width),
                (limits.delay, delay),
                (limits.volume, length * width * height),
            ):
                if most is not None and own > most:
                    over += own / most - 1
            area = placement.area + 0.05 * placement.wire
            base = area * (1 + delay) if by_delay else area
            return base * (1 + 4 * over)

        return price

    def _paint(self, placement: Placement) -> bool:
        """Paint and judge a placement, and keep it if it is better; whether it can be painted."""
        if max(placement.size) > LONGEST or math.prod(placement.size) > MOST_CELLS:
            return False
        try:
            layout = self._painted(placement)
        except Unbuildable:
            return False
        if max(layout.size) > LONGEST or layout.volume > MOST_CELLS:
            return False
        self.best.offer(layout)
        return True

    def _painted(self, placement: Placement) -> Layout:
        """The layout of a placement, with buffers before its pins where it is to be balanced."""
        asked = self.asked

        def paint(pads: Mapping[str, int]) -> Layout:
            return painted(
                placement, joints=asked.joint, names=asked.pins, rules=asked.rules, pads=pads
            )

        def ticks_of(layout: Layout) -> Mapping[str, Ticks] | None:
            judgement = asked.judged(layout)
            return None if judgement.faults else asked.ticks_of(layout, judgement)

        if not asked.balance:
            return paint({})
        return balanced(paint, ticks_of, 2 * asked.rules.buffer_delays[0] - 1)

    @property
    def way(self) -> Way:
        """How the best came about."""
        return Way(self.network, self.ands, self.depth, self.routed, self.tried)
