"""Adds a layout of the user's own to a store, as the best known for the question it answers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from synth.errors import InputError
from synth.layout import Layout
from synth.library.answer import Answer
from synth.library.canonical import Canonical
from synth.library.store import Store
from synth.medium import DEFAULT_RULES, Rules
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.simulator import check
from synth.simulator.demands import stack_of
from synth.simulator.verdict import Verdict
from synth.spec import BooleanFunction, Limits, PinDemand, Spec
from synth.spec.checks import check_spec
from synth.spec.function import MAX_INPUTS

CLAIM = "a layout that was added; nothing smaller was looked for"


@dataclass(frozen=True)
class Added:
    """What adding a layout did.

    Attributes:
        number: the entry of the layout's question.
        improved: whether the store now knows more; if not, it had an equal or better layout.
        spec: the question, with the layout's own names.
        verdict: the simulator's verdict on the layout.
    """

    number: int
    improved: bool
    spec: Spec
    verdict: Verdict


def add(
    store: Store,
    layout: Layout,
    function: BooleanFunction | None = None,
    *,
    name: str = "",
    note: str = "",
    tags: Iterable[str] = (),
    rules: Rules = DEFAULT_RULES,
) -> Added:
    """Keep a layout as the best known for the question it answers, if the simulator passes it.

    The question is: its function within its own box and delay, with its stacking, its ground and
    the joints of its pins.

    Args:
        store: the store to add it to.
        layout: the layout.
        function: the function asked; None takes the one that the layout computes. It may have
            don't-cares, which the layout settles one way or the other.
        name: a name for the function; None takes the layout's own.
        note, tags: kept with the entry (``Store.remark``).
        rules: the rule table of the layout.

    Raises:
        InputError: if the simulator does not pass the layout, if it computes no function or
            another one, if it contradicts a stored answer, or if the store cannot be written to.
    """
    spec, verdict = question_of(layout, function, rules)
    asked, naming = Canonical.of(Problem(spec, rules=rules))
    answer = Answer(
        Status.UNDECIDED,
        proven=False,
        layout=naming.to_canonical(layout),
        delay=verdict.delay,
        claim=CLAIM,
    )
    with store.writing():
        improved = store.keep_answer(asked, answer, name or layout.name or "")
        number = store.number_of(asked.key)
        store.remark(number, note, tags)
    return Added(number, improved, spec, verdict)


def question_of(
    layout: Layout, function: BooleanFunction | None, rules: Rules
) -> tuple[Spec, Verdict]:
    """The question that a layout answers, and the simulator's verdict on the layout.

    Raises:
        InputError: if it answers no question.
    """
    inputs = tuple(pin.name for pin in layout.inputs)
    if len(inputs) > MAX_INPUTS:
        raise InputError(
            f"a layout of {len(inputs)} inputs",
            place="pins",
            way_out=f"a store keeps functions of up to {MAX_INPUTS}",
        )
    if function is None:
        function = _seen(layout, inputs, rules)
    verdict = _passing(layout, Spec(function), rules)
    length, width, height = layout.size
    asked = Spec(
        function,
        limits=Limits(length, width, height, delay=verdict.delay),
        pins={pin.name: PinDemand(joint=pin.joint) for pin in layout.pins},
        stack=stack_of(layout),
        ground=layout.ground,
    )
    return asked, _passing(layout, check_spec(asked), rules)


def _seen(layout: Layout, inputs: tuple[str, ...], rules: Rules) -> BooleanFunction:
    """The function that a layout computes."""
    outputs = dict(_passing(layout, None, rules).outputs or {})
    if not outputs:
        raise InputError("the layout has no outputs", place="pins", way_out="give it an output")
    for name, column in outputs.items():
        if "x" in column:
            row = column.index("x")
            bits = format(row, f"0{len(inputs)}b") if inputs else ""
            raise InputError(
                f"the output {name!r} stays unknown for the inputs {bits or 'none'}",
                way_out="state with --function what it should compute, with a don't-care for these "
                "inputs, or mend the layout ('gatefit explain' says why)",
            )
    return BooleanFunction(inputs, outputs)


def _passing(layout: Layout, spec: Spec | None, rules: Rules) -> Verdict:
    verdict = check(layout, spec, rules=rules)
    if not verdict.passes:
        more = len(verdict.faults) - 1
        raise InputError(
            f"the simulator does not pass the layout: {verdict.faults[0].text}"
            + (f" (and {more} more)" if more else ""),
            way_out="'gatefit check' lists every fault",
        )
    return verdict
