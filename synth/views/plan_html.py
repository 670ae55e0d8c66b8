"""A building plan as one page that needs nothing else: it prints, and its boxes can be ticked."""

from __future__ import annotations

from synth.layout.layout import show_size
from synth.views.drawing import palette
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import LayerDrawer, Step, layers_picture
from synth.views.drawing.legend import legend
from synth.views.plan import Plan, joints_words, placement_words
from synth.views.templating import drawn, render
from synth.views.text.plan import ground_words, on_words, parts_rows, step_title, test_words
from synth.views.titles import title_of


def plan_html(plan: Plan) -> str:
    """The whole page, with its style and pictures inside it."""
    layout = plan.layout
    return render(
        "plan/plan.html",
        palette=palette,
        title=f"Building plan: {title_of(layout)}",
        facts=_facts(plan),
        parts=[(count.strip(), words) for count, words in parts_rows(plan)],
        space=drawn(
            isometric_picture(layout).inline("The layout from above one corner, layers apart")
        ),
        layers=drawn(layers_picture(layout, width=540).inline("The layers, lowest first")),
        key=[
            (drawn(entry.picture().inline(entry.words)), entry.words)
            for entry in legend(steps=True)
        ],
        ground=ground_words(plan) if layout.ground else "",
        steps=_steps(plan),
        joints=[(None, line) for line in joints_words(layout)],
        test_words=test_words(plan),
        inputs=[pin.name for pin in layout.inputs],
        outputs=[pin.name for pin in layout.outputs],
        tests=[(test, on_words(test)) for test in plan.tests] if layout.outputs else [],
    )


def _facts(plan: Plan) -> str:
    layout = plan.layout
    facts = f"{show_size(layout.size)} cells (length x width x height), {layout.part_count} parts"
    if plan.wait is not None:
        facts += f", settles in {plan.wait} tick{'s' if plan.wait != 1 else ''}"
    if layout.stack is not None:
        facts += f", stacks along {layout.stack.axis} at pitch {layout.stack.pitch}"
    return facts


def _steps(plan: Plan) -> list[dict[str, object]]:
    """For each step its title, the picture of the layer at that stage, and what to tick off."""
    drawer = LayerDrawer(plan.layout)
    placed: set[tuple[int, int, int]] = set()
    cards: list[dict[str, object]] = []
    for step in plan.steps:
        stage = Step(frozenset(placed), {p.cell: p.number for p in step.placements})
        title = step_title(step.number, step.z, step.part, len(step.placements))
        picture = drawer.layer(step.z, stage, ghost=True)
        lines = [(p.number, placement_words(p, plan.layout)) for p in step.placements]
        shown = picture.inline(f"{title}: the new parts are framed", scale=1.15)
        cards.append({"title": title, "picture": drawn(shown), "lines": lines})
        placed |= set(stage.numbers)
    return cards
