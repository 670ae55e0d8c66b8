"""Slices of chains along rails: a link's input runs straight through all but the last part.

A slice is parted (``parting``): the heart hands its links on, and everything else can wait. So the
inputs of links are *rails*: straight wires near the bottom of the box, one above the other in one
lane, below the readout and the source. Their cells are fixed beforehand, so what is placed above
them is soon placed, and they stay short. The heart lies at their end: there they are turned into
the outputs, at the same places across. The readout hears the topmost rail only, which nothing
parts from it.

The heart is placed first, with all its tracks but one where the solver likes. Its wires are short:
a rail has lost much of its strength when it comes there. Then the source, from which the heart's
tracks leave at its end and the readout's at its beginning; then the readout. All tracks cross the
seams between parts, one cell long, by buffers. As with steps (``stepped``) nothing is proven, and
what is found is to be shrunk.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product

from synth.bounds import least_link_delay
from synth.encoding import Question
from synth.encoding.placing.placement import LONGEST_RUN
from synth.encoding.placing.signals import REPEATED, Origin, Signal, Signals
from synth.layout import Layout, Pin
from synth.medium import WIRE, Block, Cell, Direction, Joint, Size
from synth.questions.problem import Problem
from synth.search.placing.behind import BY_BUFFER, WIDTH, Attempts, closed, cross, is_right, suits
from synth.search.placing.networks import Network, inverter_name
from synth.search.placing.parting import Parting, partings
from synth.search.placing.turns import Tries, share_of_round
from synth.search.workers.solvers import PLACING_SOLVER
from synth.search.workers.task import Task
from synth.spec import Limits, PinDemand, Spec

SHARE, SHARE_OF_HEART = 20_000, 40_000
"""The conflicts of one try in a cheap round; other rounds give it a power of two as many."""

MOST_WAYS = 3
"""Ways to part a slice that are tried in a round."""

SEEDS = 2
"""How often the source is tried in a round in each of its boxes, and the readout behind it."""

Box = tuple[int, int]
"""Length and height, in cells; all are ``WIDTH`` wide."""


@dataclass(frozen=True)
class Boxes:
    """Boxes that are tried for each part, in order."""

    hearts: tuple[Box, ...]
    sources: tuple[Box, ...]
    readouts: tuple[Box, ...]


BOXES = {
    1: Boxes(((3, 6), (6, 8)), ((4, 7), (5, 8)), ((5, 6), (4, 8), (5, 8), (4, 10))),
    2: Boxes(((6, 8),), ((4, 9), (5, 8)), ((4, 10), (5, 9))),
}
"""By the number of rails: in smaller ones little can be placed. Above more rails is no room."""

LANE, LOWEST, APART = 1, 1, 2
"""Where rails run: their lane, the height of the lowest, and from each to the next."""

NEAR = (1 - LANE, LOWEST + APART)
"""Where one of the heart's tracks comes to it, y and z: beside the upper of two rails, or over one.

Where the solver likes it, a track comes from below the rails, which nothing above them reaches.
"""

RUN = 4
"""The most links between a wire of the heart and its source: so much strength rails have left."""


def railed(
    problem: Problem, own: Limits, seed: int = 0, fits: Callable[[Size], bool] = lambda size: True
) -> Iterator[Layout | None]:
    """Slices of a chain along x that keep a link delay: a layout when found, None after each try.

    Without a limit on the link delay they have the least that there is.

    Args:
        problem: what is asked.
        own: the limits that the user gave.
        seed: of the solver's order.
        fits: whether a box is still of use; asked anew for each.
    """
    spec = problem.spec.replace(limits=own)
    if not suits(spec) or len(spec.chain) not in BOXES:
        return
    least = max(2, least_link_delay(spec).ticks)
    link_delay = least if own.link_delay is None else own.link_delay
    if link_delay < least:
        return
    # The buffer of the link takes a tick.
    ways = _different(partings(spec, link_delay - 1))
    work = _Railing(problem, spec, seed, fits)
    for _ in work.in_rounds():
        for parting in ways:
            for near in parting.tracks:
                layout = yield from work.slice(parting, near)
                if layout is not None and is_right(layout, problem, own):
                    yield layout


def _different(found: Iterable[Parting]) -> list[Parting]:
    """The first few that are not alike in what connects where."""
    kept: dict[object, Parting] = {}
    for parting in found:
        parts = (parting.heart, parting.source, parting.readout)
        shape = tuple(
            None
            if part is None
            else tuple(sorted(map(len, part.hears))) + tuple(sorted(map(len, part.outputs)))
            for part in parts
        )
        kept.setdefault((shape, parting.tapped), parting)
        if len(kept) == MOST_WAYS:
            break
    return list(kept.values())


Across = tuple[int, int]
"""A place across the chain: y and z."""

Places = Mapping[str, Across]
"""Where tracks and rails cross, by name."""


class _Railing(Attempts):
    """Places the parts of a slice, one after another."""

    @cached_property
    def boxes(self) -> Boxes:
        """Those that are tried for each part, as high as the user allows."""
        boxes, most = BOXES[len(self.spec.chain)], self.spec.limits.height
        kinds = (boxes.hearts, boxes.sources, boxes.readouts)
        return Boxes(*(tuple(box for box in kind if box[1] <= (most or box[1])) for kind in kinds))

    def _have_room(self, parting: Parting) -> bool:
        """Whether there are boxes for all parts, and the least of them are of use."""
        kinds = [self.boxes.hearts, self.boxes.sources]
        kinds += [] if parting.readout is None else [self.boxes.readouts]
        if not all(kinds):
            return False
        height = max(min(high for _, high in boxes) for boxes in kinds)
        length = sum(min(long for long, _ in boxes) + 1 for boxes in kinds)
        return self.fits((length, WIDTH, height))

    def slice(self, parting: Parting, near: str) -> Tries:
        """A slice, or None; ``near``: the track that comes to the heart at ``NEAR``."""
        rails = self._rails(parting)
        if not self._have_room(parting):
            return None
        seed = self.seed + self.rounds
        heart = yield from self._heart_placed(parting, rails, near, seed)
        if heart is None:
            return None
        crossing = {pin.name: pin.at[1:] for pin in heart.pins}
        for number, source_box in product(range(SEEDS), self.boxes.sources):
            ask = self._source(parting, rails, crossing, source_box[0])
            source = yield from self._placed(
                parting.source,
                ask,
                source_box,
                seed * SEEDS + number,
                straight=rails,
            )
            if source is None:
                continue
            if parting.readout is None:
                return self._joined(parting, [source, heart])
            readout = yield from self._read(parting, rails, source, seed)
            if readout is not None:
                return self._joined(parting, [readout, source, heart])
        return None

    def _heart_placed(self, parting: Parting, rails: Places, near: str, seed: int) -> Tries:
        """A heart in the first box that has one."""
        for box in self.boxes.hearts:
            ask = self._heart(parting, rails, box[0])
            ask[near] = _begins(NEAR, Joint.BUFFER)
            layout = yield from self._placed(
                parting.heart, ask, box, seed, longest_run=RUN, share=SHARE_OF_HEART
            )
            if layout is not None:
                return layout
        return None

    def _read(self, parting: Parting, rails: Places, source: Layout, seed: int) -> Tries:
        """A readout in front of a source: its rail heard directly, or by a buffer."""
        assert parting.readout is not None
        assert parting.tapped is not None
        crossing = {pin.name: pin.at[1:] for pin in source.pins}
        for number, box, repeated in product(
            range(SEEDS), self.boxes.readouts, ((), (parting.tapped,))
        ):
            if source.size[0] + box[0] + 2 > self.problem.rules.reach - RUN:
                # The rails would have no strength left for the heart.
                continue
            ask = self._readout(parting, rails, crossing, box[0])
            layout = yield from self._placed(
                parting.readout,
                ask,
                box,
                seed * SEEDS + number,
                straight=rails,
                repeated=repeated,
            )
            if layout is not None:
                return layout
        return None

    def _rails(self, parting: Parting) -> Places:
        """Where rails cross, by the input of the link: the one that is tapped is on top."""
        names = sorted(
            (link.input for link in self.spec.chain), key=lambda name: name == parting.tapped
        )
        return {name: (LANE, LOWEST + APART * number) for number, name in enumerate(names)}

    def _heart(self, parting: Parting, rails: Places, length: int) -> dict[str, PinDemand]:
        pins = {name: _begins(at, Joint.WIRE) for name, at in rails.items()}
        pins |= {name: _begins(None, Joint.BUFFER) for name in parting.tracks}
        for link in self.spec.chain:
            pins[link.output] = _ends(rails[link.input], Joint.BUFFER, length)
        return pins

    def _source(
        self, parting: Parting, rails: Places, crossing: Places, length: int
    ) -> dict[str, PinDemand]:
        first = parting.readout is None
        joint = Joint.BUFFER if first else Joint.WIRE
        pins = self._own_pins(parting.source)
        for name, at in rails.items():
            pins[name] = _begins(at, joint)
            pins[parting.passed[name]] = _ends(at, Joint.WIRE, length)
        pins |= {name: _ends(crossing[name], Joint.BUFFER, length) for name in parting.tracks}
        if parting.track is not None:
            pins[parting.track] = _begins(_over(rails), Joint.BUFFER)
        return pins

    def _readout(
        self, parting: Parting, rails: Places, crossing: Places, length: int
    ) -> dict[str, PinDemand]:
        assert parting.readout is not None
        assert parting.track is not None
        pins = self._own_pins(parting.readout)
        for name, at in rails.items():
            pins[name] = _begins(at, Joint.BUFFER)
            pins[parting.passed[name]] = _ends(at, Joint.WIRE, length)
        return pins | {parting.track: _ends(crossing[parting.track], Joint.BUFFER, length)}

    def _own_pins(self, network: Network) -> dict[str, PinDemand]:
        """The pins of the whole that a part has, those of links left aside."""
        spec, named = self.spec, (*network.function.inputs, *network.function.outputs)
        return {
            name: PinDemand(spec.faces(name), None, spec.joint(name))
            for name in named
            if name in spec.pin_names and not spec.linked(name)
        }

    def _placed(
        self,
        network: Network,
        pins: Mapping[str, PinDemand],
        box: Box,
        seed: int,
        *,
        straight: Places | None = None,
        repeated: tuple[str, ...] = (),
        longest_run: int = LONGEST_RUN,
        share: int = SHARE,
    ) -> Tries:
        """One part in a box, or None.

        Args:
            straight: rails that run through it.
            repeated: inputs that a buffer may repeat.
            longest_run: as of ``Task``.
            share: conflicts of a cheap round.
        """
        length, height = box
        rails = (straight or {}).values()
        spec = Spec(
            network.function,
            limits=Limits(length=length, width=WIDTH, height=height),
            pins=pins,
            ground=self.spec.ground,
            fixed={(x, *at): WIRE for at in rails for x in range(length)},
        )
        signals = _signals(network, repeated)
        ticks = max(signal.tick for signal in signals.all)
        asked = tuple((name, ask.at) for name, ask in pins.items())
        key = (network, box, repeated, asked)
        task = Task(
            Question(spec, (length, WIDTH, height), ticks, rules=self.problem.rules),
            PLACING_SOLVER,
            seed,
            signals=signals,
            conflicts=share * share_of_round(self.rounds),
            longest_run=longest_run,
        )
        return (yield from self.ask(task, key))

    def _joined(self, parting: Parting, parts: list[Layout]) -> Layout:
        """The parts one behind the other, with the seams between them."""
        spec = self.spec
        passed = set(parting.passed.values())
        cells: dict[Cell, Block] = {}
        pins: list[Pin] = []

        begin = 0
        for number, layout in enumerate(parts):
            end = begin + layout.size[0]
            cells |= {(x + begin, y, z): block for (x, y, z), block in layout.cells.items()}
            for pin in layout.pins:
                x, y, z = pin.at
                outwards = pin.face is Direction.PX
                if pin.name in passed:
                    cross(cells, (end, y, z), WIRE, spec)
                elif spec.linked(pin.name) and outwards:
                    cross(cells, (end, y, z), BY_BUFFER, spec)
                    pins.append(replace(pin, at=(end, y, z)))
                elif pin.name in parting.tracks and outwards:
                    cross(cells, (end, y, z), BY_BUFFER, spec)
                elif pin.name == parting.track and outwards:
                    cross(cells, (end, y, z), replace(BY_BUFFER, facing=Direction.NX), spec)
                elif pin.name in spec.pin_names and not (number and spec.linked(pin.name)):
                    pins.append(replace(pin, at=(x + begin, y, z)))
            begin = end + 1
        return closed(spec, parts, begin, cells, pins)


def _over(rails: Places) -> Across:
    """Beside the topmost rail, and higher: where the readout's track is."""
    return 1 - LANE, max(z for _, z in rails.values()) + APART


def _begins(at: Across | None, joint: Joint) -> PinDemand:
    """A pin where a part begins."""
    return PinDemand((Direction.NX,), None if at is None else (0, *at), joint)


def _ends(at: Across, joint: Joint, length: int) -> PinDemand:
    """A pin where a part of that length ends."""
    return PinDemand((Direction.PX,), (length - 1, *at), joint)


def _signals(network: Network, repeated: tuple[str, ...]) -> Signals:
    """The signals of a part; whoever hears an input that a buffer may repeat waits for that."""
    ticks = dict.fromkeys(network.function.inputs, 0)
    for number, heard in enumerate(network.hears, start=1):
        ticks[inverter_name(number)] = 1 + max(
            (ticks[name] + (name in repeated) for name in heard), default=0
        )
    own = [replace(signal, tick=ticks[signal.name]) for signal in network.signals()]
    again = [
        Signal(signal.name + REPEATED, signal.rows, signal.tick + 1, Origin.BUFFER)
        for signal in own
        if signal.name in repeated
    ]
    return Signals((*own, *again), network.met)
