"""All files of the catalogue, one after another, so that none but the newest is in memory.

What is large is there once: the library that draws the model and the program that plays it are
one file for the pages of all layouts. Every page works when it is opened as a file.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from importlib.resources import files

from synth.layout import Layout
from synth.layout.documents import layout_text
from synth.views.catalogue.gate_page import gate_html, neighbours
from synth.views.catalogue.gates import Gate, Item
from synth.views.catalogue.index_page import index_html
from synth.views.catalogue.words import size_text
from synth.views.drawing.sheet import sheet_picture
from synth.views.page import Among, page_html, shared_files

FORMAT = "gatefit-catalogue"
VERSION = 1
MARKER = "catalogue.json"
"""The file that says what the folder is; see ``write_folder``."""

CONTENTS = ("assets", MARKER, "gates", "index.html", "layouts")
ASSETS = ("catalogue.css", "catalogue.js")


def site_files(
    gates: Sequence[Gate], *, title: str = "Gates", made_by: str = "gatefit"
) -> Iterator[tuple[str, str]]:
    """Path and text of every file.

    Args:
        gates: in the order of the index.
        title: what the catalogue is called.
        made_by: program and version, for the marker.
    """
    yield "index.html", index_html(gates, title)
    for name in ASSETS:
        yield f"assets/{name}", _asset(name)
    for name, text in shared_files().items():
        yield f"assets/{name}", text
    layouts = 0
    for index, gate in enumerate(gates):
        yield f"gates/{gate.slug}.html", gate_html(gate, title, *neighbours(gates, index))
        for item in gate.items:
            yield f"layouts/{item.number}.toml", item.specification
        for group in gate.alike.values():
            for item in group:
                assert item.layout is not None
                if item is group[0] or item.layout != group[0].layout:
                    layouts += 1
                    yield from _layout_files(gate, group[0], item, item.layout)
    marker = {
        "format": FORMAT,
        "version": VERSION,
        "made_by": made_by,
        "gates": len(gates),
        "layouts": layouts,
        "contents": list(CONTENTS),
    }
    yield MARKER, json.dumps(marker, indent=2) + "\n"


def _layout_files(gate: Gate, shown: Item, item: Item, layout: Layout) -> Iterator[tuple[str, str]]:
    """The layout, its drawings and its page; ``shown`` is the item with a card of its own."""
    name = f"{gate.title}, {size_text(item)}"
    named = layout.replace(name=name)
    among = Among(
        style="../assets/page.css",
        script="../assets/page.js",
        back=f"../gates/{gate.slug}.html#layout-{shown.number}",
        back_text=gate.title,
    )
    stem = f"layouts/{item.number}"
    yield f"{stem}.json", layout_text(layout)
    yield f"{stem}.svg", sheet_picture(named).document(name)
    yield f"{stem}.html", page_html(named, item.rules, among=among)


def _asset(name: str) -> str:
    return files(__package__).joinpath("assets", name).read_text(encoding="utf-8")
