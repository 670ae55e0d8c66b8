"""A sum of products along rails: each product in a tile of its own, as quick as can be.

Where a layout is two cells wide and stacks across, two wires do not cross: one of them ends in an
inverter or a buffer that reaches over the other. A column of a slim layout does so for every row,
and each time costs a tick. Here no rail is ever cut. The inputs and the output run along x, one
above the other, in cells that are fixed where tiles meet:

    c   the topmost, in lane 1
    b   below it, in lane 0: what reads ``c`` reaches over it
    q   the output, in lane 0: what reads ``a`` reaches over it
    a   the lowest, in lane 1

A tile makes one product between ``b`` and ``q``: an inverter that hears the complements of its
literals powers ``q``. Each literal takes two ticks to come there, one to be read and one to be
handed over a rail, so everything is known after three. Rails that are passed lie in lane 0, so that
what reaches over them stays in lane 1.

A solver places each tile alone (``synth.encoding.placing``), four cells long: rails must pass
without a tick, and the output may carry what comes from the tiles before. Between
tiles lies one cell of the rails alone. Four tiles are longer than a wire carries, so the inputs
come to the last one by buffers. That leaves its literals one tick, enough where ``b`` must be on
and ``c`` off: which input takes which rail, and which product comes last, is chosen so. Nothing is
proven, and every layout is judged.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import permutations

from synth.encoding import Question
from synth.encoding.placing.signals import Origin, Passing, Signal, Signals
from synth.layout import Layout, Pin, Stack
from synth.layout.transform import mirrored
from synth.medium import LEDGE, WIRE, Block, Cell, Direction, Joint, Role, Size
from synth.questions.problem import Problem
from synth.search.placing.behind import BY_BUFFER, Attempts, is_right
from synth.search.placing.products import (
    PRODUCT,
    Literals,
    complement,
    covers,
    product_signals,
    rows_of,
    twice,
)
from synth.search.placing.turns import Tries, share_of_round
from synth.search.workers.solvers import PLACING_SOLVER
from synth.search.workers.task import Task
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand

SHARE = 20_000
"""The conflicts of one try in a cheap round; other rounds give it a power of two as many."""

TICKS = 3
"""When a product is known; fewer are too few for a literal that reaches over a rail."""

WIDTH, HEIGHT = 2, 12
"""The box of every tile across, in cells."""

INPUT_RAILS, OUTPUT_RAIL = ("a", "b", "c"), "q"
RAILS = {"a": (1, 1), "q": (0, 3), "b": (0, 8), "c": (1, 10)}
"""Lane and height of each rail where tiles meet."""

MIDDLE, LAST = 4, (3, 4)
"""Lengths of tiles that rails pass, and of the last one, the shorter first."""

UNBROKEN = 3
"""The most tiles that rails reach without a buffer: one more, and the output barely reaches its
pin.
"""

MOST_TILES = 4


def tiled(
    problem: Problem, own: Limits, seed: int = 0, fits: Callable[[Size], bool] = lambda size: True
) -> Iterator[Layout | None]:
    """Layouts of one function of up to three inputs: one when found, None after each try.

    Args:
        problem: what is asked: stacked along y at a pitch of 2, within 3 ticks or more.
        own: the limits that the user gave; those that were assumed hold nothing back.
        seed: of the solver's order.
        fits: whether a box is still of use; asked anew for each.
    """
    spec = problem.spec.replace(limits=own)
    turned = [turn for turn in (False, True) if _faces_allow(spec, turn)]
    if not _suits(problem, spec) or not turned:
        return
    work = Tiling(problem, spec, seed, fits)
    plans = list(_plans(spec))
    for _ in work.in_rounds():
        for plan in plans:
            layout = yield from work.row(plan)
            if layout is None:
                continue
            layout = mirrored(layout, "x") if turned[0] else layout
            if is_right(layout, problem, own):
                yield layout


def _suits(problem: Problem, spec: Spec) -> bool:
    """Whether tiles can be what is asked."""
    delay, stack = problem.limits.delay, spec.stack
    return (
        stack is not None
        and stack.axis == "y"
        and stack.pitch in (None, WIDTH)
        and not (spec.chain or spec.ground or spec.empty or spec.fixed)
        and len(spec.function.outputs) == 1
        and 2 <= len(spec.function.inputs) <= len(INPUT_RAILS)
        and delay is not None
        and delay >= TICKS
        and (problem.rules.buffer_delays[0] == 1)
        and (spec.limits.width or WIDTH) >= WIDTH
        and (spec.limits.height or HEIGHT) >= HEIGHT
        and all(ask.at is None for ask in spec.pins.values())
    )


def _faces_allow(spec: Spec, turn: bool) -> bool:
    """Whether inputs may be on the side -x and outputs on +x, or, turned round, the other way."""
    enter, leave = Direction.NX, Direction.PX
    if turn:
        enter, leave = leave, enter
    return all(enter in spec.faces(name) for name in spec.function.inputs) and all(
        leave in spec.faces(name) for name in spec.function.outputs
    )


Wanted = tuple[tuple[str, bool], ...]
"""A product by rails: for each that it reads, whether it must be on."""


@dataclass(frozen=True)
class Plan:
    """Which input runs along which rail, and the products of the tiles from -x to +x.

    Attributes:
        rails: the rail of each input, by name.
        products: what each tile makes.
    """

    rails: tuple[tuple[str, str], ...]
    products: tuple[Wanted, ...]


def _plans(spec: Spec) -> Iterator[Plan]:
    """Plans that differ in what comes last or runs where, the most promising first."""
    inputs = spec.function.inputs
    (column,) = spec.function.outputs.values()
    found: dict[Plan, None] = {}
    for cover in covers(column):
        if not all(cover) or not 2 <= len(cover) <= MOST_TILES:
            continue
        for chosen in permutations(INPUT_RAILS, len(inputs)):
            products = [_by_rail(literals, chosen) for literals in cover]
            for last in products:
                if len(products) > UNBROKEN and not _takes_one_tick(last):
                    continue
                first = [one for one in products if one != last]
                rails = tuple(zip(inputs, chosen, strict=True))
                found[Plan(rails, (*first, last))] = None
    yield from found


def _by_rail(literals: Literals, chosen: tuple[str, ...]) -> Wanted:
    return tuple(sorted((chosen[number], on) for number, on in literals))


def _takes_one_tick(product: Wanted) -> bool:
    """Whether each literal comes to the inverter of a product within a tick.

    From ``b`` an inverter is the only way into the other lane, and a buffer the only one over it.
    """
    return dict(product).get("b", True) and not dict(product).get("c", False)


@dataclass
class Tiling(Attempts):
    """Places tiles, and puts them together."""

    _placed: dict[tuple[object, ...], Layout] = field(default_factory=dict, init=False)

    def row(self, plan: Plan) -> Tries:
        """A whole layout, or None."""
        count = len(plan.products)
        least = (MIDDLE + 1) * (count - 1) + LAST[0]
        if not self.fits((least, WIDTH, HEIGHT)):
            return None
        tiles: list[Layout] = []
        for number in range(count - 1, -1, -1):
            tile = yield from self._tile(plan, number)
            if tile is None:
                return None
            tiles.insert(0, tile)
        return self._joined(plan, tiles)

    def _tile(self, plan: Plan, number: int) -> Tries:
        """The tile of a product; the last one in the shortest box that holds it."""
        last = number == len(plan.products) - 1
        broken = _is_broken(plan)
        for length in LAST if last else (MIDDLE,):
            if last and broken and length > LAST[0]:
                continue
            key = (plan.products[number], length, number == 0, last, broken)
            again = (*key, self.rounds)
            if again not in self._placed:
                task = self._task(plan, number, length)
                layout = yield from self.ask(task, key)
                if layout is None:
                    continue
                self._placed[again] = layout
            return self._placed[again]
        return None

    def _task(self, plan: Plan, number: int, length: int) -> Task:
        """The question for a tile."""
        product = dict(plan.products[number])
        last = number == len(plan.products) - 1
        names = [*_used(plan), *((OUTPUT_RAIL,) if number else ())]
        rows = {name: rows_of(((index, True),), len(names)) for index, name in enumerate(names)}
        every = (1 << (1 << len(names))) - 1
        begin = int(last and _is_broken(plan))
        ticks = dict.fromkeys(names, begin) | {OUTPUT_RAIL: 0}
        signals = [Signal(name, rows[name], ticks[name], Origin.INPUT) for name in names]
        signals += product_signals(product, rows, every, begin, TICKS)
        leaving = {name: rows[name] for name in names if not last}
        leaving[OUTPUT_RAIL] = signals[-1].rows | rows.get(OUTPUT_RAIL, 0)
        outputs = {
            _behind(name): "".join(str(on >> row & 1) for row in range(1 << len(names)))
            for name, on in leaving.items()
        }
        spec = self._spec(plan, number, BooleanFunction(tuple(names), outputs), length)
        return Task(
            Question(spec, (length, WIDTH, HEIGHT), TICKS, rules=self.problem.rules),
            PLACING_SOLVER,
            self.seed + self.rounds - 1,
            signals=Signals(tuple(signals), _met(product)),
            conflicts=SHARE * share_of_round(self.rounds),
            passing=() if last else tuple(_passing(plan)),
        )

    def _spec(self, plan: Plan, number: int, function: BooleanFunction, length: int) -> Spec:
        """What is asked of a tile: where rails enter and leave, and how."""
        last = number == len(plan.products) - 1
        # By buffers, where they stand between the tiles; and the tile may power the output's rail,
        # which a buffer that stands for the tiles before does not mind.
        into = {name: Joint.BUFFER if last and _is_broken(plan) else Joint.WIRE for name in RAILS}
        into[OUTPUT_RAIL] = Joint.BUFFER
        out = dict.fromkeys(RAILS, Joint.WIRE)
        if number == len(plan.products) - 2 and _is_broken(plan):
            out = dict.fromkeys(INPUT_RAILS, Joint.BUFFER) | {OUTPUT_RAIL: Joint.WIRE}
        if number == 0:
            into |= {rail: self.spec.joint(name) for name, rail in plan.rails}
        if last:
            out[OUTPUT_RAIL] = self.spec.joint(*self.spec.function.outputs)
        pins = {
            name: PinDemand((Direction.NX,), (0, *RAILS[name]), into[name])
            for name in function.inputs
        }
        for name in RAILS:
            if _behind(name) in function.outputs:
                at = (length - 1, *RAILS[name])
                pins[_behind(name)] = PinDemand((Direction.PX,), at, out[name])
        return Spec(
            function,
            limits=Limits(length=length, width=WIDTH, height=HEIGHT),
            pins=pins,
            stack=StackDemand("y"),
            fixed={(0, *RAILS[OUTPUT_RAIL]): WIRE} if number else {},
        )

    def _joined(self, plan: Plan, tiles: list[Layout]) -> Layout:
        """Tiles one behind the other, with the rails between them."""
        cells: dict[Cell, Block] = {}
        pins: list[Pin] = []
        begin = 0
        for number, tile in enumerate(tiles):
            cells |= {(x + begin, y, z): block for (x, y, z), block in tile.cells.items()}
            begin += tile.size[0]
            if number == len(tiles) - 1:
                break
            broken = number == len(tiles) - 2 and _is_broken(plan)
            for rail in (*_used(plan), OUTPUT_RAIL):
                y, z = RAILS[rail]
                cells[begin, y, z] = BY_BUFFER if broken and rail != OUTPUT_RAIL else WIRE
                cells[begin, y, z - 1] = LEDGE
            begin += 1
        spec = self.spec
        for name, rail in plan.rails:
            at = (0, *RAILS[rail])
            pins.append(Pin(name, Role.INPUT, at, Direction.NX, spec.joint(name)))
        for name in spec.function.outputs:
            at = (begin - 1, *RAILS[OUTPUT_RAIL])
            pins.append(Pin(name, Role.OUTPUT, at, Direction.PX, spec.joint(name)))
        return Layout(
            size=(begin, WIDTH, HEIGHT),
            cells=cells,
            pins=tuple(pins),
            stack=Stack("y", WIDTH),
            name=spec.name,
        )


def _used(plan: Plan) -> list[str]:
    """The rails of inputs that a plan has."""
    rails = {rail for _, rail in plan.rails}
    return [rail for rail in INPUT_RAILS if rail in rails]


def _is_broken(plan: Plan) -> bool:
    """Whether the inputs come to the last tile by buffers."""
    return len(plan.products) > UNBROKEN


def _behind(rail: str) -> str:
    """The name of the pin at which a rail leaves a tile."""
    return f"{rail}2"


def _met(product: dict[str, bool]) -> frozenset[tuple[str, str]]:
    """Which signals may meet on a wire: what a product hears, and the product and the others."""
    heard = {name: (twice(name), complement(name) if on else name) for name, on in product.items()}
    pairs = {
        (mine, its)
        for one, other in permutations(heard, 2)
        for mine in heard[one]
        for its in heard[other]
    }
    return frozenset(pairs | {(PRODUCT, OUTPUT_RAIL), (OUTPUT_RAIL, PRODUCT)})


def _passing(plan: Plan) -> Iterator[Passing]:
    """What passes the pins of a tile: rails without a tick."""
    for rail in _used(plan):
        yield Passing(rail, (rail,))
        yield Passing(_behind(rail), (rail,))
    yield Passing(_behind(OUTPUT_RAIL), (OUTPUT_RAIL, PRODUCT))
