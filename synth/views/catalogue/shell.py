"""What all pages of the catalogue share: head, links between them, small pieces of HTML."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

POLICY = (
    "default-src 'none'; script-src 'self' file:; style-src 'self' file:; "
    "img-src 'self' file: data:"
)
"""Nothing from elsewhere: the browser itself refuses what the pages should never ask for."""


def page(title: str, body: str, *, root: str, script: bool = False) -> str:
    """A whole page.

    Args:
        title: of the page; plain text.
        body: HTML.
        root: way from the page to the folder of the catalogue, ``""`` or ``"../"``.
        script: whether it uses the catalogue's script.
    """
    program = f'<script src="{root}assets/catalogue.js" defer></script>\n' if script else ""
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="color-scheme" content="light dark">
<meta name="generator" content="gatefit">
<title>{escape(title)}</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="{root}assets/catalogue.css">
{program}</head>
<body>
{body}
</body>
</html>
"""


def facts(rows: Iterable[tuple[str, str]]) -> str:
    """Terms and what they are (plain text), as a strip."""
    items = "".join(
        f"<div><dt>{escape(term)}</dt><dd>{escape(text)}</dd></div>" for term, text in rows if text
    )
    return f'<dl class="facts">{items}</dl>'


def table(head: Sequence[str], rows: Iterable[Sequence[str]], *, name: str, caption: str) -> str:
    """A table of plain text; the class of every column is ``NAME-1``, ``NAME-2``, ..."""

    def line(tag: str, texts: Sequence[str]) -> str:
        scope = ' scope="col"' if tag == "th" else ""
        cells = (
            f'<{tag}{scope} class="{name}-{index}">{escape(text)}</{tag}>'
            for index, text in enumerate(texts, 1)
        )
        return f"<tr>{''.join(cells)}</tr>"

    body = "".join(line("td", row) for row in rows)
    return (
        f'<table class="{name}"><caption class="unseen">{escape(caption)}</caption>'
        f"<thead>{line('th', head)}</thead><tbody>{body}</tbody></table>"
    )
