"""The search: one box, then the smallest box; four outcomes; events to a reporter.

Names are imported on first use. So a worker process, which needs one room of this folder, loads
neither the walk nor the search from above.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from synth.questions.outcome import Outcome, Status
    from synth.search.walk.solve import advise, solve, solve_box

__all__ = ["Outcome", "Status", "advise", "solve", "solve_box"]

_HOME = {
    "Outcome": "synth.questions.outcome",
    "Status": "synth.questions.outcome",
    "advise": "synth.search.walk.solve",
    "solve": "synth.search.walk.solve",
    "solve_box": "synth.search.walk.solve",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(_HOME[name]), name)
    globals()[name] = value
    return value
