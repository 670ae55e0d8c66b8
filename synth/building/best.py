"""The best layout of a circuit so far: every layout is judged, and kept if it is better."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from synth.building.balancing import is_balanced
from synth.building.events import Improved, StageDone, Watcher
from synth.building.journal import Journal
from synth.building.limits import BuildLimits
from synth.building.proving import difference
from synth.circuits.circuit import Circuit
from synth.circuits.judging import MOST_TRIED_INPUTS, Judgement, judge
from synth.circuits.pins import pin_names
from synth.circuits.ticks import Ticks, output_ticks, timed
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
        ends: whether inputs have to be on the side -x and outputs on the side +x.
        pins: the pin of each input and output of the circuit.
    """

    circuit: Circuit
    limits: BuildLimits
    by: str
    joint: Joint
    balance: bool
    rules: Rules
    ends: bool = False
    pins: Mapping[str, str] = field(init=False)

    def __post_init__(self) -> None:
        names = pin_names([*self.circuit.inputs, *self.circuit.outputs])
        object.__setattr__(self, "pins", names)

    @property
    def is_timed(self) -> bool:
        """Whether the delay counts."""
        return self.by == "delay" or self.limits.delay is not None

    def judged(self, layout: Layout, *, play: bool = True) -> Judgement:
        """The verdict of the simulator; ``play``: every assignment is played where that can be.

        Where not every assignment was tried, what a solver finds to be different is a fault too.
        """
        found = judge(layout, self.circuit, self.pins, play=play, rules=self.rules)
        if found.faults or len(self.circuit.inputs) <= MOST_TRIED_INPUTS:
            return found
        differs = difference(self.circuit, found, self.pins)
        return replace(found, faults=(differs,)) if differs else found

    def weighed(self, layout: Layout) -> Judgement:
        """The verdict, with the least delay where that decides whether the layout is better.

        The longest way is an upper bound that costs nothing. Plays of all assignments take longer,
        so they are left out where the bound keeps the limit and the delay is not to be small.
        """
        found, most = self.judged(layout), self.limits.delay
        late = found.delay is not None and most is not None and found.delay > most
        return self.timed(found) if late or self.by == "delay" else found

    def timed(self, judgement: Judgement) -> Judgement:
        """The verdict with the least delay, where that can be known."""
        return timed(judgement, self.circuit, self.pins)

    def ticks_of(self, judgement: Judgement, *, constants: bool = False) -> dict[str, Ticks]:
        """When each output settles; nothing where that is not known.

        Args:
            judgement: of a layout that is legal and right.
            constants: whether constants are told as well; no balance concerns them.
        """
        if judgement.network is None:
            return {}
        return output_ticks(judgement.network, self.circuit, self.pins, constants=constants)

    def keeps_balance(self, judgement: Judgement) -> bool:
        """Whether all outputs settle together, where that is asked."""
        return not self.balance or is_balanced(self.ticks_of(judgement))


@dataclass(frozen=True)
class Origin:
    """How a layout came about, before it was shrunk.

    Attributes:
        made_by: ``placing``, ``row of slices``, the name of a construction, or ``journal``.
        volume: cells of its box.
        delay: ticks, as ``Judgement.delay`` has it.
    """

    made_by: str
    volume: int
    delay: int | None

    @property
    def words(self) -> str:
        """``folded sheet, 1,560 cells, at most 6 ticks``."""
        return f"{self.made_by}, {self.volume:,} cells{_late(self.delay)}"


@dataclass(frozen=True)
class Made:
    """A layout with all that is known of it.

    Attributes:
        layout: the layout.
        judgement: what the simulator says of it.
        uneven: whether it was asked to be balanced, and is not.
        origin: how it came about.
    """

    layout: Layout
    judgement: Judgement
    uneven: bool
    origin: Origin

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
        late = _late(self.judgement.delay)
        return f"{length} x {width} x {height}, {self.layout.volume} cells{late}"


def _late(delay: int | None) -> str:
    return "" if delay is None else f", at most {ticks(delay)}"


class Best:
    """Judges layouts, keeps the best, notes gains in the journal and tells of them.

    Args:
        asked: what a layout has to do.
        watcher: told of every gain, and of layouts that are wrong.

    Attributes:
        made: the best so far, or None.
        starts: of layouts that were not shrunk the best of each origin and variant.
        wrong: what the simulator said of the first layout that it rejected, or None.
        journal: gains are noted there, as far as it holds nothing as good.
        held: the best layout of the journal as it was read, judged anew, or None.
        gained_at: when the last gain came, as ``time.monotonic`` gives it.
    """

    def __init__(self, asked: Asked, watcher: Watcher) -> None:
        self.asked = asked
        self.watcher = watcher
        self.made: Made | None = None
        self.starts: dict[tuple[str, int], Made] = {}
        self.wrong: Judgement | None = None
        self.journal = Journal()
        self.held: Made | None = None
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

    def offer(self, layout: Layout, made_by: str, variant: int = 0) -> bool:
        """Judge a layout that was not shrunk; keep it if it is better, and say whether.

        Args:
            layout: the layout.
            made_by: its origin.
            variant: tells apart starts of one origin that are both worth shrinking.
        """
        made = self._right(layout, made_by)
        if made is None:
            return False
        place = (made_by, variant)
        if place not in self.starts or self.key(made) < self.key(self.starts[place]):
            self.starts[place] = made
        return self._keep(made)

    def shrunk(self, layout: Layout, origin: Origin) -> bool:
        """Judge a layout that was shrunk; keep it if it is better, and say whether."""
        made = self._right(layout, origin)
        return made is not None and self._keep(made)

    def open(self, journal: Journal) -> None:
        """Note gains in a journal from now on, and judge what it holds."""
        self.journal = journal
        for layout in journal.layouts:
            judgement = self.asked.weighed(layout)
            if not judgement.faults:
                made = self._made(layout, judgement, "journal")
                if self.held is None or self.key(made) < self.key(self.held):
                    self.held = made

    def take_up(self) -> None:
        """Go on from the best layout of the journal, if there is none that is better."""
        held = self.held
        if held is not None and (self.made is None or self.key(held) < self.key(self.made)):
            self.made = held

    def _keep(self, made: Made) -> bool:
        """Keep a layout if it is better, and say whether."""
        before = None if self.made is None else self.key(self.made)
        if before is not None and self.key(made) >= before:
            return False
        self.made = made
        if before is None or self.key(made)[:-1] < before[:-1]:
            # One with fewer parts only is not worth a line of its own.
            self.gained_at = time.monotonic()
            if self.held is None or self.key(made)[:-1] < self.key(self.held)[:-1]:
                # What is worse than what the journal holds would never be gone on from.
                self.journal.note(made.layout)
            event = Improved(made.layout.size, made.judgement.delay, self.seconds)
            self.watcher.event(event)
        return True

    def key(self, made: Made) -> tuple[float, ...]:
        """What is to be small, the first entry counts most."""
        return made.key(self.asked.limits, self.asked.by)

    def _reject(self, judgement: Judgement) -> None:
        """A wrong layout is left out; the first is told, because there should be none."""
        if self.wrong is None:
            self.wrong = judgement
            self.stage("rejected", f"a layout that is wrong was left out: {judgement.faults[0]}")

    def _right(self, layout: Layout, origin: Origin | str) -> Made | None:
        """A layout with its judgement, named like its circuit; None if it is wrong."""
        layout = layout.replace(name=self.asked.circuit.name)
        judgement = self.asked.weighed(layout)
        if judgement.faults:
            self._reject(judgement)
            return None
        return self._made(layout, judgement, origin)

    def _made(self, layout: Layout, judgement: Judgement, origin: Origin | str) -> Made:
        """It with all that is known; its origin, or by what it was made just now."""
        uneven = not self.asked.keeps_balance(judgement)
        if isinstance(origin, str):
            origin = Origin(origin, layout.volume, judgement.delay)
        return Made(layout, judgement, uneven, origin)
