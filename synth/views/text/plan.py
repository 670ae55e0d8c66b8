"""A building plan as plain text."""

from __future__ import annotations

from synth.layout.pins import show_size
from synth.medium import Part
from synth.views.plan import Plan, PlanTest, cell_words, joints_words, placement_words
from synth.views.plan_steps import PlanSection
from synth.views.text.layers import LEGEND, columns, layers_text
from synth.views.titles import title_of
from synth.words import NOT_ELECTRICITY, WIDTH, counted, filled, listed


def plan_text(plan: Plan, *, width: int = WIDTH) -> str:
    """Parts, layers, the order of work with a box to tick for every part, and the tests."""
    layout = plan.layout
    sections = [
        f"Building plan: {title_of(layout)}",
        f"Size   {show_size(layout.size)} cells (length x width x height)\n{NOT_ELECTRICITY}",
        filled(plan.judged.words(), width=width),
        "\n".join(["Parts list", *columns(parts_rows(plan))]),
        layers_text(layout, width=width),
        LEGEND,
        "Order of work",
    ]
    if layout.ground:
        sections.append(filled(ground_words(plan), width=width))
    if layout.pieces:
        sections.append(filled(PIECE_BY_PIECE, width=width))
    for section in plan.sections:
        if layout.pieces:
            sections.append(
                filled(f"{section_title(section)}: {section_words(section)}", width=width)
            )
        for step in section.steps:
            lines = [step_title(step.number, step.z, step.part, len(step.placements))]
            lines += [
                f"  [ ] {placement.number:>3}  {placement_words(placement, layout)}"
                for placement in step.placements
            ]
            sections.append("\n".join(lines))
    if layout.pins:
        outside = [filled(f"  - {line}", "    ", width=width) for line in joints_words(layout)]
        sections.append("\n".join(["Outside the box", *outside]))
    if layout.outputs:
        sections.append(filled(f"Test   {test_words(plan)}", " " * 7, width=width))
        sections.append("\n".join(columns(test_rows(plan))))
    return "\n\n".join(sections)


PIECE_BY_PIECE = (
    "This layout is built piece by piece: first each gate, which makes a signal, then the wires "
    "that carry the signals between them. Within a piece, build from the lowest layer up."
)


def section_title(section: PlanSection) -> str:
    """``Gate n12``; of parts that are in no piece ``All else``."""
    if section.piece is None:
        return "All else"
    return section.piece.title[0].upper() + section.piece.title[1:]


def section_words(section: PlanSection) -> str:
    """What a piece does, where it lies, and how many parts it places."""
    parts = counted(sum(len(step.placements) for step in section.steps), "part")
    piece = section.piece
    if piece is None:
        return parts
    low, high = piece.box
    reads = f"reads {listed(piece.reads)}; " if piece.reads else ""
    return f"{reads}from {cell_words(low)} to {cell_words(high)}; {parts}"


def parts_rows(plan: Plan) -> list[tuple[str, str]]:
    """The number of each part; buffers are counted by delay."""
    layout = plan.layout
    rows = []
    for part in Part:
        blocks = [block for block in layout.cells.values() if block.part is part]
        for delay in sorted({block.delay for block in blocks}):
            count = sum(1 for block in blocks if block.delay == delay)
            words = str(part)
            if part is Part.BUFFER:
                words += f" of {delay} tick{'s' if delay != 1 else ''}"
            rows.append((f"{count:>4}", words))
    return rows


def step_title(number: int, z: int, part: Part, count: int) -> str:
    """``Step 3: layer z = 1, 2 wires``."""
    word = str(part) if count == 1 else ("ledges" if part is Part.LEDGE else f"{part}s")
    if part in (Part.SOLID, Part.CLEAR):
        word = f"{part} cube{'s' if count != 1 else ''}"
    return f"Step {number}: layer z = {z}, {count} {word}"


def ground_words(plan: Plan) -> str:
    """What has to be in place before the first part."""
    length, width, _ = plan.layout.size
    return (
        f"This layout stands on ground. Prepare the {length} x {width} cells just below height 0: "
        "they have to carry wires and buffers."
    )


def test_words(plan: Plan) -> str:
    """How to test what was built."""
    lead = "Drive the inputs as each line says, one line after another."
    if plan.wait is None:
        wait = (
            "This layout meets no delay: an output that reads x depends on what was before, or an "
            "input is fed back."
        )
    else:
        wait = (
            f"Inputs change at tick 0. By tick {plan.wait} the outputs read as written, "
            "in whatever order you take the lines."
        )
    last = (
        "'tick' is when the outputs stopped changing in the simulator, taking the lines from top "
        "to bottom. 'on' lists the inverters and buffers that are then on: compare them if an "
        "output is wrong."
    )
    more = (
        f" Only {len(plan.tests)} of {plan.all_tests} assignments are listed, spread evenly."
        if len(plan.tests) < plan.all_tests
        else ""
    )
    return f"{lead} {wait} {last}{more}"


def test_rows(plan: Plan) -> list[tuple[str, ...]]:
    """The table of tests: its head, then a row for each test."""
    layout = plan.layout
    head = [pin.name for pin in layout.inputs] + ["|"] + [pin.name for pin in layout.outputs]
    rows = [("[ ]", *head, "tick", "on")]
    for test in plan.tests:
        inputs = [str(bit) for bit in test.inputs]
        rows.append(("[ ]", *inputs, "|", *test.outputs, str(test.ticks), on_words(test)))
    rows[0] = ("   ", *rows[0][1:])
    return rows


def on_words(test: PlanTest) -> str:
    """The cells of the inverters and buffers that are on."""
    return " ".join(cell_words(cell).replace(" ", "") for cell in test.on) or "none"
