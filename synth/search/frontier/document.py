"""A frontier as JSON writes it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from synth.search.frontier.curve import Step
from synth.search.frontier.frontier import Frontier
from synth.spec.writing import spec_document

FORMAT = "gatefit-frontier"
VERSION = 1


def frontier_document(frontier: Frontier, files: Mapping[int, str] | None = None) -> dict[str, Any]:
    """The document, version 1.

    Args:
        frontier: the frontier.
        files: the file that holds a step's layout, by the step's first value.
    """
    files = files or {}
    return {
        "format": FORMAT,
        "version": VERSION,
        "status": str(frontier.status),
        "complete": frontier.complete,
        "axes": list(frontier.axes),
        "spec": spec_document(frontier.spec),
        "assumed": list(frontier.assumed),
        "steps": [_step(step, frontier, files.get(step.first)) for step in frontier.steps],
        "stats": dict(frontier.stats),
    }


def _step(step: Step, frontier: Frontier, file: str | None) -> dict[str, Any]:
    """A step; ``point`` says whether the best known value drops there."""
    known = step.known
    return {
        "from": step.first,
        "to": step.last,
        "status": str(step.standing),
        "value": step.value,
        "bound": step.bound,
        "point": step in frontier.points,
        "size": None if known is None else list(known.layout.size),
        "delay": None if known is None else known.verdict.delay,
        "parts": None if known is None else known.layout.part_count,
        "file": file,
        "layout": None if known is None else known.layout.document(),
        "claim": step.claim,
    }
