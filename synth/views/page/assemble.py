"""Puts the page together: one HTML text that holds styles, programs, library and data.

Nothing is built beforehand: the modules lie in ``assets/`` as they are read, and an import map
names each, so the page asks for no file. The library (three.js) comes the same way. Where many
pages lie in one folder, what is the same in all of them can lie beside them once.
"""

from __future__ import annotations

import json
import re
from base64 import b64encode
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class Among:
    """Where a page stands that is one of many.

    Attributes:
        style: address of the file that ``shared_files`` calls ``page.css``.
        script: address of its ``page.js``.
        back: address of the page to go back to.
        back_text: what that page is.
    """

    style: str
    script: str
    back: str
    back_text: str


def page_html(layout: Layout, rules: Rules = DEFAULT_RULES, *, among: Among | None = None) -> str:
    """The page of a layout, whole; with ``among`` it needs the shared files beside it.

    A layout that is not legal is drawn with its faults and not played.

    Raises:
        InputError: if the layout has too many inputs to settle.
    """
    verdict = check(layout, rules=rules)
    name = layout.name or "layout"
    holes = {
        "title": escape(name),
        "sources": "",
        "style": f"<style>{_asset('page.css')}</style>",
        "imports": f'<script type="importmap">{_import_map()}</script>',
        "back": "",
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
    if among is not None:
        holes |= {
            # Some browsers do not count a file beside the page as its own.
            "sources": " 'self' file:",
            "style": f'<link rel="stylesheet" href="{escape(among.style)}">',
            "imports": f'<script src="{escape(among.script)}"></script>',
            "back": f'<nav class="back"><a href="{escape(among.back)}">'
            f"&larr; {escape(among.back_text)}</a></nav>",
        }
    return re.sub(r"\{\{(\w+)\}\}", lambda hole: holes[hole[1]], _asset("page.html"))


def shared_files() -> dict[str, str]:
    """What pages made with ``among`` share, by file name.

    The modules come as an import map that a plain script puts into the page: a browser loads no
    module from a file beside a page that is itself a file.
    """
    script = (
        'const map = document.createElement("script");\n'
        'map.type = "importmap";\n'
        f"map.textContent = JSON.stringify({_import_map()});\n"
        "document.currentScript.after(map);\n"
    )
    return {"page.css": _asset("page.css"), "page.js": script}


def _import_map() -> str:
    return _json({"imports": _imports()})


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
