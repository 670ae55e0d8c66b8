"""The best layout of a circuit so far: every layout is judged, and kept if it is better."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, field

from synth.building.balancing import is_balanced
from synth.building.events import Improved, StageDone, Watcher
from synth.building.journal import Journal
from synth.building.limits import BuildLimits
from synth.circuits.circuit import Circuit
from synth.circuits.judging import Judgement, judge
from synth.circuits.pins import pin_names
from synth.circuits.ticks import Ticks, output_ticks
from synth.layout import Layout
from synth.medium import Joint, Rules
from synth.words import ticks


@dataclass(frozen=True)
class Asked:
    """What is asked of the layout of a circuit.

    Attributes:
        circuit: what it computes.
        limits: what it has to keep.
        by: ``area`` or ``delay``: what is to be small.
        joint: of every pin.
        balance: whether all outputs are to settle at the same tick.
        rules: the rule table.
        pins: the pin of each input and output of the circuit.
    """

    circuit: Circuit
    limits: BuildLimits
    by: str
    joint: Joint
    balance: bool
    rules: Rules
    pins: Mapping[str, str] = field(init=False)

    def __post_init__(self) -> None:
        names = pin_names([*self.circuit.inputs, *self.circuit.outputs])
        object.__setattr__(self, "pins", names)

    def judged(self, layout: Layout, *, play: bool = False) -> Judgement:
        """The verdict of the simulator; ``play``: every assignment is played where that can be."""
        return judge(layout, self.circuit, self.pins, play=play, rules=self.rules)

    def ticks_of(self, layout: Layout, judgement: Judgement) -> dict[str, Ticks]:
        """When each output settles; nothing where that is not known."""
        if judgement.network is None:
            return {}
        return output_ticks(layout, judgement.network, self.circuit, self.pins, self.rules)

    def keeps_balance(self, layout: Layout, judgement: Judgement) -> bool:
        """Whether all outputs settle together, where that is asked."""
        return not self.balance or is_balanced(self.ticks_of(layout, judgement))


@dataclass(frozen=True)
class Made:
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

    @property
    def words(self) -> str:
        """Its size and delay."""
        length, width, height = self.layout.size
        delay = self.judgement.delay
        late = "" if delay is None else f", at most {ticks(delay)}"
        return f"{length} x {width} x {height}, {self.layout.volume} cells{late}"


class Best:
    """Judges layouts, keeps the best, notes gains in the journal and tells of them.

    Args:
        asked: what a layout has to do.
        watcher: told of every gain, and of layouts that are wrong.

    Attributes:
        made: the best so far, or None.
        wrong: what the simulator said of the first layout that it rejected, or None.
        journal: gains are noted there.
        gained_at: when the last gain came, as ``time.monotonic`` gives it.
    """

    def __init__(self, asked: Asked, watcher: Watcher) -> None:
        self.asked = asked
        self.watcher = watcher
        self.made: Made | None = None
        self.wrong: Judgement | None = None
        self.journal = Journal()
        self.began = self.gained_at = time.monotonic()

    @property
    def seconds(self) -> float:
        """Since the start."""
        return time.monotonic() - self.began

    def stage(self, name: str, words: str) -> None:
        """Tell that a stage is done."""
        self.watcher.event(StageDone(name, words, self.seconds))

    def stage_of_best(self, name: str) -> None:
        """Tell that a stage is done, and the best layout there is by now."""
        if self.made is not None:
            self.stage(name, self.made.words)

    def offer(self, layout: Layout) -> bool:
        """Judge a layout, named like its circuit; keep it if it is better, and say whether."""
        layout = layout.replace(name=self.asked.circuit.name)
        judgement = self.asked.judged(layout)
        if judgement.faults:
            self._reject(judgement)
            return False
        made = self._made(layout, judgement)
        before = None if self.made is None else self._key(self.made)
        if before is not None and self._key(made) >= before:
            return False
        self.made = made
        if before is None or self._key(made)[:-1] < before[:-1]:
            # One with fewer parts only is not worth a line of its own.
            self.gained_at = time.monotonic()
            self.journal.note(layout)
            self.watcher.event(Improved(layout.size, judgement.delay, self.seconds))
        return True

    def take_up(self) -> None:
        """Go on from the best layout of the journal, judged anew."""
        for layout in self.journal.layouts:
            judgement = self.asked.judged(layout)
            if not judgement.faults and self.made is not None:
                made = self._made(layout, judgement)
                if self._key(made) < self._key(self.made):
                    self.made = made

    def _reject(self, judgement: Judgement) -> None:
        """A wrong layout is left out; the first is told, because there should be none."""
        if self.wrong is None:
            self.wrong = judgement
            self.stage("rejected", f"a layout that is wrong was left out: {judgement.faults[0]}")

    def _made(self, layout: Layout, judgement: Judgement) -> Made:
        return Made(layout, judgement, uneven=not self.asked.keeps_balance(layout, judgement))

    def _key(self, made: Made) -> tuple[float, ...]:
        return made.key(self.asked.limits, self.asked.by)
