"""A child process that shrinks one layout and reports every gain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import IO

from synth.layout import Layout
from synth.questions.problem import Problem
from synth.search.workers.child import receive, send, served
from synth.shrinking import shrink
from synth.shrinking.events import Event, Gained


@dataclass(frozen=True)
class Descent:
    """An order to shrink a layout.

    Attributes:
        problem: what the layout must keep doing, under limits that it keeps.
        start: the layout to shrink.
        time_limit_s: the time to shrink it, in seconds.
        seed: the seed of the moves.
    """

    problem: Problem
    start: Layout
    time_limit_s: float
    seed: int


class _Teller:
    """Sends every gain to the parent."""

    def __init__(self, output: IO[bytes]) -> None:
        self.output = output

    def event(self, event: Event) -> None:
        """Send the layout of a gain."""
        if isinstance(event, Gained):
            send(self.output, event.layout)


def main() -> None:
    """Serve one order, and end."""
    with served() as (source, output):
        order: Descent = receive(source)
        shrink(
            order.start,
            order.problem.spec,
            minimize=order.problem.measures,
            pins="free",
            time_limit_s=order.time_limit_s,
            seed=order.seed,
            rules=order.problem.rules,
            reporter=_Teller(output),
        )
        send(output, None)
