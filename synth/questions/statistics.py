"""The counts and times of a search."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Statistics:
    """Counts and times of a search.

    Attributes:
        questions: how many questions solvers were asked; every cube counts as one.
        questions_too_fast: how many were not asked, because they allow fewer ticks than every
            layout of the function needs (``synth.bounds``).
        boxes_ruled_out, boxes_open: length, width, height and delay of each.
        variables, clauses: of the largest formula.
        clauses_by_rule: those of the same formula, by the rule that needs them: rules of the medium
            by section and words (``synth/medium_rules.py``), then the other demands.
        bound: the least value of the first measure that is not ruled out, or None.
        solve_seconds: the time of solvers, summed over workers.
        seconds: the time in all.
        solver, seed: how it was searched.
    """

    questions: int = 0
    questions_too_fast: int = 0
    boxes_ruled_out: tuple[tuple[int, int, int, int], ...] = ()
    boxes_open: tuple[tuple[int, int, int, int], ...] = ()
    variables: int = 0
    clauses: int = 0
    clauses_by_rule: Mapping[str, int] = field(default_factory=dict)
    bound: int | None = None
    solve_seconds: float = 0.0
    seconds: float = 0.0
    solver: str = ""
    seed: int = 0

    def __getitem__(self, name: str) -> Any:
        """A count by its name, as documents write it."""
        if name not in self.__dataclass_fields__:
            raise KeyError(name)
        return getattr(self, name)

    def document(self) -> dict[str, Any]:
        """The counts as documents write them."""
        boxes = {
            name: [list(box) for box in getattr(self, name)]
            for name in ("boxes_ruled_out", "boxes_open")
        }
        return asdict(self) | boxes | {"clauses_by_rule": dict(self.clauses_by_rule)}
