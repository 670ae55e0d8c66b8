"""A question is asked again, stricter, when the layout found turns out wrong."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

from synth.encoding import Question, encode
from synth.search.workers.task import Task, answer
from synth.simulator import check
from synth.spec import BooleanFunction
from tests.encoding.agreement import spec_of
from tests.stored import stored_layout


def test_a_layout_that_fails_a_row_left_out_is_no_answer() -> None:
    """An exclusive-or does what an or does on all rows but the last, which no input changes."""
    layout = stored_layout("xor2")
    delay = check(layout).delay
    assert delay is not None
    inputs = tuple(pin.name for pin in layout.inputs)
    (output,) = (pin.name for pin in layout.outputs)
    length, width, height = layout.size
    box = set(product(range(length), range(width), range(height)))
    spec = spec_of(layout).replace(
        function=BooleanFunction(inputs, {output: "0111"}),
        fixed=dict(layout.cells),
        empty=frozenset(box - set(layout.cells)),
    )
    question = Question(spec, layout.size, delay, sensitive=True)
    assert question.asked_rows == (0, 1, 2)
    reply = answer(Task(question, "cadical195"))
    assert reply.answer == "impossible"
    every = encode(replace(question, sensitive=False))
    assert (reply.variables, reply.clauses) == (every.variable_count, len(every.clauses))
    right = spec.replace(function=BooleanFunction(inputs, {output: "0110"}))
    assert answer(Task(replace(question, spec=right), "cadical195")).answer == "found"
