"""A job in a child process: an order comes in, news of it go out, and whatever is gained.

What is found is judged where it is found; what is claimed of it is said in the words of the search.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import Cell, Rules
from synth.search.workers.child import receive, send, served
from synth.words import counted, ticks


@dataclass(frozen=True)
class Order:
    """What a job is to do.

    Attributes:
        kind: a key of ``KINDS``.
        layout: the layout to begin with.
        locked: cells that stay as they are.
        time_limit_s: seconds.
        rules: the rule table.
    """

    kind: str
    layout: Layout
    locked: frozenset[Cell]
    time_limit_s: float
    rules: Rules


@dataclass(frozen=True)
class News:
    """How far a job has come; what is None stays as it was.

    Attributes:
        text: in a few words.
        best: the first measure of the best layout.
        bound: what it cannot fall below, as far as that is proven.
        gain: a layout that is better than all before.
        delay: what that meets.
        end: how it ended, in a sentence or two; the last news of a job has it.
    """

    text: str | None = None
    best: int | None = None
    bound: int | None = None
    gain: Layout | None = None
    delay: int | None = None
    end: str | None = None


Tell = Callable[[News], None]


def smaller(order: Order, tell: Tell) -> str:
    """Shrink the layout; every gain is told."""
    from synth.shrinking import own_spec, shrink
    from synth.shrinking.events import Event, Gained
    from synth.simulator.made_for import spec_made_for

    layout = order.layout
    spec = spec_made_for(layout)
    measures: tuple[str, ...] = ("volume", "parts")
    if order.locked:
        # Cells are locked in a box that stays: then it is parts that can become fewer.
        spec = _locked(spec or own_spec(layout, order.rules), order)
        measures = ("parts",)

    class Teller:
        def event(self, event: Event) -> None:
            if isinstance(event, Gained):
                best = event.layout.part_count if order.locked else event.layout.volume
                words = f"{counted(event.parts, 'part')} by now"
                tell(News(words, best, None, event.layout, event.delay))

    best = layout.part_count if order.locked else layout.volume
    tell(News(f"begins with {counted(layout.part_count, 'part')}", best))
    done = shrink(
        layout,
        spec,
        minimize=measures,
        time_limit_s=order.time_limit_s,
        rules=order.rules,
        reporter=Teller(),
    )
    gains = counted(len(done.gains), "gain")
    return f"{gains}; {done.reason}. Nothing is claimed of what is smallest."


def find(order: Order, tell: Tell) -> str:
    """Find a layout of the expected function that fits into the box, with its pins as they face."""
    from synth.search import solve
    from synth.simulator.made_for import spec_made_for

    spec = spec_made_for(order.layout)
    if spec is None:
        raise InputError("no function is expected", way_out="expect one in the review first")
    outcome = solve(
        _as_it_stands(spec, order),
        time_limit_s=order.time_limit_s,
        rules=order.rules,
        reporter=_Searching(tell),
    )
    return _ended(outcome, order, tell)


def prove(order: Order, tell: Tell) -> str:
    """Whether anything smaller exists under the limits that the layout keeps."""
    from synth.proving import prove as proved

    tell(News("begins with the layout as it is", order.layout.volume))
    outcome = proved(
        order.layout,
        time_limit_s=order.time_limit_s,
        rules=order.rules,
        reporter=_Searching(tell),
    )
    return _ended(outcome, order, tell)


def mend(order: Order, tell: Tell) -> str:
    """The fewest changes that make the layout right."""
    from synth.repairing import repair

    done = repair(
        order.layout,
        locked=order.locked,
        time_limit_s=order.time_limit_s,
        rules=order.rules,
        progress=lambda words: tell(News(words)),
    )
    if done.layout is not None and done.layout != order.layout:
        delay = None if done.verdict is None else done.verdict.delay
        tell(News(gain=done.layout, delay=delay))
    return _said(done.status, done.claim, done.reason)


KINDS: dict[str, Callable[[Order, Tell], str]] = {
    "smaller": smaller,
    "mend": mend,
    "prove": prove,
    "find": find,
}
"""What a job can do."""


class _Searching:
    """Tells how far a search has come."""

    def __init__(self, tell: Tell) -> None:
        self.tell = tell

    def event(self, event: Any) -> None:
        from synth.questions.events import BestImproved, BoundRaised, BoxStarted

        if isinstance(event, BoundRaised):
            self.tell(News(bound=event.value))
        elif isinstance(event, BestImproved):
            x, y, z = event.size
            self.tell(News(f"found one of {x} x {y} x {z}", x * y * z))
        elif isinstance(event, BoxStarted):
            x, y, z = event.size
            self.tell(News(f"looks into {x} x {y} x {z} within {ticks(event.delay)}"))


def _ended(outcome: Any, order: Order, tell: Tell) -> str:
    """Tell what a search found, if it is anything new, and say how it ended."""
    tell(News(best=outcome.best, bound=outcome.bound))
    if outcome.layout is not None and outcome.layout != order.layout:
        delay = None if outcome.verdict is None else outcome.verdict.delay
        tell(News(gain=outcome.layout, delay=delay))
    return _said(outcome.status, outcome.claim, outcome.reason, *outcome.advice)


def _said(status: str, claim: str, *reasons: str) -> str:
    """How it ended: the outcome, what is claimed, and why, a sentence each."""
    parts = [status, f"claim: {claim}" if claim else "", *reasons]
    sentences = [part.rstrip(".") for part in parts if part]
    return " ".join(f"{sentence[:1].upper()}{sentence[1:]}." for sentence in sentences)


def _as_it_stands(spec: Any, order: Order) -> Any:
    """The specification of a function in the design's box, pins on their faces, locks kept."""
    from synth.spec import Limits, PinDemand, StackDemand

    layout = order.layout
    delay = spec.limits.delay
    length, width, height = layout.size
    stack = layout.stack
    asked = spec.replace(
        limits=Limits(length=length, width=width, height=height, delay=delay),
        pins={pin.name: PinDemand(faces=(pin.face,), joint=pin.joint) for pin in layout.pins},
        stack=None if stack is None else StackDemand(stack.axis, stack.pitch),
        ground=layout.ground,
    )
    return _locked(asked, order) if order.locked else asked


def _locked(spec: Any, order: Order) -> Any:
    """The specification with the locked cells asked as they are, in a box of that size."""
    from dataclasses import replace

    cells = order.layout.cells
    length, width, height = order.layout.size
    return spec.replace(
        limits=replace(spec.limits, length=length, width=width, height=height),
        fixed={cell: cells[cell] for cell in order.locked if cell in cells},
        empty=frozenset(cell for cell in order.locked if cell not in cells),
    )


def main() -> None:
    """Carry out one order, and end."""
    with served() as (source, output):
        order: Order = receive(source)

        def tell(news: News) -> None:
            send(output, news)

        try:
            end = KINDS[order.kind](order, tell)
        except InputError as error:
            end = f"It could not begin: {error}"
        send(output, News(end=end))
