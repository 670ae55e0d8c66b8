"""A building plan as one page that needs nothing else: it prints, and its boxes can be ticked."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass

from synth.layout import Layout
from synth.layout.pins import show_size
from synth.medium import Cell
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import LayerDrawer, layers_picture
from synth.views.drawing.legend import legend
from synth.views.drawing.palette import theme_style
from synth.views.plan import Plan, joints_words, placement_words
from synth.views.plan_pictures import FLAT_SCALE, Image, StepPictures, floor_map, image_of
from synth.views.plan_steps import PlanSection
from synth.views.templating import drawn, render
from synth.views.text.plan import (
    PIECE_BY_PIECE,
    ground_words,
    on_words,
    parts_rows,
    section_title,
    section_words,
    step_title,
    test_words,
)
from synth.views.titles import title_of
from synth.words import NOT_ELECTRICITY, ticks

VERSION = 1
"""The version of the names of boxes; ticks kept under another version are ignored."""

WIDE = 640.0
"""The width of a row of layers in the overview, in units of the drawing."""

MOST_DRAWN = 200
"""With more parts than this, the overview leaves out the layers, which the steps show larger."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line to tick off: the name of its box, its number in a list, and what to do."""

    name: str
    number: int
    words: str


MOST_AT_ONCE = 40
"""With more steps than this, a browser draws only those that are in sight."""

MOST_IN_SPACE = 5_000
"""Most parts of a layout whose steps are drawn in space as well: of 18,000 parts these pictures
alone take half of the time and 40 MB."""

ONLY_FROM_ABOVE = f"Steps are drawn from above only: there are more than {MOST_IN_SPACE:,} parts."


@dataclass(frozen=True, slots=True)
class Card:
    """One step: its heading, its pictures and its lines."""

    title: str
    pictures: tuple[Image, ...]
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Chapter:
    """The steps of one piece.

    Attributes:
        anchor: the name of its place on the page.
        title, words: what it is, and where.
        map: the floor of the box with the piece marked; None of parts that are in no piece.
        cards: its steps.
    """

    anchor: str
    title: str
    words: str
    map: Image | None
    cards: tuple[Card, ...]


def plan_html(plan: Plan) -> str:
    """The whole page, with its style and pictures inside it."""
    layout = plan.layout
    outside = joints_words(layout)
    return render(
        "plan/plan.html",
        key=key_of(layout),
        theme=drawn(theme_style()),
        title=f"Building plan: {title_of(layout)}",
        facts=_facts(plan),
        stand=plan.judged.stand.name.lower(),
        verdict=plan.judged.words(),
        medium=NOT_ELECTRICITY,
        parts=[(count.strip(), words) for count, words in parts_rows(plan)],
        space=image_of(isometric_picture(layout), "The layout from one corner, layers apart"),
        layers=_layers(layout),
        legend=[
            (drawn(entry.picture().inline(entry.words)), entry.words)
            for entry in legend(steps=True)
        ],
        ground=ground_words(plan) if layout.ground else "",
        chapters=_chapters(plan),
        by_piece=PIECE_BY_PIECE if layout.pieces else "",
        long=len(plan.steps) > MOST_AT_ONCE,
        only_from_above="" if in_space(plan) else ONLY_FROM_ABOVE,
        outside=[Line(f"o{n}", n, words) for n, words in enumerate(outside, 1)],
        test_words=test_words(plan),
        inputs=[pin.name for pin in layout.inputs],
        outputs=[pin.name for pin in layout.outputs],
        tests=[(test, on_words(test)) for test in plan.tests] if layout.outputs else [],
    )


def key_of(layout: Layout) -> str:
    """The key under which the ticks of a plan are kept; the name of the layout does not matter."""
    document = layout.document()
    document.pop("name", None)
    text = json.dumps(document, sort_keys=True)
    return f"{VERSION}-{hashlib.sha256(text.encode()).hexdigest()[:20]}"


def _facts(plan: Plan) -> str:
    layout = plan.layout
    facts = f"{show_size(layout.size)} cells (length x width x height), {layout.part_count} parts"
    if plan.wait is not None:
        facts += f", settles in {ticks(plan.wait)}"
    if layout.stack is not None:
        facts += f", stacks along {layout.stack}"
    return facts


def _layers(layout: Layout) -> list[Image]:
    """The layers at a glance; empty where only the steps can show them large enough."""
    if layout.part_count > MOST_DRAWN:
        return []
    drawer = LayerDrawer(layout)
    if drawer.size[0] * 2 > WIDE:
        return [
            image_of(drawer.layer(z), f"Layer z = {z}", scale=0.9) for z in range(layout.height)
        ]
    picture = layers_picture(layout, width=WIDE)
    return [image_of(picture, "The layers, lowest first", scale=FLAT_SCALE * 0.75)]


def in_space(plan: Plan) -> bool:
    """Whether steps are drawn in space as well as from above."""
    return plan.layout.part_count <= MOST_IN_SPACE


def _chapters(plan: Plan) -> list[Chapter]:
    """The sections of the plan, each with its cards."""
    pictures = StepPictures(plan.layout)
    placed: set[Cell] = set()
    return [
        Chapter(
            f"piece-{number}",
            section_title(section),
            section_words(section),
            None if section.piece is None else floor_map(plan.layout, section.piece),
            tuple(_cards(plan, section, pictures, placed)),
        )
        for number, section in enumerate(plan.sections, start=1)
    ]


def _cards(
    plan: Plan, section: PlanSection, pictures: StepPictures, placed: set[Cell]
) -> list[Card]:
    """Each step: its title, its pictures at that stage, and what to tick off."""
    cards = []
    for step in section.steps:
        title = step_title(step.number, step.z, step.part, len(step.placements))
        drawn_step = [pictures.flat(step, placed, title)]
        if in_space(plan):
            drawn_step.append(pictures.space(step, placed, title))
        lines = tuple(
            Line(f"p{p.number}", p.number, placement_words(p, plan.layout)) for p in step.placements
        )
        cards.append(Card(title, tuple(drawn_step), lines))
        placed |= {p.cell for p in step.placements}
    return cards
