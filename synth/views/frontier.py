"""From what a search for a frontier says to what tables and pictures show."""

from __future__ import annotations

from collections.abc import Mapping

from synth.layout.pins import show_size
from synth.medium import Rules
from synth.search.frontier.curve import Step
from synth.search.frontier.frontier import Frontier
from synth.spec import Spec
from synth.spec.function_text import expression_of
from synth.views.text.frontier_chart import Chart, ChartStep


def chart_of(frontier: Frontier, files: Mapping[int, str] | None = None) -> Chart:
    """The chart of a frontier.

    Args:
        frontier: what is known.
        files: the file that a step's layout is in, by the step's first value.
    """
    files = files or {}
    return Chart(
        function=_function(frontier.spec),
        asked=tuple(_asked(frontier.spec, frontier.rules)),
        axes=frontier.axes,
        steps=tuple(
            _step(step, step in frontier.points, files.get(step.first)) for step in frontier.steps
        ),
    )


def _step(step: Step, point: bool, file: str | None) -> ChartStep:
    known = step.known
    return ChartStep(
        first=step.first,
        last=step.last,
        standing=str(step.standing),
        value=step.value,
        bound=step.bound,
        point=point,
        size=None if known is None else known.layout.size,
        delay=None if known is None else known.verdict.delay,
        parts=None if known is None else known.layout.part_count,
        file=file,
        claim=step.claim,
    )


def _function(spec: Spec) -> str:
    function = spec.function
    texts = []
    for name, column in function.outputs.items():
        text = None if "-" in column else expression_of(column, function.inputs)
        texts.append(f"{name} = {text}" if text is not None else f"{name}: table {column}")
    return "; ".join(texts)


def _asked(spec: Spec, rules: Rules) -> list[str]:
    limits = spec.limits
    assert limits.length is not None
    assert limits.width is not None
    assert limits.height is not None
    box = show_size((limits.length, limits.width, limits.height))
    phrases = [f"boxes up to {box}"]
    phrases += [
        f"{name} at most {value}"
        for name in ("volume", "floor", "parts", "delay")
        if (value := getattr(limits, name)) is not None
    ]
    if spec.stack is not None:
        pitch = "" if spec.stack.pitch is None else f" at pitch {spec.stack.pitch}"
        phrases.append(f"stacks along {spec.stack.axis}{pitch}")
    if spec.ground:
        phrases.append("on ground")
    joints = sorted({str(spec.joint(name)) for name in spec.pin_names})
    phrases.append(f"{' and '.join(joints)} joints")
    delays = ", ".join(map(str, rules.buffer_delays))
    phrases.append(f"reach {rules.reach}, buffer delays {delays}")
    return phrases
