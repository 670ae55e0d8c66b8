"""Builds a circuit: optimised, mapped, placed many times over, painted, shrunk, proven right."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from synth.building.annealing import Bursts, placed
from synth.building.balancing import balanced, is_balanced, unbalanced_words
from synth.building.composed import composed
from synth.building.estimate import estimated_delay
from synth.building.events import Improved, Silent, StageDone, Watcher
from synth.building.journal import Journal
from synth.building.limits import BuildLimits, broken_words
from synth.building.mapping import NandNetwork, mapped
from synth.building.optimise import optimised
from synth.building.painting import painted
from synth.building.placing import Placement
from synth.building.proving import Proof, prove
from synth.building.result import Built
from synth.building.shrinking import Shrinking
from synth.circuits.circuit import Circuit
from synth.circuits.judging import MOST_PLAYED_INPUTS, Judgement, drawn_masks, judge
from synth.circuits.pieces import Pieces, pieces_of
from synth.circuits.pins import pin_names, spec_of
from synth.circuits.ticks import Ticks, output_ticks
from synth.composing.canvas import LONGEST, Unbuildable
from synth.composing.compose import MOST_CELLS
from synth.errors import InputError
from synth.layout import Layout, MadeFor
from synth.medium import DEFAULT_RULES, Joint, Rules
from synth.questions.outcome import Status
from synth.simulator.made_for import made_for
from synth.words import counted, ticks

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


@dataclass(frozen=True)
class _Made:
    """A layout with all that is known of it; ``uneven``: asked to be balanced, and is not."""

    layout: Layout
    judgement: Judgement
    uneven: bool

    def key(self, limits: BuildLimits, by: str) -> tuple[float, ...]:
        """What is to be small, the first entry counts most."""
        delay = self.judgement.delay
        late = 1 << 30 if delay is None else delay
        sizes = (late, self.layout.volume) if by == "delay" else (self.layout.volume, late)
        return (limits.excess(self.layout, delay), self.uneven, *sizes, self.layout.part_count)


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
    kept, told = limits or BuildLimits(), watcher or Silent()
    work = _Work(circuit, kept, by, joint, seed, balance, rules, told)
    work.prepare(None if resume is None else Path(resume))
    try:
        work.improve(time_limit_s, rounds)
        if rounds is None or effort is not None:
            work.shrink(time_limit_s, effort)
    except KeyboardInterrupt:
        work.stopped()
    return work.finish(None if certificate is None else Path(certificate))


class _Work:
    """One circuit on its way to a layout."""

    def __init__(
        self,
        circuit: Circuit,
        limits: BuildLimits,
        by: str,
        joint: Joint,
        seed: int,
        balance: bool,
        rules: Rules,
        watcher: Watcher,
    ) -> None:
        self.circuit = circuit
        self.limits = limits
        self.by = by
        self.joint = joint
        self.seed = seed
        self.balance = balance
        self.rules = rules
        self.watcher = watcher
        self.began = time.monotonic()
        self.pins = pin_names([*circuit.inputs, *circuit.outputs])
        self.best: _Made | None = None
        self.routed = 0
        self.tried = 0
        self.placing_began = self.gained_at = self.began
        self.wrong: Judgement | None = None

    @property
    def seconds(self) -> float:
        """Since the start."""
        return time.monotonic() - self.began

    def prepare(self, journal: Path | None) -> None:
        """Optimise and map, place once, and take up what a journal holds."""
        clashing = set(self.circuit.inputs) & set(self.circuit.outputs)
        if clashing:
            raise InputError(
                f"{sorted(clashing)[0]!r} is an input and an output",
                way_out="give the output a name of its own",
            )
        better = optimised(self.circuit, by=self.by)
        self.ands, self.depth = len(better.ands), better.depth
        self._stage(
            "optimised",
            f"{counted(len(self.circuit.ands), 'AND')}, depth {self.circuit.depth}, became "
            f"{len(better.ands)}, depth {better.depth}",
        )
        self.network: NandNetwork = mapped(better, by=self.by)
        gates = len(self.network.gates)
        if gates > MOST_GATES:
            raise InputError(
                f"{gates} NANDs are too many",
                way_out=f"cut the circuit into pieces of at most {MOST_GATES}",
            )
        self._stage("mapped", f"{counted(gates, 'NAND')}, depth {self.network.depth}")
        asked = {
            "by": self.by,
            "joint": str(self.joint),
            "limits": self.limits.words(),
            "balance": "outputs" if self.balance else "none",
        }
        self.journal = Journal.of(self.circuit, asked, journal)
        self._take(placed(self.network))
        if self.best is not None:
            self.routed = self.best.layout.volume
            self._stage("routed", _size_words(self.best))
        self._compose()
        self._resume()

    def _stage(self, stage: str, words: str) -> None:
        self.watcher.event(StageDone(stage, words, self.seconds))

    def _compose(self) -> None:
        """Let a layout that is composed compete, if there are few inputs."""
        if self.balance or not self.network.gates:
            return
        layout = composed(self.circuit, self.joint, by=self.by, rules=self.rules)
        if layout is not None and self._take_layout(layout) and self.best is not None:
            self._stage("composed", _size_words(self.best))

    def _resume(self) -> None:
        """Go on from the best of the journal, judged anew."""
        for layout in self.journal.layouts:
            judgement = judge(layout, self.circuit, self.pins, play=False, rules=self.rules)
            if not judgement.faults and self.best is not None:
                made = self._made(layout, judgement)
                if self._key(made) < self._key(self.best):
                    self.best = made

    def _key(self, made: _Made) -> tuple[float, ...]:
        return made.key(self.limits, self.by)

    def improve(self, time_limit_s: float, rounds: int | None) -> None:
        """Place again and again, from new starts, until rounds or a share of the time are over."""
        self.placing_began = self.gained_at = time.monotonic()

        def is_late() -> bool:
            now = time.monotonic()
            spent = now - self.placing_began
            if rounds is not None or spent < PLACING * time_limit_s:
                return False
            return spent >= MOST_PLACING * time_limit_s or now - self.gained_at > STALE * spent

        bursts = Bursts(
            self.network, seed=self.seed, price=self._price(), rounds=rounds, stop=is_late
        )
        while self.network.gates and not bursts.over and not is_late():
            found = bursts.next()
            if self._take(found.placement):
                bursts.keep(found)
            if rounds is None and self._is_hopeless(bursts):
                break
        self.tried += bursts.tried

    def _is_hopeless(self, bursts: Bursts) -> bool:
        """Whether placing does not come near the best, which must then be composed."""
        if self.best is None or bursts.best is None or self.by == "delay":
            return False
        placed = math.prod(bursts.best.placement.size)
        return bursts.count >= FEW_BURSTS and placed > HOPELESS * self.best.layout.volume

    def shrink(self, time_limit_s: float, effort: int | None) -> None:
        """Shrink the best over its seams, until the time since the start or the effort is over."""
        if self.best is None or not self.network.gates:
            return
        self._stage("placed", _size_words(self.best))
        uneven = self.best.uneven
        shrinking = Shrinking(
            self.circuit,
            (self.best.layout, self.best.judgement),
            self.pins,
            self.limits,
            lambda layout, judgement: uneven or self._keeps_balance(layout, judgement),
            self._take_layout,
            self.seed,
            self.rules,
        )
        deadline = None if effort is not None else self.placing_began + time_limit_s
        shrinking.run(deadline, effort)
        self._stage("shrunk", _size_words(self.best))

    def stopped(self) -> None:
        """Stopped from the keyboard: the best so far is what counts."""
        self._stage("stopped", "from the keyboard; going on with the best so far")

    def _price(self) -> Callable[[Placement], float]:
        """What a placement costs: its area or delay, and dearly what it breaks of limits."""
        asked = self.limits
        by_delay = self.by == "delay"
        timed = by_delay or asked.delay is not None

        def price(placement: Placement) -> float:
            length, width, height = placement.size
            delay = estimated_delay(placement, self.rules.reach) if timed else 0
            over = 0.0
            for most, own in (
                (asked.length, length),
                (asked.width, width),
                (asked.delay, delay),
                (asked.volume, length * width * height),
            ):
                if most is not None and own > most:
                    over += own / most - 1
            area = placement.area + 0.05 * placement.wire
            base = area * (1 + delay) if by_delay else area
            return base * (1 + 4 * over)

        return price

    def _take(self, placement: Placement) -> bool:
        """Paint and judge a placement, and keep it if it is better; whether it can be painted."""
        if max(placement.size) > LONGEST or math.prod(placement.size) > MOST_CELLS:
            return False
        try:
            layout = self._painted(placement)
        except Unbuildable:
            return False
        if max(layout.size) > LONGEST or layout.volume > MOST_CELLS:
            return False
        self._take_layout(layout)
        return True

    def _take_layout(self, layout: Layout) -> bool:
        """Judge a layout, named like its circuit; keep it if it is better, and say whether."""
        layout = layout.replace(name=self.circuit.name)
        judgement = judge(layout, self.circuit, self.pins, play=False, rules=self.rules)
        if judgement.faults:
            self.wrong = self.wrong or judgement
            return False
        made = self._made(layout, judgement)
        before = None if self.best is None else self._key(self.best)
        if before is not None and self._key(made) >= before:
            return False
        self.best = made
        if before is None or self._key(made)[:-1] < before[:-1]:
            # One with fewer parts only is not worth a line of its own.
            self.gained_at = time.monotonic()
            self.journal.note(layout)
            self.watcher.event(Improved(layout.size, judgement.delay, self.seconds))
        return True

    def _painted(self, placement: Placement) -> Layout:
        """The layout of a placement, with buffers before its pins where it is to be balanced."""

        def paint(pads: Mapping[str, int]) -> Layout:
            return painted(
                placement, joints=self.joint, names=self.pins, rules=self.rules, pads=pads
            )

        def ticks_of(layout: Layout) -> Mapping[str, Ticks] | None:
            judgement = judge(layout, self.circuit, self.pins, play=False, rules=self.rules)
            return None if judgement.faults else self._ticks(layout, judgement)

        if not self.balance:
            return paint({})
        return balanced(paint, ticks_of, 2 * self.rules.buffer_delays[0] - 1)

    def _ticks(self, layout: Layout, judgement: Judgement) -> dict[str, Ticks]:
        """When each output settles; nothing where that is not known."""
        if judgement.network is None:
            return {}
        return output_ticks(layout, judgement.network, self.circuit, self.pins, self.rules)

    def _keeps_balance(self, layout: Layout, judgement: Judgement) -> bool:
        """Whether all outputs settle together, where that is asked."""
        return not self.balance or is_balanced(self._ticks(layout, judgement))

    def _made(self, layout: Layout, judgement: Judgement) -> _Made:
        return _Made(layout, judgement, uneven=not self._keeps_balance(layout, judgement))

    def finish(self, certificate: Path | None) -> Built:
        """Judge the best by all means there are, prove it, and say what is claimed."""
        if self.best is None:
            return self._without_layout()
        made = self.best
        judgement = judge(made.layout, self.circuit, self.pins, rules=self.rules)
        if judgement.faults or judgement.network is None:
            return self._built(
                Status.REFUSED, f"the simulator rejects it: {judgement.faults[0]}", "", judgement
            )
        proof = prove(self.circuit, made.layout, judgement, self.pins, certificate, self.rules)
        self._stage("proven" if proof.equal else "not proven", proof.words)
        if proof.equal is False:
            return self._built(Status.REFUSED, proof.words, "", judgement)
        broken = [broken_words(one) for one in self.limits.broken(made.layout, judgement.delay)]
        if made.uneven:
            broken.append(unbalanced_words(self._ticks(made.layout, judgement)))
        reason = "; ".join(broken)
        if proof.equal is None:
            reason = "; ".join([*broken, proof.words])
        status = Status.UNDECIDED if reason else Status.FOUND
        return self._built(status, reason, self._claim(judgement, proof), judgement)

    def _without_layout(self) -> Built:
        if self.wrong is not None:
            return self._built(Status.REFUSED, self.wrong.faults[0], "", self.wrong)
        return self._built(
            Status.UNDECIDED,
            f"no placement fits a box of at most {LONGEST} cells a side and {MOST_CELLS:,} cells",
            "",
            None,
        )

    def _claim(self, judgement: Judgement, proof: Proof) -> str:
        if proof.equal is None:
            return ""
        assert self.best is not None
        delay = "" if judgement.delay is None else f" within {ticks(judgement.delay)}"
        even = self.balance and not self.best.uneven
        delay += ", all outputs at the same tick" if even else ""
        return (
            f"computes {self.circuit.name}{delay}, under {self.limits.words()}: {proof.words}. It "
            "is not claimed to be the smallest."
        )

    def _built(self, status: Status, reason: str, claim: str, judgement: Judgement | None) -> Built:
        layout = None if self.best is None else self.best.layout
        pieces = None
        outputs: dict[str, Ticks] = {}
        if layout is not None and judgement is not None and judgement.network is not None:
            pieces = self._pieces(layout, judgement)
            outputs = self._ticks(layout, judgement)
            layout = layout.replace(pieces=pieces.pieces, made_for=self._made_for())
        return Built(
            status=status,
            reason=reason,
            claim=claim,
            layout=layout,
            delay=None if judgement is None else judgement.delay,
            exact_delay=judgement is not None
            and (judgement.played or _reached(judgement, outputs)),
            outputs=outputs,
            pins=self.pins,
            routed=self.routed,
            ands=self.ands,
            depth=self.depth,
            pieces=pieces,
            tried=self.tried,
            seconds=self.seconds,
        )

    def _made_for(self) -> MadeFor | None:
        """What the layout's file says it was made for, where that is short enough for a table."""
        if len(self.circuit.inputs) > MOST_PLAYED_INPUTS:
            return None
        return made_for(spec_of(self.circuit).function, None)

    def _pieces(self, layout: Layout, judgement: Judgement) -> Pieces:
        """The pieces of the layout, named after the signals of the NANDs and the outputs."""
        assert judgement.network is not None
        full, masks = drawn_masks(len(self.circuit.inputs))
        values = self.network.values(dict(zip(self.circuit.inputs, masks, strict=True)), full)
        shown = {signal: name for name, signal in self.network.outputs.items() if signal}
        named = {
            self.pins.get(shown.get(name, name), name): value for name, value in values.items()
        }
        by_pin = {
            self.pins[name]: mask for name, mask in zip(self.circuit.inputs, masks, strict=True)
        }
        return pieces_of(layout, judgement.network, by_pin, full, named)


def _reached(judgement: Judgement, outputs: Mapping[str, Ticks]) -> bool:
    """Whether some output is known to need the whole delay."""
    return any(ticks.least == judgement.delay for ticks in outputs.values())


def _size_words(made: _Made) -> str:
    length, width, height = made.layout.size
    delay = made.judgement.delay
    late = "" if delay is None else f", at most {ticks(delay)}"
    return f"{length} x {width} x {height}, {made.layout.volume} cells{late}"
