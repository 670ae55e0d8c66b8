"""Glitches against plays, one by one, of every change from a settled assignment to another."""

from __future__ import annotations

from itertools import pairwise, product

from hypothesis import given, settings

from synth.layout import Layout
from synth.medium import DEFAULT_RULES
from synth.reviewing import Kind, review
from synth.reviewing.glitches import glitch_findings, steady_rows
from synth.reviewing.subject import Subject
from synth.simulator import check, trace
from synth.simulator.wanted import rows_of
from tests.reading.random_layouts import legal_layouts
from tests.stored import stored_layout

SETTLING = 40
"""Ticks after which these small layouts are settled, if they ever are."""


def test_a_does_not_imply_glitches_where_both_inputs_fall() -> None:
    reviewed = review(stored_layout("and_not"))
    found = [finding for finding in reviewed.findings if finding.kind is Kind.GLITCH]
    assert [finding.details["listed"] for finding in found] == [
        [{"from": "11", "to": "00", "pulses": [{"tick": 1, "ticks": 1, "value": 1}]}]
    ]
    assert "at 1 of 12 changes" in found[0].text
    assert found[0].places[0].at == stored_layout("and_not").outputs[0].at


@settings(max_examples=40)
@given(legal_layouts())
def test_glitches_are_those_of_traces(layout: Layout) -> None:
    subject = Subject(layout, None, None, DEFAULT_RULES, check(layout))
    if not layout.inputs:
        return
    found, _ = glitch_findings(subject)
    told = {
        (finding.details["output"], entry["from"], entry["to"]): entry["pulses"]
        for finding in found
        for entry in finding.details["listed"]
    }
    steady = rows_of(steady_rows(subject.settled))
    played = {}
    names = [pin.name for pin in layout.inputs]
    for row, to in product(steady, steady):
        before, after = (format(one, f"0{len(names)}b") for one in (row, to))
        words = {
            name: one * SETTLING + other
            for name, one, other in zip(names, before, after, strict=True)
        }
        shown = trace(layout, words, 2 * SETTLING)["outputs"]
        for name, word in shown.items():
            values = word[SETTLING - 1 :]
            if sum(one != other for one, other in pairwise(values)) > 1:
                played[name, before, after] = values
    assert set(told) == set(played)
    for key, values in played.items():
        # Spelt out again, the pulses give the values from the first right one on.
        first = values.index(values[-1])
        spelt = list(values[-1] * len(values))
        for pulse in told[key]:
            for tick in range(pulse["tick"], pulse["tick"] + pulse["ticks"]):
                spelt[tick + 1] = str(pulse["value"])
        assert "".join(spelt)[first:] == values[first:]
