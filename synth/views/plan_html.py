"""A building plan as one page that needs nothing else: it prints, and its boxes can be ticked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from synth.layout.pins import show_size
from synth.views.drawing import palette
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import LayerDrawer, Step, layers_picture
from synth.views.drawing.legend import legend
from synth.views.drawing.svg import Picture
from synth.views.plan import Plan, PlanStep, joints_words, placement_words
from synth.views.text.plan import ground_words, on_words, parts_rows, step_title, test_words
from synth.views.titles import title_of

STYLE = f"""
:root {{ color-scheme: light; }}
* {{ box-sizing: border-box; }}
body {{ margin: 0 auto; max-width: 62rem; padding: 1.5rem; background: {palette.PAPER};
  color: {palette.INK}; font: 15px/1.45 {palette.FONT}; }}
h1 {{ font-size: 1.7rem; margin: 0; }}
h2 {{ font-size: 1.15rem; margin: 2rem 0 .6rem; border-bottom: 2px solid {palette.INK};
  padding-bottom: .2rem; }}
h3 {{ font-size: 1rem; margin: 0 0 .5rem; }}
h3.apart {{ margin-top: 1.2rem; }}
p {{ margin: .3rem 0 .8rem; max-width: 46rem; }}
.facts {{ color: {palette.FAINT}; margin-bottom: 1.2rem; }}
.overview {{ display: flex; flex-wrap: wrap; gap: 1.5rem 2.5rem; align-items: flex-start; }}
.overview > div {{ min-width: 0; }}
svg {{ max-width: 100%; height: auto; display: block; }}
table {{ border-collapse: collapse; font-variant-numeric: tabular-nums; }}
th, td {{ border: 1px solid {palette.GRID}; padding: .2rem .6rem; text-align: left;
  vertical-align: top; }}
th {{ background: #eef1f4; }}
td.bit, th.bit {{ text-align: center; }}
td.out, th.out {{ font-weight: bold; }}
.steps {{ display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 18.5rem), 1fr));
  gap: 1rem; padding: 0; margin: 0; list-style: none; }}
.steps > li {{ border: 1px solid {palette.FAINT}; border-radius: 4px; padding: .8rem;
  break-inside: avoid; }}
.todo {{ list-style: none; padding: 0; margin: .6rem 0 0; }}
.todo label {{ display: flex; gap: .5rem; padding: .12rem 0; align-items: baseline; }}
.todo input {{ margin: 0; flex: none; position: relative; top: .1rem; }}
.number {{ font-weight: bold; color: {palette.NEW_LINE}; min-width: 1.4rem; }}
.wide {{ overflow-x: auto; }}
.key {{ display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 19rem), 1fr));
  gap: .4rem 1rem; list-style: none; padding: 0; margin: 0; }}
.key li {{ display: flex; gap: .7rem; align-items: center; font-size: .92rem; }}
.key svg {{ width: 2rem; flex: none; }}
@media print {{
  @page {{ margin: 14mm; }}
  body {{ padding: 0; max-width: none; font-size: 10.5pt; }}
  h2, h3 {{ break-after: avoid; }}
  tr {{ break-inside: avoid; }}
  .overview {{ display: grid; grid-template-columns: 36% 1fr; }}
  .steps {{ grid-template-columns: 1fr 1fr 1fr; gap: .6rem; font-size: 9pt; }}
  .wide {{ overflow: visible; break-inside: avoid-page; }}
  * {{ -webkit-print-color-adjust: exact; print-color-adjust: exact; }}
}}
"""


def plan_html(plan: Plan) -> str:
    """The whole page, with its style and pictures inside it."""
    layout = plan.layout
    title = f"Building plan: {title_of(layout)}"
    facts = f"{show_size(layout.size)} cells (length x width x height), {layout.part_count} parts"
    if plan.wait is not None:
        facts += f", settles in {plan.wait} tick{'s' if plan.wait != 1 else ''}"
    if layout.stack is not None:
        facts += f", stacks along {layout.stack.axis} at pitch {layout.stack.pitch}"
    body = [
        f"<h1>{escape(title)}</h1>",
        f'<p class="facts">{escape(facts)}</p>',
        _overview(plan),
        "<h2>Order of work</h2>",
        "<p>From the ground up. Every part has its support or host in place before it; the parts "
        "of a step are framed and carry their numbers, and what lies one height lower shows "
        "faintly through empty cells.</p>",
    ]
    if layout.ground:
        body.append(f"<p>{escape(ground_words(plan))}</p>")
    drawer = LayerDrawer(layout)
    placed: set[tuple[int, int, int]] = set()
    cards = []
    for step in plan.steps:
        stage = Step(frozenset(placed), {p.cell: p.number for p in step.placements})
        cards.append(_card(plan, step, drawer.layer(step.z, stage, ghost=True)))
        placed |= set(stage.numbers)
    body.append(f'<ol class="steps">{"".join(cards)}</ol>')
    if layout.pins:
        body += ["<h2>Outside the box</h2>", _todo((None, line) for line in joints_words(layout))]
    if layout.outputs:
        body += [
            "<h2>Test what you built</h2>",
            f"<p>{escape(test_words(plan))}</p>",
            _tests(plan),
        ]
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n"
        + "\n".join(body)
        + "\n</main>\n</body>\n</html>\n"
    )


def _overview(plan: Plan) -> str:
    layout = plan.layout
    rows = "".join(
        f"<tr><td>{escape(count.strip())}</td><td>{escape(words)}</td></tr>"
        for count, words in parts_rows(plan)
    )
    parts = f"<h3>Parts list</h3><table><tr><th>count</th><th>part</th></tr>{rows}</table>"
    layers = layers_picture(layout, width=540).inline("The layers, lowest first")
    space = isometric_picture(layout).inline("The layout from above one corner, layers apart")
    key = "".join(
        f"<li>{entry.picture().inline(entry.words)}<span>{entry.words}</span></li>"
        for entry in legend(steps=True)
    )
    return (
        f'<div class="overview"><div>{space}</div>'
        f'<div>{parts}<h3 class="apart">Layers</h3>{layers}</div></div>'
        '<h3 class="apart">Symbols, as seen from above: x to the right, y up the page</h3>'
        f'<ul class="key">{key}</ul>'
    )


def _card(plan: Plan, step: PlanStep, picture: Picture) -> str:
    title = step_title(step.number, step.z, step.part, len(step.placements))
    drawn = picture.inline(f"{title}: the new parts are framed", scale=1.15)
    lines = ((p.number, placement_words(p, plan.layout)) for p in step.placements)
    return f"<li><h3>{escape(title)}</h3>{drawn}{_todo(lines)}</li>"


def _todo(lines: Iterable[tuple[int | None, str]]) -> str:
    """A list of things to tick off, each with the number of its part, if it has one."""
    items = []
    for number, words in lines:
        lead = "" if number is None else f'<span class="number">{number}</span>'
        items.append(
            f'<li><label><input type="checkbox">{lead}<span>{escape(words)}</span></label></li>'
        )
    return f'<ul class="todo">{"".join(items)}</ul>'


def _tests(plan: Plan) -> str:
    layout = plan.layout
    head = _cells("th", [pin.name for pin in layout.inputs], "bit")
    head += _cells("th", [pin.name for pin in layout.outputs], "bit out")
    head += "<th>ticks</th><th>inverters and buffers that are on</th><th>done</th>"
    rows = []
    for test in plan.tests:
        row = _cells("td", [str(bit) for bit in test.inputs], "bit")
        row += _cells("td", test.outputs, "bit out")
        words = [str(bit) for bit in test.inputs]
        label = escape("tested " + " ".join(words), quote=True)
        row += f"<td>{test.ticks}</td><td>{escape(on_words(test))}</td>"
        row += f'<td><input type="checkbox" aria-label="{label}"></td>'
        rows.append(f"<tr>{row}</tr>")
    body = f"<tbody>{''.join(rows)}</tbody>"
    return f'<div class="wide"><table><thead><tr>{head}</tr></thead>{body}</table></div>'


def _cells(tag: str, words: Sequence[str], kind: str) -> str:
    return "".join(f'<{tag} class="{kind}">{escape(word)}</{tag}>' for word in words)
