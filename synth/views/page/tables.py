"""The facts of the page as HTML: measures, truth table, pins, parts, faults, legend."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from synth.layout import Layout
from synth.layout.pins import show_size
from synth.medium import RULE_TEXT
from synth.simulator import Verdict
from synth.spec.function_text import function_text
from synth.views.page.symbols import UNIT, legend
from synth.views.text.verdict import MAX_TABLE_ROWS, delay_text


def headline(layout: Layout, verdict: Verdict) -> str:
    """What the layout computes, one line an output; or that it is not legal."""
    if verdict.outputs is None:
        return "<p class='formula'>not legal</p>"
    lines = function_text(verdict.outputs, [pin.name for pin in layout.inputs])
    return "".join(f'<p class="formula">{escape(line)}</p>' for line in lines)


def facts_html(layout: Layout, verdict: Verdict) -> str:
    """Verdict and measures (section 9), as a list of terms."""
    rows = [
        ("verdict", "passes" if verdict.passes else "fails"),
        ("delay", delay_text(verdict)),
        ("size", f"{show_size(layout.size)} cells"),
        ("volume", f"{layout.volume} cells"),
        ("parts", str(layout.part_count)),
    ]
    if layout.stack is not None:
        works = {True: "", False: "does not work: ", None: "not judged: "}[verdict.stacks]
        rows.append(("stacks", f"{works}along {layout.stack.axis}, pitch {layout.stack.pitch}"))
    if layout.ground:
        rows.append(("ground", "carries wires and buffers"))
    items = "".join(f"<div><dt>{term}</dt><dd>{escape(text)}</dd></div>" for term, text in rows)
    return f"<dl class='facts'>{items}</dl>"


def truth_html(layout: Layout, verdict: Verdict) -> str:
    """The settled outputs for every row of inputs; rows carry ``data-row``, their number."""
    if not verdict.outputs:
        return ""
    inputs = [pin.name for pin in layout.inputs]
    count = 1 << len(inputs)
    if count > MAX_TABLE_ROWS:
        return f"<section><h2>Truth table</h2><p>{count} rows, not drawn.</p></section>"
    rows = []
    for row in range(count):
        bits = format(row, f"0{len(inputs)}b") if inputs else ""
        values = "".join(f"<td>{bit}</td>" for bit in bits)
        values += "".join(
            f"<td class='out'>{column[row]}</td>" for column in verdict.outputs.values()
        )
        rows.append(f"<tr data-row='{row}'>{values}</tr>")
    head = "".join(f"<th scope='col'>{escape(name)}</th>" for name in inputs)
    head += "".join(f"<th scope='col' class='out'>{escape(name)}</th>" for name in verdict.outputs)
    unknown = any("x" in column for column in verdict.outputs.values())
    note = "<p class='note'>x: stays unknown.</p>" if unknown else ""
    return (
        "<section><h2>Truth table</h2><table class='truth'>"
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>{note}</section>"
    )


def parts_html(layout: Layout) -> str:
    """How many of each part."""
    counts = layout.bill_of_materials()
    rows = [(str(count), name) for name, count in counts.items()]
    return _table("Parts", ("count", "part"), rows, right=(0,)) if rows else ""


def pins_html(layout: Layout) -> str:
    """Where the pins are and what stands outside."""
    rows = [
        (pin.name, str(pin.role), f"({', '.join(map(str, pin.at))})", str(pin.face), str(pin.joint))
        for pin in layout.pins
    ]
    return _table("Pins", ("pin", "role", "cell", "face", "joint"), rows) if rows else ""


def faults_html(verdict: Verdict) -> str:
    """Every fault with its rule and cell."""
    rows = [
        (str(fault.rule), f"({', '.join(map(str, fault.at))})", fault.text, RULE_TEXT[fault.rule])
        for fault in verdict.faults
    ]
    return _table("Faults", ("rule", "cell", "what is wrong", "the rule"), rows) if rows else ""


def legend_html() -> str:
    """Every symbol with its name, off, and where it can have power, on."""
    items = "".join(
        f'<li><svg viewBox="0 0 {UNIT} {UNIT}" aria-hidden="true"><g class="cell {state}">{art}</g>'
        f"</svg><span>{text}</span></li>"
        for art, state, text in legend()
    )
    return f"<ul class='legend'>{items}</ul>"


def _table(
    title: str, head: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[int] = ()
) -> str:
    def cell(tag: str, index: int, text: str) -> str:
        scope = ' scope="col"' if tag == "th" else ""
        side = ' class="number"' if index in right else ""
        return f"<{tag}{scope}{side}>{escape(text)}</{tag}>"

    def line(tag: str, texts: Sequence[str]) -> str:
        return f"<tr>{''.join(cell(tag, index, text) for index, text in enumerate(texts))}</tr>"

    body = "".join(line("td", row) for row in rows)
    return (
        f"<section><h2>{title}</h2><div class='wide'><table>"
        f"<thead>{line('th', head)}</thead><tbody>{body}</tbody></table></div></section>"
    )
