"""The boxes and delays to consider for a specification, and the limits assumed for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict

from synth import defaults
from synth.medium import AXES, LEVEL_DIRECTIONS, Cell, Direction
from synth.questions.box import BoxQuestion
from synth.questions.measures import boxes, in_order
from synth.spec import Limits, Spec
from synth.spec.spec import MAX_SIZE

ASSUMED_SIZE = defaults.ASSUMED_SIZE
ASSUMED_DELAY = defaults.ASSUMED_DELAY
ASSUMED_TIME_S = defaults.ASSUMED_TIME_S


def assumed_limits(limits: Limits, named: Iterable[Cell] = ()) -> tuple[Limits, tuple[str, ...]]:
    """Limits without gaps, and what was assumed to fill the gaps, one phrase each.

    Args:
        limits: those that are given.
        named: cells that a box has to have: no size is assumed that they do not fit.
    """
    values = asdict(limits)
    farthest = [max(side) + 1 for side in zip(*named, strict=True)] or [0, 0, 0]
    assumed = []
    for (name, cells), least in zip(ASSUMED_SIZE.items(), farthest, strict=True):
        cells = min(max(cells, least), MAX_SIZE)
        if values[name] is None:
            values[name] = cells
            assumed.append(f"{name} at most {cells} cells")
    if values["delay"] is None:
        values["delay"] = ASSUMED_DELAY
        assumed.append(f"delay at most {ASSUMED_DELAY} ticks")
    return Limits(**values), tuple(assumed)


def assumed_for(spec: Spec) -> tuple[Limits, tuple[str, ...]]:
    """The same for a specification: a box that is assumed has the cells that its pins ask for."""
    named = [ask.at for ask in spec.pins.values() if ask.at is not None]
    return assumed_limits(spec.limits, named)


def of_every_box(limits: Limits) -> Limits:
    """Those that an answer about one box and delay still speaks of: parts and link delay."""
    return Limits(parts=limits.parts, link_delay=limits.link_delay)


def assumed_time(
    time_limit_s: float | None, assumed: tuple[str, ...]
) -> tuple[float | None, tuple[str, ...]]:
    """The time limit, and what was assumed.

    A time limit is assumed if other limits are assumed and none is given.
    """
    if assumed and time_limit_s is None:
        return ASSUMED_TIME_S, (*assumed, f"a time limit of {ASSUMED_TIME_S:g} seconds")
    return time_limit_s, assumed


def candidates_of(spec: Spec, measures: tuple[str, ...]) -> list[BoxQuestion]:
    """Every box and delay within a specification's limits, in order.

    The delay varies only if it is minimised; otherwise faster layouts meet the limit as well.
    """
    limits = spec.limits
    assert limits.delay is not None
    delays = range(limits.delay + 1) if "delay" in measures else [limits.delay]
    sizes = list(boxes(limits, exactly=bool(spec.empty or spec.fixed)))
    pitch = spec.stack.pitch if spec.stack else None
    if spec.stack is not None and pitch is not None:
        index = AXES.index(spec.stack.axis)
        sizes = [size for size in sizes if size[index] <= pitch]
    if _exchangeable_sides(spec, measures):
        within = set(sizes)
        sizes = [
            (length, width, height)
            for length, width, height in sizes
            if length >= width or (width, length, height) not in within
        ]
    questions = (BoxQuestion(size, delay, limits.parts) for size in sizes for delay in delays)
    return in_order(questions, measures)


def _exchangeable_sides(spec: Spec, measures: tuple[str, ...]) -> bool:
    """Whether a layout turned by a quarter answers the same question.

    The medium has no preferred level direction. So it does if nothing in the question distinguishes
    x from y, and then only one of a box and its quarter turn has to be asked about.
    """
    asks = spec.pins.values()
    return (
        (spec.stack is None or spec.stack.axis == "z")
        and not {"length", "width"} & set(measures)
        and not (spec.empty or spec.fixed)
        and all(ask.at is None and _turns(ask.faces) for ask in asks)
    )


def _turns(faces: tuple[Direction, ...] | None) -> bool:
    return faces is None or set(faces) == set(LEVEL_DIRECTIONS)
