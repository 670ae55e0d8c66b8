"""Placed starts: networks placed in loose boxes of good shape, for shrinking to begin with.

A walk over boxes looks for the smallest layout; a start only has to be right and soon there. So few
boxes are tried here, each with room for the network and neither flat nor long, in rounds: every try
gets a share of conflicts, and each round begins with other seeds. A start that is found soon is
worth as much as one that takes long, and where shrinking ends differs much between starts; so most
rounds are cheap. What a solver answers soonest comes first:

- *stages*: the halves of a cut (``stages``) are placed one after the other, the harder one first in
  every second try; the half placed first leaves its crossing wires where it likes, and the other
  fits them. Two small formulas are answered long before a large one.
- *whole*: all signals of a network in one box.
- *tight*: halves that are easy are placed in the smallest boxes that hold them (``tight``), in
  turns with all else.
- *asked*: of several outputs halves that are small enough are asked for whatever works (``asked``),
  which makes starts that are smaller and get further yet.

Of several outputs, in turns with that, one is placed after the other: the one that needs most
inverters is placed in these ways, and each further one is added to what stands (``adding``).

Signals without any that buffers repeat are tried before those with them: their formulas are much
smaller, and where they cannot be placed, that shows soon.

A chain (section 11) is placed whole, in boxes that are long along its axis: the question itself
says that the pins of a link lie opposite each other and that a buffer stands in the cell of the
output, whose tick counts as any other. Beside that, in turns, a slice is grown signal by signal
(``growing``), placed in steps, one behind the other (``stepped``), and, where the link delay is
limited, along rails (``railed``), which then has most of the time.

A function of up to three inputs for which all this comes to nothing soon is placed product by
product, in tiles along rails (``tiled``).

Where the question is not one of those that are placed soonest, a stricter one is placed in most of
the time, and what comes of it is given the joints that are asked (``stricter``).

Placing proves nothing, and every layout is judged.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import chain, pairwise, zip_longest

from synth.encoding import Question
from synth.layout import Layout
from synth.medium import Direction, Size
from synth.questions.measures import keeps
from synth.questions.problem import Problem
from synth.search.placing.adding import part_of, with_output
from synth.search.placing.asked import Asker, asked
from synth.search.placing.growing import grown
from synth.search.placing.halves import WAYS, Halves, stages_of
from synth.search.placing.placer import LOOK_S, Placer, Stage
from synth.search.placing.railed import railed
from synth.search.placing.stages import Cut, can_be_cut, cuts, inverters_beside, only_at
from synth.search.placing.stepped import stepped
from synth.search.placing.stricter import adapted, stricter
from synth.search.placing.tight import tight
from synth.search.placing.tiled import TICKS, tiled
from synth.search.placing.turns import Tries, Way, counted, in_turns, share_of_round
from synth.search.workers.task import works
from synth.spec import BooleanFunction, Limits

SHARE = 4_000
"""The conflicts of one try in a cheap round; other rounds give it a power of two as many."""

ROOM = (15, 11, 20, 8)
"""Cells of a box for each inverter of a network, those first that are soonest placed. The smallest
layouts known have 8 to 12.
"""

WHOLE = 4
"""How many times the conflicts of a stage the whole may take.

Tight boxes come first there, which are cheap and need them.
"""

HEIGHTS = (4, 5, 6)
"""Heights of boxes, in cells: two or three storeys, in which signals can pass over one another."""

WIDTH, LEAST = 2, 3
"""Cells of a box across, and the fewest along it: of a slice of a chain it has at least 3."""

MOST_CUTS = 4
"""Cuts that are tried in a round."""

CUTS_COMPARED = 3
"""For each cut that is tried so many are compared by what further outputs need beside it."""

SEEDS = 2
"""How often each cut is tried in a round, from either end."""

SECOND_HALVES = 3
"""How many times the half placed last is placed, by other seeds: starts differ, and so does where
shrinking them ends, and whether outputs can be added.
"""

MOST_INVERTERS, EASY_WHOLE = 9, 5
"""Larger networks are not placed whole; with more inverters than the second, halves come first."""

ONE_BY_ONE = 3
"""How many times the time of placing all outputs at once placing one by one has: for more outputs
than one that is soon in vain, or soon done.
"""

STEPPED = 4
"""How many times the time of any other way placing a slice in steps has: it is soonest done."""

RAILED = 8
"""The same for placing it along rails, where the link delay is limited: it is sooner done yet."""

TIGHT = 3
"""The same for halves in tight boxes."""

TILED = 8
"""The same for a sum of products in tiles: that finds what nothing else does, but its layouts are
large and take a quarter of a minute to three minutes.
"""

TILED_AFTER_S, TILED_LATER_S = 2.0, 8.0
"""So many seconds of the processor the other ways have for each share before that: more where more
than 3 ticks are asked. A parity of three within 4 comes after 22 seconds, and came later than after
48 with tiles from the beginning.
"""

ASKED = 24
"""The same for halves of several outputs that are asked whole: shrinking gets furthest from them.

Of one output tight halves come sooner and do as well: with these beside them a parity of three
within 4 ticks had 70 cells after a minute, and 56 without.
"""

STRICTER = 100
"""The same for a stricter question: that is placed where what is asked hardly is."""


_Way = Callable[[Problem, Limits, int, Callable[[Size], bool]], Iterator[Layout | None]]
"""Places by the limits that the user gave, a seed, and whether a box has room."""


@dataclass
class PlacedStarts:
    """Places networks of a problem's function, one try after another.

    Attributes:
        problem: what is asked, with the limits in force.
        own: the limits that the user gave: those that were assumed hold no start back.
        seed: of the solver's order.
        most: boxes of as many cells or more are no use; None: all are.
        further: outputs that are added afterwards; cuts that leave least to add come first.
        also_stricter: whether to place a stricter question as well.
        rounds: how many rounds are over.
        whole: how many layouts the halves that are asked whole have made.
        awaits_stricter: whether a stricter question is in its first round, without a layout yet.
    """

    problem: Problem
    own: Limits
    seed: int = 0
    most: int | None = None
    further: BooleanFunction | None = None
    also_stricter: bool = True
    rounds: int = field(default=0, init=False)
    whole: int = field(default=0, init=False)
    awaits_stricter: bool = field(default=False, init=False)

    def __post_init__(self) -> None:
        self._placer = Placer(self.problem, self._has_room)

    def tries(self) -> Iterator[Layout | None]:
        """A layout whenever one is found, and None after each question without one."""
        spec = self.problem.spec
        if spec.empty or spec.fixed:
            return
        ways = [Way(self._in_rounds())]
        if self.further is None and can_be_cut(spec):
            ways.insert(0, Way(self._tight(), TIGHT))
            if len(spec.function.outputs) > 1:
                ways.append(Way(self._asked(), ASKED))
        if spec.chain:
            ways.append(Way(self._by(grown)))
            ways.append(Way(self._by(stepped), STEPPED))
            if self.own.link_delay is not None:
                ways.append(Way(self._by(railed), RAILED))
        elif len(spec.function.outputs) > 1 and all(ask.at is None for ask in spec.pins.values()):
            ways.append(Way(self._one_by_one(), ONE_BY_ONE))
        elif self.further is None:
            soon = self.problem.limits.delay == TICKS
            after_s = TILED_AFTER_S if soon else TILED_LATER_S
            ways.append(Way(self._by(tiled), TILED, after_s))
        if self.further is None and self.also_stricter:
            ways.append(Way(self._of_stricter(), STRICTER))
        yield from in_turns(ways)

    def _in_rounds(self) -> Iterator[Layout | None]:
        """Staged and whole, round after round, until one has nothing left to ask."""
        tried = True
        while tried:
            tried = False
            for tries in self._round(SHARE * share_of_round(self.rounds + 1)):
                found, asked = yield from counted(tries)
                tried = tried or asked > 0
                if found is not None and self._is_use(found):
                    yield found
            self.rounds += 1

    @property
    def _first_seed(self) -> int:
        """The first seed of a round: none is that of a try before."""
        return self.seed + self.rounds * SEEDS * SECOND_HALVES

    def _round(self, share: int) -> Iterator[Tries]:
        """All tries of a round: a staged one and a whole one in turns, or all staged ones first."""
        staged, whole = self._all_staged(share), self._all_whole(share)
        found = self._placer.networks_of(Stage(self.problem.spec.function, self.delay))
        if found and len(found[0].hears) > EASY_WHOLE:
            yield from chain(staged, whole)
            return
        for pair in zip_longest(staged, whole):
            yield from filter(None, pair)

    def _tight(self) -> Iterator[Layout | None]:
        """Halves in the smallest boxes that hold them."""
        return tight(self._placer, self._cuts, self._boxes, self.seed, self._is_use)

    def _asked(self) -> Iterator[Layout | None]:
        """Halves asked whole."""
        asker = Asker(self.problem, self._has_room)
        for found in self._of_use(asked(asker, self._cuts, self._boxes, self.seed)):
            self.whole += found is not None
            yield found

    def _by(self, way: _Way) -> Iterator[Layout | None]:
        """What a way of placing comes upon that is of use."""
        return self._of_use(way(self.problem, self.own, self.seed, self._has_room))

    def _of_use(self, tries: Iterable[Layout | None]) -> Iterator[Layout | None]:
        for found in tries:
            yield found if found is not None and self._is_use(found) else None

    def _of_stricter(self) -> Iterator[Layout | None]:
        """Layouts of a stricter question, with the joints that are asked."""
        asked = stricter(self.problem, self.own)
        if asked is None:
            return
        strict = PlacedStarts(*asked, self.seed, self.most)
        self.awaits_stricter = True
        for found in strict.tries():
            made = None if found is None else adapted(found, self.problem, self.own)
            if made is not None and not self._has_room(made.size):
                made = None
            self.awaits_stricter &= made is None and not strict.rounds
            yield made
            strict.most = self.most
        self.awaits_stricter = False

    def _one_by_one(self) -> Iterator[Layout | None]:
        """One output after the other, in the order of ``_outputs``."""
        order = self._outputs()
        if not order:
            return
        parts = [part_of(self.problem.spec, order[:count]) for count in range(1, len(order) + 1)]
        first = PlacedStarts(
            replace(self.problem, spec=parts[0]),
            self.own,
            self.seed,
            further=part_of(self.problem.spec, order[1:]).function,
        )
        tries = first.tries()
        while True:
            first.most = self.most
            try:
                found = next(tries)
            except StopIteration:
                return
            yield None
            for part, more in pairwise(parts):
                if found is None:
                    break
                found = yield from with_output(
                    found, part, more, self.delay, self._has_room, self.problem.rules
                )
            if found is not None:
                names = self.problem.spec.pin_names
                pins = sorted(found.pins, key=lambda pin: names.index(pin.name))
                whole = replace(found, pins=tuple(pins))
                if self._is_use(whole):
                    yield whole

    def _outputs(self) -> tuple[str, ...]:
        """The outputs, those that need most inverters first; none if one of them is too hard.

        What stands for a hard one already has most of what an easier one needs.
        """
        function = self.problem.spec.function
        needs: dict[str, int] = {}
        for name, column in function.outputs.items():
            alone = BooleanFunction(function.inputs, {name: column})
            found = self._placer.networks_of(Stage(alone, self.delay))
            if not found:
                return ()
            needs[name] = len(found[0].hears)
        return tuple(sorted(needs, key=lambda name: -needs[name]))

    def _has_room(self, size: Size) -> bool:
        """Whether a box keeps the user's limits and is small enough."""
        limits = (self.own.length, self.own.width, self.own.height)
        fits = all(most is None or side <= most for side, most in zip(size, limits, strict=True))
        return fits and (self.most is None or math.prod(size) < self.most)

    @cached_property
    def largest(self) -> int:
        """The volume of the largest box in which the whole network is placed; 0 if in none."""
        stage = Stage(self.problem.spec.function, self.delay)
        return max((math.prod(size) for size in self._boxes(stage)), default=0)

    @property
    def delay(self) -> int:
        """T, in ticks."""
        assert self.problem.limits.delay is not None
        return self.problem.limits.delay

    def _is_use(self, layout: Layout) -> bool:
        """Whether a layout is right, keeps the user's limits and is small enough."""
        if self.most is not None and layout.volume >= self.most:
            return False
        question = Question(self.problem.spec, layout.size, self.delay, rules=self.problem.rules)
        return keeps(layout, None, self._box_limits) and works(layout, question)

    @cached_property
    def _box_limits(self) -> Limits:
        own = self.own
        return replace(own, delay=None, link_delay=None)

    # Whole

    def _all_whole(self, share: int) -> Iterator[Tries]:
        stage = Stage(self.problem.spec.function, self.delay)
        found = self._placer.networks_of(stage)
        if not found or len(found[0].hears) > MOST_INVERTERS:
            return
        for size in sorted(self._boxes(stage), key=math.prod):
            yield self._placer.placed(
                lambda _: self.problem.spec, stage, [size], WHOLE * share, self._first_seed
            )

    # In two stages

    @property
    def has_cuts(self) -> bool:
        """Whether the function can be placed in two halves, one behind the other."""
        return bool(self._cuts)

    @cached_property
    def _cuts(self) -> list[Cut]:
        spec = self.problem.spec
        if not can_be_cut(spec):
            return []
        found = cuts(
            spec.function,
            self.delay,
            time.monotonic() + LOOK_S,
            in_first=only_at(spec, Direction.NX),
            in_second=only_at(spec, Direction.PX),
        )
        further = self.further
        if further is not None:
            until = time.monotonic() + LOOK_S
            found = found[: CUTS_COMPARED * MOST_CUTS]
            found.sort(key=lambda cut: inverters_beside(cut, further, self.delay, until))
        return found[:MOST_CUTS]

    def _all_staged(self, share: int) -> Iterator[Tries]:
        loose = []
        for cut in self._cuts:
            first, second = stages_of(cut)
            loose.append(Halves(cut, (self._boxes(first), self._boxes(second))))
        for seed in range(self._first_seed, self._first_seed + SEEDS):
            for way in WAYS:
                for halves in loose:
                    for other in range(SECOND_HALVES):
                        yield way(self._placer, halves, share, (seed, seed + SEEDS * other))

    # Boxes

    def _boxes(self, stage: Stage, rooms: Iterable[int] = ROOM) -> tuple[Size, ...]:
        """Boxes with room for a stage, within the user's limits, in the order of ``rooms``."""
        found = self._placer.networks_of(stage)
        if not found:
            return ()
        inverters = max(2, len(found[0].hears))
        spec, own = self.problem.spec, self.own
        stacked = "y" if spec.stack is None else spec.stack.axis
        # A chain is long along its axis and thin across; any other stack is thin along its axis.
        thin = 0 if (stacked == "x") is not bool(spec.chain) else 1
        boxes: dict[Size, None] = {}
        for room in rooms:
            for height in HEIGHTS:
                length = max(LEAST, math.ceil(room * inverters / (WIDTH * height)))
                size = [length, length, height]
                size[thin] = WIDTH
                limits = (own.length, own.width, own.height)
                for index, most in enumerate(limits):
                    size[index] = size[index] if most is None else min(size[index], most)
                boxes[size[0], size[1], size[2]] = None
        return tuple(boxes)
