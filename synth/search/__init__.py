"""The search: one box, then the smallest box; four outcomes; events to a reporter."""

from synth.questions.outcome import Outcome, Status
from synth.search.walk.solve import advise, solve, solve_box

__all__ = ["Outcome", "Status", "advise", "solve", "solve_box"]
