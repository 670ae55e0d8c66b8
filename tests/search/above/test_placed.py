"""What a start is worth to the process that places and shrinks."""

from __future__ import annotations

import time

from synth.layout import Layout
from synth.questions.problem import Problem
from synth.search.above.descent import Descent, Placing
from synth.spec import Spec


def placing_for(spec: Spec) -> Placing:
    problem, _ = Problem.of(spec)
    return Placing(Descent(problem, spec.limits, None, 60.0, 0), time.monotonic() + 60.0)


def test_only_a_far_larger_slice_counts_as_none() -> None:
    slice_ = Spec.parse("co = a & ci", stack="x", chain=[("co", "ci")], width=2, delay=5)
    small, large = Layout((6, 2, 5), {}), Layout((36, 2, 21), {})
    placing = placing_for(slice_)
    assert placing.counts_as_none(large)
    assert not placing.counts_as_none(small)
    assert not placing_for(Spec.parse("q = a & b", width=2, delay=5)).counts_as_none(large)
