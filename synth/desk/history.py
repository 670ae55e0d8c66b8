"""Undo and redo without limit, by patches in both directions."""

from __future__ import annotations

from dataclasses import dataclass, field

from synth.desk.design import Design
from synth.desk.patch import Patch, applied, between


@dataclass(slots=True)
class History:
    """A design and the way that led to it.

    Attributes:
        design: as it is now.
        past: for each step done, the patch that did it and the one that undoes it, oldest first.
        future: the steps undone, the next to be done again last.
    """

    design: Design
    past: list[tuple[Patch, Patch]] = field(default_factory=list)
    future: list[tuple[Patch, Patch]] = field(default_factory=list)

    def do(self, patch: Patch) -> None:
        """Go one step on; what was undone cannot be done again from here.

        Raises:
            InputError: if the patch does not fit the design, which then stays.
        """
        after = applied(self.design, patch)
        self.past.append((patch, between(after, self.design, patch.label)))
        self.future.clear()
        self.design = after

    def undo(self) -> bool:
        """Go one step back; returns whether there was one."""
        if not self.past:
            return False
        step = self.past.pop()
        self.future.append(step)
        self.design = applied(self.design, step[1])
        return True

    def redo(self) -> bool:
        """Do again what was undone last; returns whether there was anything."""
        if not self.future:
            return False
        step = self.future.pop()
        self.past.append(step)
        self.design = applied(self.design, step[0])
        return True
