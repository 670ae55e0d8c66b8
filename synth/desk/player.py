"""Plays a design as it is: after every edit and every switch, until it is at rest.

Parts that break a rule of the medium (sections 2, 6 and 8) cannot be played: the rest is played
without them, and the page says so. Everything else is the simulator's play, tick by tick.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Block, Cell, RuleId, Rules
from synth.simulator.explaining.reasons import Reasons, Situation
from synth.simulator.fabric import Fabric, fabric_of
from synth.simulator.legality import legality
from synth.simulator.play import Frame, State, after, dark, frame
from synth.simulator.verdict import Fault

MOST_TICKS = 64
"""Most ticks that are played for a layout that does not come to rest."""

MOST_KEPT = 400
"""Ticks of the past that are kept."""

MOST_RUN = 64
"""Ticks that one order plays on."""


_PIN_RULES = frozenset({RuleId.PIN_FACE, RuleId.PIN_SPACING})
"""Rules that name the cell of a pin, not of a part."""


@dataclass(slots=True)
class Tick:
    """One tick: what was carried into it, the inputs, and what they make of the layout."""

    state: State
    inputs: tuple[int, ...]
    frame: Frame


@dataclass(slots=True)
class Player:
    """Plays one layout; keeps the ticks that it showed.

    Attributes:
        layout: what is played: the layout given, without the parts that break a rule.
        left_out: their cells, and those outside pins that break one.
        faults: the rules broken by the layout given.
        ticks: the timeline.
        origin: the tick at which the inputs changed last.
        at_rest: whether the last tick goes on unchanged.
    """

    layout: Layout
    left_out: frozenset[Cell]
    faults: tuple[Fault, ...]
    rules: Rules
    fabric: Fabric
    ticks: list[Tick] = field(default_factory=list)
    origin: int = 0
    at_rest: bool = False

    @staticmethod
    def of(
        layout: Layout,
        rules: Rules = DEFAULT_RULES,
        before: Player | None = None,
        inputs: Mapping[str, int] | None = None,
    ) -> Player:
        """A player of a layout, played until it is at rest.

        Args:
            layout: any layout, legal or not.
            before: of the layout before an edit: what stayed keeps its power, and the switches
                their places.
            inputs: values of switches, by name, over those of ``before``; others are off.
        """
        faults = legality(layout, rules)
        # Most designs are legal, and then nothing need be looked at twice.
        legal, left_out = without_faults(layout, rules) if faults else (layout, frozenset[Cell]())
        player = Player(legal, left_out, faults, rules, fabric_of(legal))
        switches = {} if before is None else before.switches()
        switches |= dict(inputs or {})
        bits = tuple(switches.get(port.pin.name, 0) for port in player.fabric.inputs)
        player._show(player._carried(before), bits)
        player._rest()
        return player

    # What is shown

    def switches(self, tick: int = -1) -> dict[str, int]:
        """The inputs at a tick, by name."""
        ports = self.fabric.inputs
        names = [port.pin.name for port in ports]
        return dict(zip(names, self.ticks[tick].inputs, strict=True))

    def outputs(self, tick: int) -> dict[str, int]:
        """The outputs at a tick, by name."""
        power = self.ticks[tick].frame.power
        return {port.pin.name: power.seen(port.sight) for port in self.fabric.outputs}

    def values(self, tick: int) -> dict[Cell, int]:
        """How every live part stands: as ``Situation.value`` says it, parts outside pins too."""
        shown = self.ticks[tick].frame
        power, fabric = shown.power, self.fabric
        found = dict(zip(fabric.wires, shown.strength, strict=False))
        for number, cell in enumerate(fabric.solids):
            found[cell] = power.charged[number] + power.driven[number]
        for number, cell in enumerate((*fabric.inverters, *fabric.buffers)):
            found[cell] = power.on[number]
        for entry in fabric.inputs:
            if entry.lead is None:
                found[entry.pin.outside] = power.on[entry.emitter]
        for port in fabric.outputs:
            if port.lead is None:
                found[port.pin.outside] = power.seen(port.sight)
        return found

    def why(self, cell: Cell, tick: int) -> Situation | None:
        """How a part stands at a tick, and what makes it so; None for a part without power.

        Raises:
            InputError: if there is no such tick.
        """
        shown = self._tick(tick)
        reasons = Reasons(self.layout, self.rules)
        if cell not in reasons.cells:
            return None
        situations = reasons.situations(shown.state, shown.frame)
        return situations[reasons.cells.index(cell)]

    def _tick(self, tick: int) -> Tick:
        if not 0 <= tick < len(self.ticks):
            raise InputError(f"no tick {tick}", place="tick")
        return self.ticks[tick]

    # Playing on

    def switch(self, tick: int, inputs: Mapping[str, int]) -> None:
        """Set inputs in the tick after that one, and play until all is at rest.

        Raises:
            InputError: if there is no such tick, or no such input.
        """
        shown = self._tick(tick)
        names = [port.pin.name for port in self.fabric.inputs]
        for name in inputs:
            if name not in names:
                raise InputError(f"no input {name}", place="inputs")
        values = {**self.switches(tick), **inputs}
        del self.ticks[tick + 1 :]
        self._show(
            after(self.fabric, shown.state, shown.frame), tuple(values[name] for name in names)
        )
        self.origin = len(self.ticks) - 1
        self._rest()

    def run(self, ticks: int) -> None:
        """Play on with the inputs as they are."""
        for _ in range(min(ticks, MOST_RUN)):
            self._step()
        self._trim()

    def _step(self) -> bool:
        """Play one tick; returns whether anything that carries over has changed."""
        last = self.ticks[-1]
        state = after(self.fabric, last.state, last.frame)
        self._show(state, last.inputs)
        self.at_rest = state == last.state
        return not self.at_rest

    def _rest(self) -> None:
        for _ in range(MOST_TICKS):
            if not self._step():
                break
        self._trim()

    def _show(self, state: State, inputs: tuple[int, ...]) -> None:
        self.ticks.append(Tick(state, inputs, frame(self.fabric, state, inputs, self.rules)))

    def _trim(self) -> None:
        surplus = len(self.ticks) - MOST_KEPT
        if surplus > 0:
            del self.ticks[:surplus]
            self.origin = max(0, self.origin - surplus)

    def _carried(self, before: Player | None) -> State:
        """What carries over for parts that an edit left alone; new parts begin without power."""
        state = dark(self.fabric)
        if before is None:
            return state
        old, last = before.fabric, before.ticks[-1].state
        known: dict[tuple[Cell, Block], tuple[int, int]] = {}
        for number, cell in enumerate((*old.inverters, *old.buffers)):
            wait = last.waits[number - old.first_buffer] if number >= old.first_buffer else 0
            known[cell, before.layout.cells[cell]] = (last.on[number], wait)
        cells = (*self.fabric.inverters, *self.fabric.buffers)
        kept = [known.get((cell, self.layout.cells[cell]), (0, 0)) for cell in cells]
        waits = tuple(wait for _, wait in kept[self.fabric.first_buffer :])
        return State(tuple(on for on, _ in kept), waits)


def without_faults(layout: Layout, rules: Rules) -> tuple[Layout, frozenset[Cell]]:
    """A legal layout: the one given, alone, without the parts and pins that break a rule.

    Nothing rests on a part that lacks its support or host, so what is left breaks no new rule.

    Returns:
        that layout, and the cells left out: those of parts, and for pins those outside the box.
    """
    layout = layout.replace(stack=None)
    left_out: set[Cell] = set()
    while faults := legality(layout, rules):
        crowded = {fault.at for fault in faults if fault.rule in _PIN_RULES}
        broken = {fault.at for fault in faults if fault.rule not in _PIN_RULES}
        left_out |= broken | {pin.outside for pin in layout.pins if pin.at in crowded}
        layout = layout.replace(
            cells={cell: block for cell, block in layout.cells.items() if cell not in broken},
            pins=tuple(pin for pin in layout.pins if pin.at not in crowded),
        )
    return layout, frozenset(left_out)
