"""The first page: every gate in a table that can be searched, filtered and sorted.

Without a script it is a plain table with links. The script finds all numbers it needs in the
page, for a page that is a file may not fetch another.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from html import escape

from synth.views.catalogue.gates import Gate, Item, short
from synth.views.catalogue.shell import page
from synth.views.catalogue.words import NOTHING, stack_text

_COLUMNS = (
    # key, heading, what is after the comma
    ("gate", "Gate", ""),
    ("inputs", "Inputs", ""),
    ("outputs", "Outputs", ""),
    ("delay", "Delay", "ticks"),
    ("volume", "Volume", "cells"),
    ("floor", "Floor", "cells"),
    ("layouts", "Layouts", ""),
    ("proof", "Proof", ""),
)

_PROOFS = (
    ("proven", "proven smallest"),
    ("open", "best known, not proven"),
    ("none", "without any layout"),
)


def index_html(gates: Sequence[Gate], title: str) -> str:
    """The index of the gates, in their order."""
    layouts = sum(len(gate.layouts) for gate in gates)
    proven = sum(item.entry.proven for gate in gates for item in gate.layouts)
    gates_word = "gate" if len(gates) == 1 else "gates"
    summary = (
        f"{len(gates)} {gates_word}, {layouts} layout{'s' * (layouts != 1)}, "
        f"{proven} of them proven smallest of what was asked."
    )
    stacks = sorted({item.entry.stack for gate in gates for item in gate.layouts})
    joints = sorted({item.entry.joints for gate in gates for item in gate.layouts})
    rows = "".join(_row(gate) for gate in gates)
    data = {"rows": [_numbers(gate, stacks, joints) for gate in gates]}
    body = f"""<a class="skip" href="#gates">Skip to the gates</a>
<header class="top"><h1>{escape(title)}</h1><p>{summary}</p></header>
<main>
{_form(gates, stacks, joints)}
<p class="count" id="count" role="status"></p>
<table class="index" id="gates" tabindex="-1">
<caption class="unseen">Gates, with the least of each measure over their layouts</caption>
<thead><tr>{_head()}</tr></thead>
<tbody>
{rows}</tbody>
</table>
<p class="nothing" id="nothing" hidden>No gate is like that.
<button type="button" id="clear">Clear all filters</button></p>
<p class="note">Delay, volume and floor are each the least over the layouts of a gate that are
counted; the least volume and the least delay may be those of two different layouts. Proven means:
no smaller one exists under the limits that were asked; no layout: that there is none is
proven, too; undecided: none was found, and not all were ruled out.</p>
</main>
<footer><p>Made by gatefit.</p></footer>
<script type="application/json" id="data">{_json(data)}</script>"""
    return page(title, body, root="", script=True)


def _head() -> str:
    cells = []
    for key, heading, unit in _COLUMNS:
        after = f'<span class="unit">, {unit}</span>' if unit else ""
        cells.append(f'<th scope="col" class="c-{key}" data-key="{key}">{heading}{after}</th>')
    return "".join(cells)


def _row(gate: Gate) -> str:
    """One gate; the script only hides it, moves it and changes its figures."""
    lines = [short(line, 90) for line in gate.lines[:3] or gate.columns]
    more = len(gate.lines) - len(lines)
    if more > 0:
        lines.append(f"and {more} more outputs")
    what = "".join(f"<span>{escape(line)}</span>" for line in lines)
    least = {
        key: min((v for item in gate.layouts if (v := getattr(item.entry, key)) is not None),
                 default=None)
        for key in ("delay", "volume", "floor")
    }  # fmt: skip
    figures = "".join(
        f'<td class="c-{key}">{NOTHING if value is None else value}</td>'
        for key, value in least.items()
    )
    return (
        f'<tr><th scope="row" class="c-gate"><a href="gates/{gate.slug}.html">'
        f'{escape(gate.title)}</a><code>{what}</code></th><td class="c-inputs">{gate.inputs}</td>'
        f'<td class="c-outputs">{len(gate.columns)}</td>{figures}'
        f'<td class="c-layouts">{len(gate.layouts)}</td>'
        f'<td class="c-proof">{_proof(gate)}</td></tr>\n'
    )


def _proof(gate: Gate) -> str:
    """What is known of the layouts; the script writes the same words, and leaves those of a gate
    that has none.
    """
    count, proven = len(gate.layouts), sum(item.entry.proven for item in gate.layouts)
    if not count:
        # That none is known is no proof that there is none.
        return "no layout" if all(item.entry.proven for item in gate.others) else "undecided"
    if proven == count:
        return "proven"
    return f"{proven} of {count} proven" if proven else "best known"


def _numbers(gate: Gate, stacks: Sequence[str], joints: Sequence[str]) -> list[object]:
    """What the script knows of a gate: text to search, inputs, outputs, and its layouts."""
    words = " ".join([*gate.names, gate.title, *gate.expressions, *gate.columns])
    return [
        words.lower(),
        gate.inputs,
        len(gate.columns),
        [_layout_numbers(item, stacks, joints) for item in gate.layouts],
    ]


def _layout_numbers(item: Item, stacks: Sequence[str], joints: Sequence[str]) -> list[object]:
    entry = item.entry
    return [
        entry.delay,
        entry.volume,
        entry.floor,
        entry.width,
        stacks.index(entry.stack),
        joints.index(entry.joints),
        int(entry.proven),
    ]


def _form(gates: Sequence[Gate], stacks: Sequence[str], joints: Sequence[str]) -> str:
    items = [item for gate in gates for item in gate.layouts]
    inputs = sorted({gate.inputs for gate in gates})
    outputs = sorted({len(gate.columns) for gate in gates})
    delays = sorted({item.entry.delay for item in items if item.entry.delay is not None})
    widths = sorted({item.entry.width for item in items if item.entry.width is not None})
    text = (
        '<label class="wide">Name or expression <input type="search" name="text" '
        'autocomplete="off" spellcheck="false" placeholder="x1 ^ x2, 0110, or a name"></label>'
    )
    fields = [
        _choice("inputs", "Inputs", ((n, str(n)) for n in inputs)),
        _choice("outputs", "Outputs", ((n, str(n)) for n in outputs)),
        _choice("delay", "Delay", ((n, f"at most {n}") for n in delays)),
        '<label>Volume at most <input type="number" name="volume" min="1" '
        'inputmode="numeric" placeholder="any"></label>',
        _choice("width", "Width", ((n, f"at most {n}") for n in widths)),
        _choice("stack", "Stacking", ((i, stack_text(s)) for i, s in enumerate(stacks))),
        _choice("joint", "Joints", ((i, j or "free") for i, j in enumerate(joints))),
        _choice("proof", "Proof", _PROOFS),
        '<label class="narrow-only">Sort by <select name="sort"></select></label>',
    ]
    return (
        '<form class="filters" id="filters" role="search" aria-label="Filter the gates" hidden>'
        f'{text}<details class="more" id="more"><summary>Filters<span id="set"></span></summary>'
        f'<div class="fields">{"".join(fields)}<button type="reset">Clear</button></div></details>'
        "</form>"
        '<noscript><p class="note">Filters and sorting need JavaScript; the table does not.</p>'
        "</noscript>"
    )


def _choice(name: str, label: str, options: Iterable[tuple[object, str]]) -> str:
    """A choice with "any" first."""
    body = "".join(
        f'<option value="{escape(str(value))}">{escape(text)}</option>' for value, text in options
    )
    return (
        f'<label>{label} <select name="{name}"><option value="">any</option>{body}</select></label>'
    )


def _json(value: object) -> str:
    """JSON that may stand inside a script element."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")
