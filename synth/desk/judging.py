"""The review beside the design: what the simulator says of it, ready for JSON."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from synth.desk.design import Design
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.pins import show_size
from synth.medium import DEFAULT_RULES, RULE_TEXT, Rules
from synth.reviewing import Finding, review
from synth.simulator.verdict import Fault
from synth.views.judged import Judged, judge
from synth.views.page.tables import headline, truth_of
from synth.views.text.verdict import delay_text


def judgement_of(design: Design, rules: Rules = DEFAULT_RULES) -> dict[str, Any]:
    """The verdict on a design, held against what is expected of it.

    It never fails: what cannot be judged says why.
    """
    layout = design.layout
    refusal = ""
    try:
        judged = judge(layout, rules=rules)
    except InputError as error:
        refusal = str(error)
        try:
            judged = judge(layout.replace(made_for=None), rules=rules)
        except InputError as other:
            return _unjudged(layout, str(other))
    verdict = judged.verdict
    return {
        "stand": "open" if refusal else judged.stand.name.lower(),
        "words": judged.words(),
        "refusal": refusal and f"The expected function cannot be held against it: {refusal}",
        "computes": headline(judged) if layout.outputs or not verdict.legal else [],
        "legal": verdict.legal,
        "delay": verdict.delay,
        "measures": _measures(layout) | {"delay": delay_text(verdict)},
        "stacks": verdict.stacks,
        "faults": [fault_data(fault) for fault in verdict.faults],
        "truth": _truth(judged),
    }


def findings_of(
    design: Design, rules: Rules = DEFAULT_RULES, stop: Callable[[], bool] | None = None
) -> dict[str, Any]:
    """Everything a review finds besides the verdict, with what would mend it.

    It never fails; where nothing can be judged it finds nothing.

    Args:
        stop: asked often; once it says yes, the review ends with what it has.
    """
    for layout in (design.layout, design.layout.replace(made_for=None)):
        try:
            found = review(layout, rules=rules, stop=stop)
        except InputError:
            continue
        return {
            "findings": [finding_data(finding) for finding in found.findings],
            "leftOut": list(found.left_out),
        }
    return {"findings": [], "leftOut": []}


def finding_data(finding: Finding) -> dict[str, Any]:
    """A finding for the page: its cells, its words, and the edits that are its remedies."""
    return {
        "kind": str(finding.kind),
        "severity": str(finding.severity),
        "rule": "" if finding.rule is None else str(finding.rule),
        "cells": [list(place.at) for place in finding.places],
        "text": finding.text,
        "means": "" if finding.rule is None else RULE_TEXT[finding.rule],
        "remedies": [
            {
                "text": remedy.text,
                "passes": remedy.passes,
                "edit": {"kind": "change", **remedy.change.document()},
            }
            for remedy in finding.remedies
        ],
    }


def fault_data(fault: Fault) -> dict[str, Any]:
    """A fault for the page: its rule, cell and words."""
    return {
        "rule": str(fault.rule),
        "at": list(fault.at),
        "text": fault.text,
        "means": RULE_TEXT[fault.rule],
    }


def _measures(layout: Layout) -> dict[str, str]:
    return {
        "size": show_size(layout.size),
        "volume": str(layout.volume),
        "floor": str(layout.floor),
        "parts": str(layout.part_count),
    }


def _unjudged(layout: Layout, why: str) -> dict[str, Any]:
    return {
        "stand": "open",
        "words": f"Not judged: {why}",
        "refusal": "",
        "computes": [],
        "legal": None,
        "delay": None,
        "measures": _measures(layout) | {"delay": "not known"},
        "stacks": None,
        "faults": [],
        "truth": None,
    }


def _truth(judged: Judged) -> dict[str, Any] | None:
    table = truth_of(judged)
    if table is None:
        return None
    return {
        "inputs": list(table.inputs),
        "outputs": list(table.outputs),
        "count": table.count,
        "rows": [
            [row, bits, [[value.reads, value.asked] for value in values]]
            for row, bits, values in table.rows
        ],
        "asked": judged.asked is not None,
    }
