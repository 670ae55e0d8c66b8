"""A truth table left free: the search finds out what a layout computes, nobody asks for it."""

from __future__ import annotations

from dataclasses import dataclass

from synth.spec import Spec
from synth.spec.classes import Columns


@dataclass(frozen=True)
class FreeTable:
    """The functions that a layout may compute: all of them, unless the attributes say otherwise.

    Functions come in classes: what turns into each other by permuting inputs and by permuting
    outputs (``synth.spec.classes``). All inputs must be asked alike, and all outputs: then a layout
    of one member is, with its pins renamed, a layout of each other member. So a class has a layout
    or has none, and to forbid a class as a whole takes nothing from the others.

    Attributes:
        forbidden: one member of each class that is not wanted any more.
        sought: if any, nothing else is wanted: columns with don't cares, one member of each class.
            What is ``forbidden`` is then some of these, and the same don't cares.
        every_input_matters: whether a function that some input never changes is left out. Where
            functions are ``sought``, it has no effect.
    """

    forbidden: tuple[Columns, ...] = ()
    sought: tuple[Columns, ...] = ()
    every_input_matters: bool = True

    def require_fit(self, spec: Spec) -> None:
        """Refuse a specification that asks for values, for pins that are not all alike, or a chain.

        Raises:
            ValueError: if it does.
        """
        function = spec.function
        if any(set(column) - {"-"} for column in function.outputs.values()):
            raise ValueError("a free truth table, but the specification asks for values")
        if spec.chain:
            raise ValueError("a free truth table, but copies hand signals on")
        for names in (function.inputs, tuple(function.outputs)):
            if any(spec.pins[name] != spec.pins[names[0]] for name in names):
                raise ValueError("a free truth table, but pins are not asked alike")
