"""The page of one gate: what it computes, its smallest layout, its frontier, all its layouts."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from synth.views.catalogue.frontier_svg import plots_html
from synth.views.catalogue.gates import (
    Gate,
    Item,
    columns_of,
    input_names,
    lines_of,
    output_names,
)
from synth.views.catalogue.shell import facts, page, table
from synth.views.catalogue.words import (
    NOTHING,
    amount,
    joint_text,
    proof_text,
    proof_word,
    size_text,
    stack_text,
)
from synth.views.drawing.sheet import sheet_and_window
from synth.views.drawing.svg import number
from synth.views.text.verdict import MAX_TABLE_ROWS


def gate_html(gate: Gate, title: str, before: Gate | None, after: Gate | None) -> str:
    """The page of a gate, between its neighbours in the index."""
    body = f"""<a class="skip" href="#layouts">Skip to the layouts</a>
{_ways(title, before, after)}
<header class="top"><h1>{escape(gate.title)}</h1>
{_also(gate)}{_formulas(gate)}
</header>
<main>
<div class="two">
{_face(gate)}
{_truth(gate)}
</div>
{_frontier(gate)}
{_layouts(gate)}
{_others(gate)}
</main>
<footer><p>Made by gatefit.</p></footer>"""
    return page(f"{gate.title} — {title}", body, root="../")


def _ways(title: str, before: Gate | None, after: Gate | None) -> str:
    links = ['<a href="../index.html">All gates</a>']
    if before is not None:
        text = f"&larr; <span>{escape(before.title)}</span>"
        links.append(f'<a rel="prev" href="{before.slug}.html">{text}</a>')
    if after is not None:
        text = f"<span>{escape(after.title)}</span> &rarr;"
        links.append(f'<a rel="next" href="{after.slug}.html">{text}</a>')
    return f'<nav class="ways" aria-label="{escape(title)}">{"".join(links)}</nav>'


def _formulas(gate: Gate) -> str:
    """What it computes, unless its title says so already."""
    return "".join(f'<p class="formula">{escape(line)}</p>' for line in gate.lines)


def _also(gate: Gate) -> str:
    others = ", ".join(gate.names[1:])
    return f"<p>Also: {escape(others)}</p>\n" if others else ""


def _face(gate: Gate) -> str:
    item = gate.face
    if item is None:
        return "<section><h2>No layout yet</h2><p>See below what was asked.</p></section>"
    heading = "Smallest of its layouts" if len(gate.layouts) > 1 else "Its layout"
    return (
        f'<section class="face"><h2>{heading}</h2>'
        f'<a class="drawing" href="#layout-{item.number}">{_drawing(item)}</a>'
        f"<p>{size_text(item)} cells, {amount(item.entry.delay, 'delay')}, "
        f"{escape(stack_text(item.entry.stack))}.</p>"
        f'<p><a class="go" href="../layouts/{item.number}.html">Look into it and play it</a></p>'
        "</section>"
    )


def _drawing(item: Item) -> str:
    """The isometric picture: a window on the drawing that is there to take along."""
    assert item.layout is not None
    sheet, window = sheet_and_window(item.layout)
    says = f"Layout {item.number} in space: {size_text(item)} cells, {item.layout.part_count} parts"
    x, y, wide, high = map(number, (window.x, window.y, window.width, window.height))
    # The inner element cuts off what stands beside the window, whatever the shape of its frame.
    return (
        f'<svg viewBox="0 0 {wide} {high}" role="img" aria-label="{says}">'
        f'<svg width="{wide}" height="{high}" viewBox="{x} {y} {wide} {high}">'
        f'<image href="../layouts/{item.number}.svg" width="{number(sheet.width)}" '
        f'height="{number(sheet.height)}"/></svg></svg>'
    )


def _truth(gate: Gate) -> str:
    rows = 1 << gate.inputs
    if rows > MAX_TABLE_ROWS:
        return f"<section><h2>Truth table</h2><p>{rows} rows, not drawn.</p></section>"
    names, outputs = input_names(gate.inputs), output_names(len(gate.columns))
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    head += "".join(f'<th scope="col" class="out">{name}</th>' for name in outputs)
    lines = []
    for row in range(rows):
        bits = format(row, f"0{gate.inputs}b") if gate.inputs else ""
        cells = "".join(f"<td>{bit}</td>" for bit in bits)
        cells += "".join(f'<td class="out">{column[row]}</td>' for column in gate.columns)
        lines.append(f"<tr>{cells}</tr>")
    free = any("-" in column for column in gate.columns)
    note = '<p class="note">-: either value will do.</p>' if free else ""
    return (
        '<section><h2>Truth table</h2><table class="truth">'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(lines)}</tbody></table>{note}</section>"
    )


def _frontier(gate: Gate) -> str:
    plots = plots_html(gate)
    if not plots:
        return ""
    return (
        f'<section><h2>Size against delay</h2>{plots}<p class="note key">'
        '<svg viewBox="0 0 20 20" aria-hidden="true"><circle class="plot-proven" cx="10" cy="10" '
        'r="6"/></svg> proven smallest under its limits &ensp;'
        '<svg viewBox="0 0 20 20" aria-hidden="true"><path class="plot-open" '
        'd="M10 2l8 8l-8 8l-8 -8z"/></svg> best known &ensp;'
        '<svg viewBox="0 0 20 20" aria-hidden="true"><path class="plot-none" '
        'd="M5 5l10 10m0 -10l-10 10"/></svg> no layout under the limits asked, proven</p></section>'
    )


def _layouts(gate: Gate) -> str:
    items = gate.layouts
    if not items:
        return ""
    rows = [
        (
            amount(item.entry.delay, "delay").split()[0],
            str(item.entry.volume),
            str(item.entry.floor),
            size_text(item),
            str(item.entry.parts),
            item.entry.stack or NOTHING,
            item.entry.joints,
            proof_word(item),
        )
        for item in items
    ]
    head = ("Delay", "Volume", "Floor", "Size", "Parts", "Stacks", "Joints", "Proof")
    compared = table(head, rows, name="compare", caption="All layouts of the gate, compared")
    # One table is enough for one layout: its card says the same.
    shown = f'<div class="wide-table">{compared}</div>' if len(items) > 1 else ""
    cards = "".join(_card(gate, item) for item in items)
    many = f"{len(items)} layouts" if len(items) > 1 else "Layout"
    return (
        f'<section id="layouts" tabindex="-1"><h2>{many}</h2>{shown}'
        f'<div class="cards">{cards}</div></section>'
    )


def _card(gate: Gate, item: Item) -> str:
    entry, name = item.entry, item.number
    rows = [
        ("delay", amount(entry.delay, "delay")),
        ("size", f"{size_text(item)} cells"),
        ("volume", amount(entry.volume, "volume")),
        ("floor", amount(entry.floor, "floor")),
        ("parts", str(entry.parts)),
        ("joints", entry.joints),
        ("smallest by", ", ".join(entry.minimize)),
        ("asked delay", "" if entry.delay_asked is None else f"at most {entry.delay_asked}"),
    ]
    mark = "is-proven" if entry.proven else "is-open"
    heading = f"{stack_text(entry.stack)}, {amount(entry.delay, 'delay')}"
    return (
        f'<article class="card" id="layout-{name}" tabindex="-1" '
        f'aria-labelledby="name-{name}"><a class="drawing" href="../layouts/{name}.html" '
        f'tabindex="-1" aria-hidden="true">{_drawing(item)}</a><div>'
        f'<h3 id="name-{name}">{escape(heading[0].upper() + heading[1:])} '
        f'<span class="mark {mark}">{proof_word(item)}</span></h3>'
        f"{_own_order(gate, item)}{facts(rows)}"
        f'<p class="claim">{escape(proof_text(item))}</p>{_effort(item)}'
        f'<p class="files"><a class="go" href="../layouts/{name}.html">Look and play</a> '
        f'<a href="../layouts/{name}.json" download>layout (JSON)</a> '
        f'<a href="../layouts/{name}.svg" download>drawing (SVG)</a> '
        f'<a href="../layouts/{name}.toml" download>what was asked (TOML)</a></p>'
        f"{_same(gate, item)}</div></article>"
    )


def _same(gate: Gate, item: Item) -> str:
    """Other questions whose answers are no different in any measure."""
    links = []
    for other in gate.alike[item.number]:
        if other is item:
            continue
        asked = escape(_asked_delay(other))
        link = f'<a href="../layouts/{other.number}.toml" download>{asked}</a>'
        link += f" ({proof_word(other)}"
        if other.layout == item.layout:
            links.append(f"{link}, this layout)")
        else:
            stem = f"../layouts/{other.number}"
            links.append(
                f'{link}, <a href="{stem}.html">another layout</a>: '
                f'<a href="{stem}.json" download>JSON</a>, '
                f'<a href="{stem}.svg" download>SVG</a>)'
            )
    return f'<p class="note">As small when asked for {"; ".join(links)}.</p>' if links else ""


def _asked_delay(item: Item) -> str:
    asked = item.entry.delay_asked
    return "any delay" if asked is None else f"delay at most {asked}"


def _own_order(gate: Gate, item: Item) -> str:
    """The expressions of a layout whose inputs come in another order than on this page."""
    columns = columns_of(item.entry)
    if columns == gate.columns:
        return ""
    lines = lines_of(columns, gate.inputs)
    text = "; ".join(lines)
    return f"<p>Its inputs in their own order: <code>{escape(text)}</code></p>"


def _effort(item: Item) -> str:
    """How the answer came about."""
    entry = item.entry
    words = [f"searched {entry.seconds:.1f} s with {entry.solver}" if entry.solver else ""]
    if entry.proof and entry.proof not in item.claim and "no proof kept" not in entry.proof:
        words.append(f"rests on {entry.proof}")
    if entry.made:
        words.append(entry.made)
    text = ", ".join(word for word in words if word)
    return f'<p class="note">No. {item.number}: {escape(text)}.</p>' if text else ""


def _others(gate: Gate) -> str:
    items = gate.others
    if not items:
        return ""
    lines = "".join(_other(item) for item in items)
    # Where there are no layouts, the link that skips to them leads here.
    place = "" if gate.layouts else ' id="layouts" tabindex="-1"'
    return (
        f'<section{place}><h2>Asked without a layout</h2><ul class="others">{lines}</ul></section>'
    )


def _other(item: Item) -> str:
    entry = item.entry
    asked = (_asked_delay(item), stack_text(entry.stack), joint_text(entry.joints))
    return (
        f'<li id="layout-{item.number}"><details><summary>{escape(", ".join(asked))}: '
        f"<strong>{proof_word(item)}</strong></summary><p>{escape(proof_text(item))} "
        f'<a href="../layouts/{item.number}.toml" download>What was asked (TOML)</a></p>'
        f"<pre>{escape(item.specification)}</pre></details></li>"
    )


def neighbours(gates: Sequence[Gate], index: int) -> tuple[Gate | None, Gate | None]:
    """The gates before and after one in the index."""
    return (
        gates[index - 1] if index else None,
        gates[index + 1] if index + 1 < len(gates) else None,
    )
