"""The question put to the solver: one box, one delay, one specification."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from synth.encoding.free_table import FreeTable
from synth.encoding.geometry import Geometry
from synth.medium import AXES, DEFAULT_RULES, Joint, Rules, Size
from synth.spec import Spec

ACCELERATIONS = {
    "symmetry": "one layout of each set that mirroring and exchanging inputs makes",
    "order": "givers of powered wires in one order a play instead of links counted at every tick",
    "monotone": "what is surely on is possibly on, said outright",
    "known": "what is surely on stays so and what is not possibly on too, said outright",
    "compared": "what plays of other inputs say of each other, said outright",
    "sensitive": "rows where no single input changes an output are asked only when a layout fails",
    "links": "wires in a row are bounded by the longest way without short cuts that fits the box",
    "first-tick": "tick 0 is put together from one plane for each input and one for the unknown",
    "last-tick": "at the last tick only what the goal reads is played",
    "backwards": "what leads to an output is said once, in place of every row's last tick",
    "tallest": "a box without a layout rules out all lower boxes of its length and width",
    "structure": "under a time limit, known networks are placed before the walk over boxes",
    "above": "under a time limit, a layout is composed at once and shrunk beside the walk",
    "least-delay": "delays that the truth table rules out for every layout are not asked about",
}
"""What makes the search quicker and changes no answer; each can be left out."""


@dataclass(frozen=True)
class Play:
    """One thing the inputs may do while the layout settles.

    Attributes:
        index: which play this is; rows come in counting order.
        row: the input assignment; None for the neighbour, whose inputs are unknown, and for a
            part of tick 0 (``Question.parts_of_tick_0``).
        on: the inputs that are on; empty for the neighbour.
        possibly: the inputs that are possibly on; all of them for the neighbour.
        since: the first tick of it.
        before: the play that it goes on from at that tick, or None: from tick 0.
    """

    index: int
    row: int | None
    on: frozenset[str]
    possibly: frozenset[str]
    since: int = 0
    before: Play | None = None

    def at(self, tick: int) -> Play:
        """The play itself, or at an earlier tick the one that it goes on from."""
        return self if self.before is None or tick >= self.since else self.before


@dataclass(frozen=True)
class Question:
    """Is there a layout of ``spec`` in a box of ``size`` cells that meets ``delay`` ticks?

    Attributes:
        spec: the specification; its limits on sizes and delay are not read here.
        size: the box.
        delay: T of section 5.
        parts: most cells that may hold a part, or None.
        rules: the rule table.
        break_symmetry: ask only for one layout of each set that mirroring, turning and
            exchanging interchangeable inputs makes (``synth.encoding.symmetry``).
        monotone: say outright that what is surely on is possibly on (``synth.encoding.implied``).
        known: say outright that what is known at a tick stays known (the same module).
        compared: say outright what plays of other inputs say of each other (the same module).
        sensitive: ask only for the rows that some single input changes (``asked_rows``). Without a
            layout for these there is none for all rows; a layout for these may fail another row.
        count_links: count the links between a powered wire and its source, so that the formula is
            exact in every box (``synth.encoding.givers``); without, it is smaller.
        bound_links: ask for no longer runs of powered wires than the static rules admit in the box
            (``synth.encoding.link_bound``): few enough, mostly, to make the formula exact.
        first_tick: put tick 0 together from what each input alone reaches and what the unknown
            reaches (``synth.encoding.rails``), in place of two rails of its own for each play.
            Without effect where links are counted, and at 0 ticks.
        last_tick: at the last tick state only what the goal reads (``reads``).
        backwards: say once for all rows what leads to an output, in place of power at the last tick
            (``synth.encoding.backwards``). Without effect as ``tells_backwards`` says.
        allow_held: also admit layouts in which a buffer points into another's side. Section 5
            says that the synthesiser makes none; tests use it to compare every layout.
        free: leaves the truth table free: variables say what the layout computes, and the columns
            of ``spec`` hold nothing but don't cares. None: the columns of ``spec`` are asked.
    """

    spec: Spec
    size: Size
    delay: int
    parts: int | None = None
    rules: Rules = DEFAULT_RULES
    break_symmetry: bool = True
    monotone: bool = True
    known: bool = True
    compared: bool = True
    sensitive: bool = False
    count_links: bool = False
    bound_links: bool = True
    first_tick: bool = True
    last_tick: bool = True
    backwards: bool = True
    allow_held: bool = False
    free: FreeTable | None = None

    def __post_init__(self) -> None:
        if self.free is not None:
            self.free.require_fit(self.spec)

    def without(self, accelerations: Iterable[str]) -> Question:
        """The same question with those of ``ACCELERATIONS`` left out of its formula."""
        left_out = set(accelerations)
        return replace(
            self,
            break_symmetry=self.break_symmetry and "symmetry" not in left_out,
            monotone=self.monotone and "monotone" not in left_out,
            known=self.known and "known" not in left_out,
            compared=self.compared and "compared" not in left_out,
            sensitive=self.sensitive and "sensitive" not in left_out,
            count_links=self.count_links or "order" in left_out,
            bound_links=self.bound_links and "links" not in left_out,
            first_tick=self.first_tick and "first-tick" not in left_out,
            last_tick=self.last_tick and "last-tick" not in left_out,
            backwards=self.backwards and "backwards" not in left_out,
        )

    @cached_property
    def geometry(self) -> Geometry:
        """Sections 7 and 11: the box, its ground and its neighbours; the pitch is the size unless
        stated, and of a chain always.

        Medium: 7 pitch; 11 pitch.
        """
        stack = self.spec.stack
        if stack is None:
            return Geometry(self.size, self.spec.ground)
        pitch = stack.pitch or self.size[AXES.index(stack.axis)]
        return Geometry(self.size, self.spec.ground, stack.axis, pitch)

    @cached_property
    def asked_rows(self) -> tuple[int, ...]:
        """The rows that are played: all, or those that are *sensitive*, if any is.

        A row is sensitive if a change of some single input changes the column of some output. A
        layout has to tell two rows apart where an output changes between them, and a layout that
        does so mostly gets the other rows right. It may not, so whoever leaves rows out plays the
        layout with all of them afterwards.
        """
        function = self.spec.function
        every = range(function.rows)
        if not self.sensitive or self.free is not None:
            return tuple(every)
        values = list(zip(*function.outputs.values(), strict=True))
        inputs = range(len(function.inputs))
        rows = [row for row in every if any(values[row] != values[row ^ 1 << i] for i in inputs)]
        return tuple(rows or every)

    @property
    def every_row(self) -> bool:
        """Whether all rows are played."""
        return len(self.asked_rows) == self.spec.function.rows

    @cached_property
    def plays(self) -> tuple[Play, ...]:
        """Section 11: one play for every row that is asked, with links known as all inputs are.

        Medium: 11 delay.
        """
        function = self.spec.function
        asked = set(self.asked_rows)
        plays = []
        for row, bits in enumerate(function.assignments()):
            on = frozenset(name for name, bit in zip(function.inputs, bits, strict=True) if bit)
            if row in asked:
                plays.append(Play(row, row, on, on))
        return tuple(plays)

    @cached_property
    def neighbour(self) -> Play | None:
        """Section 7: the play of a neighbour in a stack; its inputs are unknown.

        Medium: 7 every copy.
        """
        if self.spec.stack is None:
            return None
        inputs = frozenset(self.spec.function.inputs)
        return Play(self.spec.function.rows, None, frozenset(), inputs)

    @property
    def all_plays(self) -> tuple[Play, ...]:
        """The rows asked, then the neighbour where there is one."""
        return self.plays if self.neighbour is None else (*self.plays, self.neighbour)

    @property
    def ticks(self) -> range:
        """The ticks played: 0 to the delay."""
        return range(self.delay + 1)

    @property
    def link_delay(self) -> int | None:
        """Section 11: ticks after their inputs in which a chain's links must be right, or None.

        None as well where nothing has to be asked: once everything is known, the delay is enough.

        Medium: 11 link delay.
        """
        asked = self.spec.limits.link_delay
        if not self.spec.chain or asked is None or asked >= self.delay:
            return None
        return asked

    @cached_property
    def waiting(self) -> tuple[Play, ...]:
        """Section 11: for every assignment of the other inputs, a play with all links unknown.

        They stay so up to the delay. A slice alone may know more still later; in a row its links
        are there by then.

        Medium: 11 link delay.
        """
        if self.link_delay is None:
            return ()
        late = frozenset(link.input for link in self.spec.chain)
        known = dict.fromkeys(play.on - late for play in self.plays)
        first = self.spec.function.rows + 1
        return tuple(Play(first + n, None, on, on | late) for n, on in enumerate(known))

    @cached_property
    def late(self) -> tuple[Play, ...]:
        """Section 11: one play for every row that is asked, whose links are known late.

        Medium: 11 link delay.
        """
        before = {play.on: play for play in self.waiting}
        late = frozenset(link.input for link in self.spec.chain)
        first = self.spec.function.rows + 1 + len(before)
        return tuple(
            Play(first + n, play.row, play.on, play.possibly, self.delay, before[play.on - late])
            for n, play in enumerate(self.plays if before else ())
        )

    @property
    def every_play(self) -> tuple[Play, ...]:
        """Those of ``all_plays``, then those that show how late links are."""
        return (*self.all_plays, *self.waiting, *self.late)

    def ticks_of(self, play: Play) -> range:
        """The ticks of a play whose power at an instant is asked about."""
        if play.before is not None:
            return range(play.since, play.since + (self.link_delay or 0))
        if play in self.waiting:
            return range(self.delay)
        if play.row is None:
            return range(self.delay + 1 + (self.link_delay or 0))
        return self.ticks

    def own_ticks(self, play: Play) -> range:
        """Those of its ticks that a play has signals of its own for: not tick 0 if it has parts."""
        ticks = self.ticks_of(play)
        return ticks[1:] if self.parts_of_tick_0 and play.since == 0 else ticks

    @cached_property
    def parts_of_tick_0(self) -> tuple[Play, ...]:
        """What tick 0 of every play is put together from; nothing if every play has its own.

        First the unknown: inverters, buffers and neighbours, while every input is off. Then each
        input alone, while nothing else gives power.
        """
        if not self.first_tick or self.count_links or self.delay == 0:
            return ()
        none: frozenset[str] = frozenset()
        sets = [none, *(frozenset([name]) for name in self.spec.function.inputs)]
        first = 1 + max(play.index for play in self.every_play)
        return tuple(Play(first + n, None, on, on) for n, on in enumerate(sets))

    @property
    def tells_backwards(self) -> bool:
        """Whether the goal is told from what leads to outputs (``synth.encoding.backwards``).

        Not at 0 ticks, where links are counted, and in chains, which are played on after the last
        tick.
        """
        counted, chained = self.count_links, bool(self.spec.chain)
        return self.backwards and self.delay > 0 and not (counted or chained)

    def devices_alone(self, tick: int) -> bool:
        """Whether at a tick only inverters and buffers are played, no wires and solids."""
        return self.tells_backwards and tick == self.delay

    def makes_up(self, rail: str, play: Play, tick: int) -> tuple[Play, ...]:
        """The plays that together show what is on in a play at a tick: itself, or the parts."""
        play = play.at(tick)
        if tick > 0 or not self.parts_of_tick_0:
            return (play,)
        unknown, *inputs = self.parts_of_tick_0
        on = play.on if rail == "surely" else play.possibly
        reached = [part for part in inputs if part.on <= on]
        return tuple(reached if rail == "surely" else [unknown, *reached])

    def reads(self, rail: str, play: Play, tick: int) -> bool:
        """Whether a rail of a play matters at a tick: for the goal, or for what comes after.

        At the last tick the goal reads what is surely on where an output must be 1; what is
        possibly on where one must be 0, or where an input is off whose lead must not be on
        (section 5). Of the neighbour only what is possibly on reaches the other plays.
        """
        if not self.last_tick or tick < self.ticks_of(play)[-1]:
            return True
        if play == self.neighbour:
            return rail == "possibly"
        if play.row is None or play.before is not None or self.free is not None:
            # More comes after: the buffers of links that are known late. Or either may be read.
            return True
        values = {column[play.row] for column in self.spec.function.outputs.values()}
        if rail == "surely":
            return "1" in values
        return "0" in values or any(
            self.spec.joint(name) is Joint.WIRE and name not in play.possibly
            for name in self.spec.function.inputs
        )
