"""Builds a circuit: optimised, mapped, placed many times over, painted, shrunk, proven right."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

from synth.building.annealing import placed
from synth.building.balancing import balanced
from synth.building.best import Asked, Best
from synth.building.bursts import STARTS, Bursts
from synth.building.composed import composed
from synth.building.events import Silent, Watcher
from synth.building.finishing import Way, finished
from synth.building.journal import Journal
from synth.building.limits import BuildLimits
from synth.building.mapping import NandNetwork, mapped
from synth.building.optimise import optimised
from synth.building.painting import painted
from synth.building.placing import Placement
from synth.building.price import Pricing
from synth.building.proving import require_room
from synth.building.result import Built
from synth.building.rows import rows
from synth.building.shrinking import Shrinking
from synth.building.slices import searched, stored
from synth.circuits.circuit import Circuit
from synth.circuits.ticks import Ticks
from synth.composing.canvas import LONGEST, MOST_CELLS, Unbuildable
from synth.composing.compose import ROW
from synth.composing.kept_slices import SliceAsked, kept
from synth.errors import InputError
from synth.layout import Layout
from synth.library.store import Store
from synth.machine import default_workers
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

IDLE_BURSTS = 4 * len(STARTS)
"""Bursts without a gain after which placing ends early: every start was tried twice."""

SLICING = 0.25
"""Share of the time in which a slice is looked for, where the circuit is a row and none is known.
"""

MOST_GATES = 400
"""Most NANDs that are placed."""

PLACED = "placing"
"""The origin of a layout that is no construction's."""

_NO_SLICE = (
    "the circuit looks like a row of equal slices, but no slice that makes it is known, and "
    "{looked}, or a store that holds one, may give a smaller layout"
)

WAYS = ("area", "delay")
"""What is to be small."""

PINS = ("free", "ends")
"""Where pins may be."""


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
    workers: int | None = None,
    balance: bool = False,
    pins: str = "free",
    store: Store | None = None,
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
        rounds: at most so many placements, whatever the time.
        effort: of shrinking, whatever the time, in conflicts of its solver (formulas count as
            well). None: until the time is up, or none at all with ``rounds``.
        seed: same seed, rounds and effort, same layout with one worker.
        workers: processes that place and shrink at once; 1: this one alone. None: one for each
            processor, up to 4; this one alone with ``rounds`` or ``effort``.
        balance: whether all outputs are to settle at the same tick.
        pins: ``free`` (on any side) or ``ends`` (inputs on the side -x, outputs on the side +x).
            Only where they are free a row of slices may be taken.
        store: where slices may be found besides those that are kept with the package; open.
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
    for name, count in (("rounds", rounds), ("effort", effort)):
        if count is not None and count < 0:
            raise InputError(f"{count} is too few", place=name, way_out="use 0 or more")
    if workers is None:
        workers = 1 if rounds is not None or effort is not None else default_workers()
    if workers < 1:
        raise InputError(f"{workers} workers", place="workers", way_out="use 1 or more")
    if pins not in PINS:
        raise InputError(f"no way to place pins {pins!r}", place="pins", way_out="use free or ends")
    if certificate is not None:
        require_room(Path(certificate), circuit)
    asked = Asked(circuit, limits or BuildLimits(), by, joint, balance, rules, pins == "ends")
    work = _Work(asked, seed, workers, watcher or Silent())
    work.prepare(None if resume is None else Path(resume))
    timed = rounds is None and effort is None
    try:
        left = time_limit_s - work.lay_rows(store, SLICING * time_limit_s if timed else 0.0)
        work.improve(left, rounds)
        if rounds is None or effort is not None:
            work.shrink(left, effort)
    except KeyboardInterrupt:
        work.stopped()
    return finished(work.best, work.way, None if certificate is None else Path(certificate))


class _Work:
    """One circuit on its way to a layout."""

    def __init__(self, asked: Asked, seed: int, workers: int, watcher: Watcher) -> None:
        self.asked = asked
        self.seed = seed
        self.workers = workers
        self.best = Best(asked, watcher)
        self.routed = 0
        self.tried = 0
        self.remark = ""
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
        if self.asked.ends:
            # Where pins are free, what was kept of such a build serves as well.
            asked["pins"] = "ends"
        best.open(Journal.of(circuit, asked, journal))
        self._paint(placed(self.network))
        best.stage_of_best("routed")
        self._compose()
        best.take_up()

    def _compose(self) -> None:
        """Let layouts that are composed compete, if there are few inputs."""
        asked = self.asked
        if asked.balance or not self.network.gates:
            return
        delay = asked.limits.delay
        layouts = composed(asked.circuit, asked.joint, delay=delay, by=asked.by, rules=asked.rules)
        gained = [self.best.offer(layout, made_by) for made_by, layout in layouts]
        if any(gained):
            assert self.best.made is not None
            self.best.stage("composed", self.best.made.origin.words)

    def lay_rows(self, store: Store | None, seconds: float) -> float:
        """Let rows of slices compete, if the circuit is one; returns the seconds that it took.

        Args:
            store: where slices may be found, or None.
            seconds: for looking for a slice, where none is known.
        """
        began, asked, best = time.monotonic(), self.asked, self.best
        if asked.ends or asked.balance or not self.network.gates:
            return 0.0
        looked = 0

        def known(slices: SliceAsked) -> list[Layout]:
            nonlocal looked
            looked += 1
            return [*kept(slices), *stored(slices, store)]

        def looked_for(slices: SliceAsked) -> list[Layout]:
            best.stage("slices", f"the circuit is a row of them; looking for one, {seconds:.3g} s")
            return searched(slices, seconds=seconds, seed=self.seed, workers=self.workers)

        for source, most in ((known, None), (looked_for, 1 if seconds > 0 else 0)):
            found = rows(asked, source, most)
            gained = [best.offer(row, ROW, number) for number, row in enumerate(found)]
            if any(gained):
                best.stage_of_best("rows")
            if gained:
                break
        else:
            if looked:
                none = f"none was found in {seconds:.3g} s; more time"
                untried = "none was looked for; a time limit, without rounds or effort"
                none = none if seconds > 0 else untried
                self.remark = _NO_SLICE.format(looked=none)
        return time.monotonic() - began

    def improve(self, time_limit_s: float, rounds: int | None) -> None:
        """Place again and again, from new starts, until rounds or a share of the time are over."""
        self.placing_began = began = self.best.gained_at = time.monotonic()

        def until() -> float | None:
            """When placing ends, if nothing more is gained."""
            if rounds is not None:
                return None
            stale = (self.best.gained_at - STALE * began) / (1 - STALE)
            most = began + MOST_PLACING * time_limit_s
            return min(most, max(began + PLACING * time_limit_s, stale))

        price = Pricing(self.asked.limits, self.asked.by == "delay", self.asked.rules.reach)
        bursts = Bursts(self.network, seed=self.seed, price=price, rounds=rounds)
        if not self.network.gates or bursts.over:
            return
        with closing(bursts.run(self.workers, until)) as ended:
            for burst, found in ended:
                if self._paint(found.placement, burst.start):
                    bursts.keep(found)
                self.tried = bursts.tried
                if rounds is None and (bursts.idle >= IDLE_BURSTS or self._is_hopeless(bursts)):
                    return

    def _is_hopeless(self, bursts: Bursts) -> bool:
        """Whether placing does not come near the best, which must then be composed."""
        placed = [made for (by, _), made in self.best.starts.items() if by == PLACED]
        if self.best.made is None or not placed or bursts.count < FEW_BURSTS:
            return False
        best, own = self.best.key(self.best.made), min(map(self.best.key, placed))
        # Limits and balance come first, then what is to be small.
        return own[:2] >= best[:2] and own[2] > HOPELESS * best[2]

    def shrink(self, time_limit_s: float, effort: int | None) -> None:
        """Shrink the best over its seams, until the time since the start or the effort is over."""
        if self.best.made is None or not self.network.gates:
            return
        self.best.stage_of_best("placed")
        deadline = None if effort is not None else self.placing_began + time_limit_s
        Shrinking(self.best, self.seed, self.workers).run(deadline, effort)
        self.best.stage_of_best("shrunk")

    def stopped(self) -> None:
        """Stopped from the keyboard: the best so far is what counts."""
        self.best.stage("stopped", "from the keyboard; going on with the best so far")

    def _paint(self, placement: Placement, start: int = 0) -> bool:
        """Paint and judge a placement, and keep it if it is better; whether it can be painted."""
        if max(placement.size) > LONGEST or math.prod(placement.size) > MOST_CELLS:
            return False
        try:
            layout = self._painted(placement)
        except Unbuildable:
            return False
        if max(layout.size) > LONGEST or layout.volume > MOST_CELLS:
            return False
        self.best.offer(layout, PLACED, start)
        self.routed = self.routed or layout.volume
        return True

    def _painted(self, placement: Placement) -> Layout:
        """The layout of a placement, with buffers before its pins where it is to be balanced."""
        asked = self.asked

        def paint(pads: Mapping[str, int]) -> Layout:
            return painted(
                placement, joints=asked.joint, names=asked.pins, rules=asked.rules, pads=pads
            )

        def ticks_of(layout: Layout) -> Mapping[str, Ticks] | None:
            judgement = asked.judged(layout, play=False)
            return None if judgement.faults else asked.ticks_of(judgement)

        if not asked.balance:
            return paint({})
        return balanced(paint, ticks_of, 2 * asked.rules.buffer_delays[0] - 1)

    @property
    def way(self) -> Way:
        """How the best came about."""
        return Way(self.network, self.ands, self.depth, self.routed, self.tried, self.remark)
