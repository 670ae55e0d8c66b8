"""A verdict on a layout and what the layout was judged by, for every view that shows one.

A layout need not say what it is for. If no function was stated either, all that can be said is
what it computes. Views show the verdict of a ``Judged`` and never one of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator import Verdict, check, legality
from synth.simulator.acyclic import Network, network_of
from synth.simulator.made_for import spec_made_for
from synth.simulator.settling import MAX_SETTLED_INPUTS
from synth.spec import MAX_INPUTS, Spec
from synth.spec.function_text import function_text
from synth.words import counted, ticks


class Stand(Enum):
    """What came of judging a layout."""

    PASSES = "passes"
    FAILS = "fails"
    OPEN = "not checked"
    """Nothing is wrong with it, and nothing was stated to check against."""


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict, and what the layout was judged by.

    Attributes:
        verdict: the simulator's verdict.
        inputs: the names of the inputs, in the layout's order.
        asked: the column of each output asked, with the inputs in that order: ``0``, ``1`` or
            ``-``; None if no function was stated.
        delay: the delay stated, in ticks, or None.
        at_most: where there are too many inputs to play every assignment, the ticks within which
            all outputs settle; the verdict then says that the layout is legal, and no more.
    """

    verdict: Verdict
    inputs: tuple[str, ...]
    asked: Mapping[str, str] | None = None
    delay: int | None = None
    at_most: int | None = None

    @property
    def stand(self) -> Stand:
        """Whether it passes; open where nothing is wrong and no function was stated."""
        if not self.verdict.passes:
            return Stand.FAILS
        return Stand.OPEN if self.asked is None else Stand.PASSES

    @property
    def question(self) -> str:
        """What was asked, such as ``q = a ^ b within 2 ticks``; empty if nothing was."""
        words = []
        if self.asked is not None:
            words.append("; ".join(column_lines(self.asked, self.inputs)))
        if self.delay is not None:
            words.append(f"within {ticks(self.delay)}")
        return " ".join(words)

    @property
    def way(self) -> str:
        """The command that holds the layout against a function, for where none was stated."""
        if len(self.inputs) > MAX_INPUTS:
            return "gatefit check FILE --circuit CIRCUIT"
        return "gatefit view FILE --function TEXT --delay TICKS"

    @property
    def computes(self) -> str:
        """What the layout computes, in a line; empty where it is not legal."""
        outputs = self.verdict.outputs
        return "; ".join(function_text(outputs, self.inputs)) if outputs else ""

    def wrong_rows(self) -> tuple[int, ...]:
        """The rows of the truth table in which an output is not what was asked."""
        outputs = self.verdict.outputs
        if self.asked is None or outputs is None:
            return ()
        return tuple(
            row
            for row in range(1 << len(self.inputs))
            if any(
                column[row] not in ("-", outputs[name][row]) for name, column in self.asked.items()
            )
        )

    def words(self) -> str:
        """The verdict in a sentence or two."""
        verdict = self.verdict
        if not verdict.legal:
            return (
                f"Not legal: {counted(len(verdict.faults), 'fault')}. It cannot be built or played."
            )
        if self.at_most is not None:
            return (
                f"Not checked: {len(self.inputs)} inputs are too many to play every assignment. In "
                f"each of them the outputs settle within {ticks(self.at_most)}."
            )
        computes = f"It computes {self.computes}." if self.computes else ""
        if self.stand is Stand.PASSES:
            return f"Passes. It computes what was asked: {self.question}."
        if self.stand is Stand.OPEN:
            said = f"It is right {self.question}. " if self.question else ""
            return f"No function was stated to check against. {said}{computes}".rstrip()
        rows, count = self.wrong_rows(), 1 << len(self.inputs)
        if rows:
            are = "is" if len(rows) == 1 else "are"
            differ = f"{len(rows)} of {count} rows {are} not as asked"
            return f"Fails: {differ}. Asked: {self.question}. {computes}"
        asked = f" Asked: {self.question}." if self.question else ""
        first = verdict.faults[0].text
        more = len(verdict.faults) - 1
        others = f", and {counted(more, 'fault')} more" if more else ""
        return f"Fails: {first}{others}.{asked} {computes}".rstrip()


def judge(
    layout: Layout,
    spec: Spec | None = None,
    *,
    delay: int | None = None,
    rules: Rules = DEFAULT_RULES,
) -> Judged:
    """Judge a layout by what is stated, or else by what it was made for, if it says so.

    Raises:
        InputError: as ``synth.simulator.check`` does.
    """
    if spec is None:
        spec = spec_made_for(layout)
    if spec is None and delay is None:
        bounded = _bounded(layout, rules)
        if bounded is not None:
            return bounded
    verdict = check(layout, spec, delay=delay, rules=rules)
    inputs = tuple(pin.name for pin in layout.inputs)
    if spec is None:
        return Judged(verdict, inputs, None, delay)
    order = tuple(spec.function.inputs.index(name) for name in inputs)
    asked = spec.function.permuted(order).outputs
    return Judged(verdict, inputs, asked, spec.limits.delay if delay is None else delay)


def _bounded(layout: Layout, rules: Rules) -> Judged | None:
    """Of a circuit with too many inputs for a table: legal, and when it settles at the latest."""
    if len(layout.inputs) <= MAX_SETTLED_INPUTS or layout.stack or legality(layout, rules):
        return None
    network = network_of(layout, rules)
    if not isinstance(network, Network):
        return None
    verdict = Verdict(legal=True, function=None, delay=None, stacks=None, outputs=None)
    return Judged(verdict, tuple(pin.name for pin in layout.inputs), at_most=network.delay)


def column_lines(columns: Mapping[str, str], inputs: tuple[str, ...]) -> list[str]:
    """``q = a ^ b`` for each column; a column with don't cares as ``q : 011-``."""
    lines = []
    for name, column in columns.items():
        if "-" in column:
            lines.append(f"{name} : {column}")
        else:
            lines += function_text({name: column}, inputs)
    return lines
