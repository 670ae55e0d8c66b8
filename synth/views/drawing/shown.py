"""What of a layout a drawing shows: all of it, a stage of the building, or what has power."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Part, Rules


@dataclass(frozen=True, slots=True)
class Shown:
    """What of a layout a picture shows.

    Attributes:
        cells: only parts of these cells; None for all.
        new: cells whose parts stand out, as those that a step of a plan adds.
        power: by cell, as ``symbols.symbol`` takes it; cells left out have none.
        strengths: of wires, to be written on them.
    """

    cells: Set[Cell] | None = None
    new: Set[Cell] = frozenset()
    power: Mapping[Cell, float] = field(default_factory=dict)
    strengths: Mapping[Cell, int] = field(default_factory=dict)

    @staticmethod
    def of_tick(
        layout: Layout,
        tick: Mapping[str, Sequence[Sequence[int]]],
        driven: Set[Cell] = frozenset(),
        rules: Rules = DEFAULT_RULES,
    ) -> Shown:
        """What has power at one entry of ``ticks`` of a trace document.

        Args:
            driven: the solids that are driven; all others that are charged are drawn as that.
        """
        power: dict[Cell, float] = {}
        for key in ("charged", "on"):
            for x, y, z in tick[key]:
                power[(x, y, z)] = 2 if (x, y, z) in driven else 1
        strengths = {(x, y, z): value for x, y, z, value in tick["wires"] if value}
        for cell, value in strengths.items():
            if layout.cells[cell].part is Part.WIRE:
                power[cell] = value / rules.reach
        return Shown(power=power, strengths=strengths)
