"""A formula in which much is known beforehand: constants take the place of variables."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Mapping

from synth.encoding.formula import FALSE, TRUE, Formula
from synth.encoding.geometry import Slot
from synth.medium import Block, Cell, Part

CHOICES = ("solid", "insulator", "wire", "inverter", "buffer")
"""Families of static choices: what a cell holds."""


class KnownFormula(Formula):
    """A formula whose fixed cells and pins are constants, and where what is not there is false.

    Args:
        free: the cells whose choices are variables.
        cells: what the other cells hold; they are empty where it names nothing.
        pins: the places each pin may take; a single one is a constant.
    """

    def __init__(
        self,
        free: frozenset[Cell],
        cells: Mapping[Cell, Block],
        pins: Mapping[str, tuple[Slot, ...]],
    ) -> None:
        super().__init__()
        self._free = free
        self._held = {cell: _choice(block) for cell, block in cells.items()}
        self._pins = pins
        self.contradiction = False

    def declare(self, *key: Hashable) -> int:
        """Declare a variable, or a constant where the cell or pin is fixed."""
        if key[0] in CHOICES and key[1] not in self._free:
            held = self._held.get(key[1])  # type: ignore[call-overload]
            return self.alias(TRUE if held == (key[0], *key[2:]) else FALSE, *key)
        if key[0] == "pin" and len(self._pins[key[1]]) == 1:  # type: ignore[index]
            return self.alias(TRUE, *key)
        return super().declare(*key)

    def literal(self, *key: Hashable) -> int:
        """The literal declared under a name; false where there is nothing of that name."""
        return self._numbers.get(key, FALSE)

    def fresh(self, *key: Hashable) -> int:
        """A new variable, whatever the key says."""
        return super().declare(*key)

    def settle(self) -> None:
        """Draw all conclusions that single literals allow, and write them in as constants.

        Sets ``contradiction`` if the clauses so far contradict each other.
        """
        values = self._propagated()
        if values is None:
            self.contradiction = True
            self.clauses.append([])
            return
        for key, literal in self._numbers.items():
            if abs(literal) != TRUE and abs(literal) in values:
                self._numbers[key] = TRUE if values[abs(literal)] == (literal > 0) else FALSE
        decided = [variable if true else -variable for variable, true in values.items()]
        true, false = set(decided), {-literal for literal in decided}
        self.clauses = [
            [TRUE],
            *([literal] for literal in decided),
            *(
                clause
                if false.isdisjoint(clause)
                else [literal for literal in clause if literal not in false]
                for clause in self.clauses[1:]
                if true.isdisjoint(clause)
            ),
        ]

    def _propagated(self) -> dict[int, bool] | None:
        """The variables that single literals decide, or None if they contradict each other."""
        values: dict[int, bool] = {}
        holding: dict[int, list[list[int]]] = {}
        ahead = deque(clause[0] for clause in self.clauses[1:] if len(clause) == 1)
        for clause in self.clauses[1:]:
            if not clause:
                return None
            for literal in clause:
                holding.setdefault(-literal, []).append(clause)
        while ahead:
            literal = ahead.popleft()
            known = values.get(abs(literal))
            if known is not None:
                if known != (literal > 0):
                    return None
                continue
            values[abs(literal)] = literal > 0
            for clause in holding.get(literal, ()):
                open_ones = []
                for other in clause:
                    value = values.get(abs(other))
                    if value is None:
                        open_ones.append(other)
                    elif value == (other > 0):
                        break
                else:
                    if not open_ones:
                        return None
                    if len(open_ones) == 1:
                        ahead.append(open_ones[0])
        return values


def _choice(block: Block) -> tuple[Hashable, ...]:
    """The family and facing of a block, as static choices are named."""
    if block.part in (Part.CLEAR, Part.LEDGE):
        return ("insulator",)
    if block.part in (Part.INVERTER, Part.BUFFER):
        return (str(block.part), block.facing)
    return (str(block.part),)
