"""Puts the page together: one HTML text that holds styles, programs, library and data.

Nothing is built beforehand: the modules lie in ``assets/`` as they are read, and an import map
names each, so the page asks for no file. The library (three.js) comes the same way.
"""

from __future__ import annotations

import json
import re
from base64 import b64encode
from html import escape
from importlib.resources import files

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator import check
from synth.views.page import tables
from synth.views.page.data import page_data
from synth.views.page.plans import plans_html

LIBRARY = {
    "three-core": "three/three.core.min.js",
    "three": "three/three.module.min.js",
    "three-orbit": "three/OrbitControls.js",
}
"""Modules of the library, by the names they are imported by."""

MODULES = ("dom", "play", "controls", "waves", "plans", "inspector", "shapes", "labels", "scene")
"""Our own modules; ``page/NAME`` is ``assets/NAME.js``."""

START = "main.js"


def page_html(layout: Layout, rules: Rules = DEFAULT_RULES) -> str:
    """The page of a layout, whole.

    A layout that is not legal is drawn with its faults and not played.

    Raises:
        InputError: if the layout has too many inputs to settle.
    """
    verdict = check(layout, rules=rules)
    name = layout.name or "layout"
    holes = {
        "title": escape(name),
        "style": _asset("page.css"),
        "imports": _json({"imports": _imports()}),
        "data": _json(page_data(layout, rules, legal=verdict.legal)),
        "start": _asset(START),
        "licence": escape(_asset("three/LICENSE")),
        "headline": tables.headline(layout, verdict),
        "facts": tables.facts_html(layout, verdict),
        "faults": tables.faults_html(verdict),
        "plans": plans_html(layout),
        "truth": tables.truth_html(layout, verdict),
        "parts": tables.parts_html(layout),
        "pins": tables.pins_html(layout),
        "legend": tables.legend_html(),
    }
    return re.sub(r"\{\{(\w+)\}\}", lambda hole: holes[hole[1]], _asset("page.html"))


def _imports() -> dict[str, str]:
    """The import map: every module as a ``data:`` address, which asks no network for it."""
    sources = {name: _asset(path) for name, path in LIBRARY.items()}
    # A module at a data: address has no folder, so its sibling is imported by name.
    sources["three"] = sources["three"].replace('"./three.core.min.js"', '"three-core"')
    sources |= {f"page/{name}": _asset(f"{name}.js") for name in MODULES}
    return {
        name: "data:text/javascript;base64," + b64encode(text.encode()).decode("ascii")
        for name, text in sources.items()
    }


def _json(value: object) -> str:
    """JSON that may stand inside a script element."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def _asset(path: str) -> str:
    return files(__package__).joinpath("assets", path).read_text(encoding="utf-8")
