"""A review of a layout: the verdict, and everything else a builder would want to be told."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Rules
from synth.reviewing.alternatives import joint_findings, stack_findings
from synth.reviewing.faults import fault_findings
from synth.reviewing.finding import Finding, Remedy, Severity
from synth.reviewing.glitches import glitch_findings
from synth.reviewing.idle import idle_findings
from synth.reviewing.memory import memory_findings
from synth.reviewing.remedies import remedies_of
from synth.reviewing.subject import Key, Subject
from synth.reviewing.suspects import suspects
from synth.reviewing.weakness import weak_findings
from synth.showing import Shows
from synth.simulator import check
from synth.simulator.made_for import spec_made_for
from synth.simulator.verdict import Verdict
from synth.spec import Spec

FORMAT = "gatefit-review"
VERSION = 1

REMEDY_PARTS = 120_000
"""Parts that trials of remedies may play in all, for any layout: some 1.5 seconds."""

SUSPECT_PARTS = 60_000
"""The same for trials of signals that would put outputs right."""

IDLE_PARTS = 80_000
"""The same for trials of parts that may do nothing: some 1 second."""


@dataclass(frozen=True)
class Review(Shows):
    """What a review found.

    Attributes:
        layout: what was reviewed.
        verdict: the simulator's verdict on it.
        findings: the worst first.
        suspects: cells where the mistake may be, the farthest upstream first; empty where nothing
            singles any out (not part of the document: findings name the best of them).
        left_out: what was not looked at, or only in part, and why; empty if nothing was left out.
    """

    layout: Layout
    verdict: Verdict
    findings: tuple[Finding, ...]
    left_out: tuple[str, ...] = ()
    suspects: tuple[Cell, ...] = ()

    def of(self, severity: Severity) -> tuple[Finding, ...]:
        """The findings of one severity."""
        return tuple(one for one in self.findings if one.severity is severity)

    def document(self) -> dict[str, Any]:
        """The review document, version 1."""
        return {
            "format": FORMAT,
            "version": VERSION,
            "verdict": self.verdict.document(),
            "findings": [finding.document() for finding in self.findings],
            "left_out": list(self.left_out),
        }


def review(
    layout: Layout,
    spec: Spec | None = None,
    *,
    delay: int | None = None,
    link_delay: int | None = None,
    rules: Rules = DEFAULT_RULES,
    time_limit_s: float | None = 20.0,
    stop: Callable[[], bool] | None = None,
) -> Review:
    """Judge a layout, and tell what is risky, spare or would break, each with its cells.

    Args:
        layout: the layout.
        spec: what is asked; None: what the layout says it was made for, if it does.
        delay: a delay that must be met, in ticks; overrides the limit of the specification.
        link_delay: the same of a chain's links.
        rules: the rule table.
        time_limit_s: seconds after which it ends with what it has; None: none. What is tried is
            bounded by itself, and only layouts that take very long to settle come near this.
        stop: asked often; once it says yes, the review ends with what it has and says so.

    Returns:
        The review. Of a layout that is not legal, only faults are told. What would take long is
        bounded; ``left_out`` says what that left out. 1,000 parts take some seconds.

    Raises:
        InputError: as ``synth.simulator.check`` does.
    """
    if spec is None:
        spec = spec_made_for(layout)
    verdict = check(layout, spec, delay=delay, link_delay=link_delay, rules=rules)
    began = time.monotonic()

    def stopped() -> bool:
        late = time_limit_s is not None and time.monotonic() - began >= time_limit_s
        return late or (stop is not None and stop())

    subject = Subject(layout, spec, delay, rules, verdict, link_delay, stopped)
    findings: list[Finding] = []
    left_out: list[str] = []

    if verdict.legal:
        for look in (memory_findings, glitch_findings):
            found, missing = look(subject)
            findings += found
            left_out += missing
        findings += weak_findings(subject)
    else:
        left_out.append("everything but the faults: a layout that is not legal does nothing")
    remedies: Mapping[Key, tuple[Remedy, ...]] = {}
    complete = True
    suspected: list[Cell] = []
    if verdict.faults and not stopped():
        suspected = suspects(subject, subject.effort(SUSPECT_PARTS))
        remedies, complete = remedies_of(subject, subject.effort(REMEDY_PARTS), suspected)
    if not complete:
        left_out.append("remedies: not every change was tried, only those nearest to the faults")
    findings += fault_findings(subject, remedies)
    if verdict.passes and not stopped():
        found, missing = idle_findings(subject, subject.effort(IDLE_PARTS))
        findings += found
        left_out += missing
    elif verdict.legal and not verdict.passes:
        left_out.append("parts that do nothing: in a layout that is wrong, many are cut off")
    if verdict.legal and not stopped():
        findings += joint_findings(subject)
    if verdict.passes:
        findings += stack_findings(subject)
    if stopped():
        left_out.append("whatever was not yet looked at: the review was stopped, or took too long")
    ordered = sorted(findings, key=lambda finding: finding.severity.order)
    return Review(layout, verdict, tuple(ordered), tuple(left_out), tuple(suspected))
