"""What a layout without feedback tells of itself at once: its signals, and what is idle in it.

The simulator reads such a layout as a netlist, without playing it (``synth.simulator.acyclic``). In
a layout of thousands of cells that takes a tenth of the time in which the encoding says the same
(``labels_of``, ``promises_of``), which is asked where there is a stack or feedback.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from synth.encoding.geometry import Slot
from synth.encoding.windows import Labels
from synth.encoding.windows.graph import plays_of
from synth.encoding.windows.labels import Label
from synth.encoding.windows.promises import Place
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Joint, Rules
from synth.simulator.acyclic import Network, Reached, network_of
from synth.simulator.fabric import Fabric, Sight, Table, fabric_of
from synth.spec import BooleanFunction


@dataclass(frozen=True)
class Netlist:
    """A right layout that stands alone and has no feedback, with its netlist."""

    layout: Layout
    network: Network
    fabric: Fabric

    @staticmethod
    def of(layout: Layout, rules: Rules = DEFAULT_RULES) -> Netlist | None:
        """The netlist of a legal layout, or None if it stacks or is none without feedback."""
        if layout.stack is not None:
            return None
        network = network_of(layout, rules)
        return Netlist(layout, network, fabric_of(layout)) if isinstance(network, Network) else None

    @cached_property
    def _devices(self) -> list[Place]:
        """Family and cell of each inverter and buffer, by emitter number."""
        inverters: list[Place] = [("inverter", cell) for cell in self.fabric.inverters]
        return inverters + [("buffer", cell) for cell in self.fabric.buffers]

    def labels(self, function: BooleanFunction, rows: Iterable[int] | None = None) -> Labels:
        """The signals of the layout in rows of a function (None: all), and where they are."""
        masks = dict.fromkeys(function.inputs, 0)
        asked = range(function.rows) if rows is None else frozenset(rows)
        for row, bits in enumerate(function.assignments()):
            if row in asked:
                for name, bit in zip(function.inputs, bits, strict=True):
                    masks[name] |= bit << row
        values = self.network.values(masks, sum(1 << row for row in asked))
        signals = [Label(masks[name], 0) for name in function.inputs]
        given = {self.network.inputs[name]: n for n, name in enumerate(function.inputs)}
        numbers: dict[Label, int] = {}
        for number, element in enumerate(self.network.elements):
            label = Label(values[number], element.known_at)
            if label not in numbers:
                numbers[label] = len(signals)
                signals.append(label)
            given[number] = numbers[label]
        carried: dict[Place, int] = {}
        reached = Reached(self.fabric, links=None)
        for place, emitters in zip(self._wires, reached.wires, strict=False):
            mask = 0
            for number in plays_of(emitters):
                mask |= 1 << given[number]
            carried["wire", place] = mask
        devices = {place: given[number] for number, place in enumerate(self._devices)}
        return Labels(tuple(signals), devices, carried)

    @cached_property
    def _wires(self) -> list[Cell | Slot]:
        """Where each wire is, by number: cells, then the leads of inputs and of outputs."""
        leads = [
            Slot(pin.at, pin.face)
            for pin in (*self.layout.inputs, *self.layout.outputs)
            if pin.joint is Joint.WIRE
        ]
        return [*self.fabric.wires[: self.fabric.box_wires], *leads]

    def idle(self) -> set[Cell]:
        """Wires, inverters and buffers from which nothing leads to an output."""
        fabric = self.fabric
        givers: list[list[int]] = [[] for _ in fabric.receivers]
        for wire, receivers in enumerate(fabric.receivers):
            for other in receivers:
                givers[other].append(wire)
        wires: set[int] = set()
        devices: set[int] = set()
        looks: list[int | Sight | None] = [port.sight for port in fabric.outputs]
        while looks:
            ahead, emitters = self._behind(looks.pop())
            while ahead:
                wire = ahead.pop()
                if wire not in wires:
                    wires.add(wire)
                    ahead += givers[wire]
                    emitters.update(fabric.sources[wire])
            for number in emitters - devices:
                devices.add(number)
                if number < fabric.first_buffer:
                    looks.append(fabric.hosts[number])
                elif number < fabric.first_input:
                    looks.append(fabric.backs[number - fabric.first_buffer])
        places = (*fabric.inverters, *fabric.buffers)
        found = {cell for number, cell in enumerate(places) if number not in devices}
        in_box = enumerate(fabric.wires[: fabric.box_wires])
        return found | {cell for wire, cell in in_box if wire not in wires}

    def _behind(self, look: int | Sight | None) -> tuple[list[int], set[int]]:
        """The wires and emitters that what is looked at has power from at once."""
        if look is None:
            return [], set()
        if isinstance(look, Sight):
            if look.table is Table.ON:
                return [], {look.index}
            if look.table is Table.POWERED:
                return [look.index], set()
            look = look.index
        return list(self.fabric.chargers[look]), set(self.fabric.drivers[look])
