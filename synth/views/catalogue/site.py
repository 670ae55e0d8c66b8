"""All files of the catalogue, made one after another, so that only one at a time is in memory.

Large things are written once: the library that draws the model and the program that plays it are
one file, shared by the pages of all layouts. Every page works when it is opened as a file.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from importlib.resources import files

from synth.layout import Layout
from synth.layout.documents import layout_text
from synth.layout.pins import show_size
from synth.spec import BooleanFunction, Spec
from synth.views.catalogue.atlas_page import atlas_html
from synth.views.catalogue.gate_page import gate_html, neighbours, space_picture
from synth.views.catalogue.gates import Gate, Item, columns_of, input_names, output_names
from synth.views.catalogue.index_page import index_html
from synth.views.catalogue.words import size_text, times
from synth.views.drawing.self_themed import self_themed
from synth.views.drawing.sheet import sheet_picture
from synth.views.judged import Judged, judge
from synth.views.page import Among, page_html, shared_files
from synth.views.plan import plan_of
from synth.views.plan_html import plan_html

FORMAT = "gatefit-catalogue"
VERSION = 1
MARKER = "catalogue.json"
"""The file that says what the folder is; see ``write_folder``."""

CONTENTS = ("assets", "atlas.html", MARKER, "gates", "index.html", "layouts")
ASSETS = ("atlas.js", "catalogue.css", "catalogue.js", "expression.js")


@dataclass(frozen=True, slots=True)
class Export:
    """One more file for each layout.

    Attributes:
        ending: the ending of its name, such as ``png``.
        words: what the page of a gate calls it.
        make: makes its content from a layout.
    """

    ending: str
    words: str
    make: Callable[[Layout], str | bytes]


def site_files(
    gates: Sequence[Gate],
    *,
    title: str = "Gates",
    made_by: str = "gatefit",
    exports: Sequence[Export] = (),
) -> Iterator[tuple[str, str | bytes]]:
    """Path and content of every file.

    Args:
        gates: the gates, in the order of the index.
        title: the title of the catalogue.
        made_by: program and version, for the marker.
        exports: further files for each layout.
    """
    kinds = [(export.ending, export.words) for export in exports]
    yield "index.html", index_html(gates, title)
    yield "atlas.html", atlas_html(gates, title)
    for name in ASSETS:
        yield f"assets/{name}", _asset(name)
    for name, text in shared_files().items():
        yield f"assets/{name}", text
    layouts = beyond = 0
    for index, gate in enumerate(gates):
        yield f"gates/{gate.slug}.html", gate_html(gate, title, *neighbours(gates, index), kinds)
        for item in gate.items:
            yield f"layouts/{item.number}.toml", item.specification
        for group in gate.alike.values():
            for item in group:
                assert item.layout is not None
                if item is group[0] or item.layout != group[0].layout:
                    layouts += 1
                    yield from _layout_files(gate, group[0], item, item.layout)
                    named = item.layout.replace(name=f"{gate.title}, {size_text(item)}")
                    for export in exports:
                        yield f"layouts/{item.number}.{export.ending}", export.make(named)
        for item in gate.beyond:
            assert item.beyond is not None
            beyond += 1
            yield from _beyond_files(gate, item, item.beyond)
            named = item.beyond.replace(name=_beyond_name(gate, item))
            for export in exports:
                yield f"layouts/{item.number}-beyond.{export.ending}", export.make(named)
    marker = {
        "format": FORMAT,
        "version": VERSION,
        "made_by": made_by,
        "gates": len(gates),
        "layouts": layouts,
        "beyond": beyond,
        "contents": list(CONTENTS),
    }
    yield MARKER, json.dumps(marker, indent=2) + "\n"


def _layout_files(gate: Gate, shown: Item, item: Item, layout: Layout) -> Iterator[tuple[str, str]]:
    """The layout, its drawings and its page; ``shown`` is the item with a card of its own."""
    name, stem = f"{gate.title}, {size_text(item)}", f"layouts/{item.number}"
    yield from _files_of(gate, shown, item, layout, name, stem)
    if item is shown:
        yield f"{stem}-space.svg", self_themed(space_picture(layout), name)


def _beyond_files(gate: Gate, item: Item, layout: Layout) -> Iterator[tuple[str, str]]:
    """The same of a layout beyond the limits that an item asks."""
    name, stem = _beyond_name(gate, item), f"layouts/{item.number}-beyond"
    yield from _files_of(gate, item, item, layout, name, stem)
    yield f"{stem}-space.svg", self_themed(space_picture(layout), name)


def _beyond_name(gate: Gate, item: Item) -> str:
    size = "" if item.beyond is None else times(show_size(item.beyond.size))
    return f"{gate.title}, {size}, beyond the limits of {times(item.within)}"


def _files_of(
    gate: Gate, shown: Item, item: Item, layout: Layout, name: str, stem: str
) -> Iterator[tuple[str, str]]:
    named = layout.replace(name=name)
    judged = judged_of(item, named)
    among = Among(
        style="../assets/page.css",
        script="../assets/page.js",
        back=f"../gates/{gate.slug}.html#layout-{shown.number}",
        back_text=gate.title,
    )
    yield f"{stem}.json", layout_text(layout)
    yield f"{stem}.svg", sheet_picture(named).document(name)
    yield f"{stem}.html", page_html(named, item.rules, judged=judged, among=among)
    yield f"{stem}-plan.html", plan_html(plan_of(named, item.rules, judged=judged))


def judged_of(item: Item, layout: Layout) -> Judged:
    """The verdict on the layout, judged by the function and delay that were asked."""
    entry = item.entry
    outputs = columns_of(entry)
    function = BooleanFunction(
        input_names(entry.inputs), dict(zip(output_names(len(outputs)), outputs, strict=True))
    )
    return judge(layout, Spec(function), delay=entry.delay_asked, rules=item.rules)


def _asset(name: str) -> str:
    return files(__package__).joinpath("assets", name).read_text(encoding="utf-8")
