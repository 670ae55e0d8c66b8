"""What a layout was made for, in words, and whether it is that."""

from __future__ import annotations

from collections.abc import Iterator

from synth.layout import Layout, MadeFor
from synth.layout.made_for import Table
from synth.medium import RuleId
from synth.simulator.verdict import Verdict
from synth.spec.function_text import function_text
from synth.words import listed, ticks


def purpose_words(kept: MadeFor) -> str:
    """What a layout was made for: ``q = a ^ b within 2 ticks``."""
    if isinstance(kept.function, str):
        function = kept.function
    else:
        function = "; ".join(_columns(kept.function))
    return function if kept.delay is None else f"{function} within {ticks(kept.delay)}"


def _columns(table: Table) -> Iterator[str]:
    """Each output: as an expression, by its number of ones, or as a column with don't cares."""
    rows = [row.split()[-1] for row in sorted(table.rows)]
    for name, values in zip(table.outputs, zip(*rows, strict=True), strict=True):
        column = "".join(values)
        if "-" in column:
            yield f"{name}: table {column}"
        else:
            yield from function_text({name: column}, table.inputs)


def purpose_text(layout: Layout, verdict: Verdict) -> str:
    """What a layout was made for, and whether it passes as that, in one or two sentences.

    Args:
        layout: a layout that says what it was made for.
        verdict: the simulator's verdict on it, judged by that.
    """
    assert layout.made_for is not None
    lead = f"Made for {purpose_words(layout.made_for)}."
    if verdict.passes:
        return f"{lead} It passes."
    return f"{lead} It FAILS: {_why(layout, verdict)}."


def _why(layout: Layout, verdict: Verdict) -> str:
    if not verdict.legal:
        return "it is not legal in the medium"
    if not verdict.function:
        inputs = [pin.name for pin in layout.inputs]
        computed = "; ".join(function_text(verdict.outputs or {}, inputs))
        return f"it computes {computed}"
    rules = {fault.rule for fault in verdict.faults}
    if RuleId.FED_BACK in rules:
        return "an input is fed back"
    if RuleId.DELAY in rules and verdict.delay is not None:
        return f"the function is right, but takes {ticks(verdict.delay)}"
    return f"the function is right, but it breaks {listed(sorted(str(rule) for rule in rules))}"
