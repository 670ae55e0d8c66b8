"""gatefit: finds the smallest layout of a boolean function, and checks it.

The names below are the whole public interface; the README shows them at work.

- ``Spec.parse(text, **limits)``, ``Spec.load(path)``: what is asked.
- ``solve(spec, ...) -> Outcome``: the search; ``solve_box`` for one box and one delay.
- ``shrink(layout, ...) -> Shrunk``: a right layout made better, from above.
- ``take_census(inputs=2, ...) -> Census``: every function that fits, each with its layout.
- ``prove(layout, ...) -> Outcome``: whether anything smaller keeps what a layout keeps.
- ``Layout.from_document(dict)``, ``Layout.load(path)``, ``.document()``, ``.save(path)``;
  ``Layout.from_drawing(text)``, ``.drawing()`` for layouts as text.
- ``check(layout, spec=None) -> Verdict``: the simulator's judgement.
- ``check_circuit(layout, circuit) -> CircuitVerdict``: the same of many inputs, by proof.
- ``review(layout, spec=None) -> Review``: the judgement, and what is risky, spare or would break.
- ``compare(layout, other) -> Comparison``: same function, faster, smaller, and what differs.
- ``frontier(spec, axes=...) -> Frontier``: the smallest for each value of another measure.
- ``repair(layout, spec=None) -> Repaired``: the fewest changed cells that make it right.
- ``row_of(layout, 8) -> Layout``, ``check_row(layout, function, 8, due=24) -> RowVerdict``: copies
  side by side as one layout, and the play of all of them.
- ``audit(path) -> AuditReport``: the check of a certificate that ``solve`` wrote.
- ``trace(layout, {"a": "0011"}, ticks=12) -> dict``: what happens tick by tick.
- ``InputError``: everything that is wrong with what was given.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from synth.showing import draw_with as _draw_with
from synth.versions import VERSION

if TYPE_CHECKING:
    from synth.building import BuildLimits, Built, build
    from synth.building.checking import CircuitVerdict, check_circuit
    from synth.census.asking import take_census
    from synth.census.result import Census
    from synth.circuits.reading.read import read_circuit
    from synth.errors import InputError
    from synth.layout import Layout
    from synth.medium import Rules
    from synth.proofs.audit import audit
    from synth.proofs.audit_report import AuditReport
    from synth.proving import prove
    from synth.questions.outcome import Outcome, Status
    from synth.repairing import Repaired, repair
    from synth.reviewing import Review, review
    from synth.reviewing.comparing import Comparison, compare
    from synth.search.frontier.frontier import Frontier, frontier
    from synth.search.walk.solve import solve, solve_box
    from synth.shrinking import Shrunk, shrink
    from synth.simulator import check, trace
    from synth.simulator.rows import RowVerdict, check_row, row_of
    from synth.simulator.verdict import Verdict
    from synth.spec import Spec

__version__ = VERSION

__all__ = [
    "AuditReport",
    "BuildLimits",
    "Built",
    "Census",
    "CircuitVerdict",
    "Comparison",
    "Frontier",
    "InputError",
    "Layout",
    "Outcome",
    "Repaired",
    "Review",
    "RowVerdict",
    "Rules",
    "Shrunk",
    "Spec",
    "Status",
    "Verdict",
    "audit",
    "build",
    "check",
    "check_circuit",
    "check_row",
    "compare",
    "frontier",
    "prove",
    "read_circuit",
    "repair",
    "review",
    "row_of",
    "shrink",
    "solve",
    "solve_box",
    "take_census",
    "trace",
]

# Names are fetched on first use, so that `gatefit --help` need not load solvers and graphs.
_HOME = {
    "AuditReport": "synth.proofs.audit_report",
    "BuildLimits": "synth.building",
    "Built": "synth.building",
    "Census": "synth.census.result",
    "CircuitVerdict": "synth.building.checking",
    "Comparison": "synth.reviewing.comparing",
    "Frontier": "synth.search.frontier.frontier",
    "InputError": "synth.errors",
    "Layout": "synth.layout",
    "Outcome": "synth.questions.outcome",
    "Repaired": "synth.repairing",
    "Review": "synth.reviewing",
    "RowVerdict": "synth.simulator.rows",
    "Rules": "synth.medium",
    "Shrunk": "synth.shrinking",
    "Spec": "synth.spec",
    "Status": "synth.questions.outcome",
    "Verdict": "synth.simulator.verdict",
    "audit": "synth.proofs.audit",
    "build": "synth.building",
    "check": "synth.simulator",
    "check_circuit": "synth.building.checking",
    "compare": "synth.reviewing.comparing",
    "frontier": "synth.search.frontier.frontier",
    "check_row": "synth.simulator.rows",
    "read_circuit": "synth.circuits.reading.read",
    "prove": "synth.proving",
    "repair": "synth.repairing",
    "review": "synth.reviewing",
    "row_of": "synth.simulator.rows",
    "shrink": "synth.shrinking",
    "solve": "synth.search",
    "solve_box": "synth.search",
    "take_census": "synth.census.asking",
    "trace": "synth.simulator",
}


def _draw(value: object, form: str) -> str | None:
    """How a value shows itself in a notebook; what draws is loaded when something is shown."""
    from synth.views.notebook import shown

    return shown(value, form)


_draw_with(_draw)


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(_HOME[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
