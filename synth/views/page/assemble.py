"""Puts the page together: one HTML text that holds styles, programs, library and data.

There is no build step: the modules lie in ``assets/`` as they are, and an import map holds each
of them, so the page loads no other file. The library (three.js) comes the same way. Where many
pages lie in one folder, they can share one copy of what is the same in all of them.
"""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass
from importlib.resources import files

from markupsafe import Markup

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.views.judged import Judged, judge
from synth.views.page import tables
from synth.views.page.data import numbers_of, page_data
from synth.views.page.plans import plans_html
from synth.views.templating import drawn, render, script_json
from synth.views.titles import title_of

LIBRARY = {
    "three-core": "three/three.core.min.js",
    "three": "three/three.module.min.js",
    "three-orbit": "three/OrbitControls.js",
}
"""Modules of the library, by the names they are imported by."""

MODULES = (
    "dom",
    "cursor",
    "play",
    "signs",
    "transport",
    "controls",
    "waves",
    "power",
    "pieces",
    "plans",
    "inspector",
    "faults",
    "address",
    "shapes",
    "labels",
    "crowd",
    "camera",
    "outlines",
    "overlay",
    "pointing",
    "pulse",
    "scene",
)
"""Our own modules; ``page/NAME`` is ``assets/NAME.js``."""

START = "main.js"


@dataclass(frozen=True, slots=True)
class Among:
    """The surroundings of a page that is one of many.

    Attributes:
        style: the address of the file that ``shared_files`` calls ``page.css``.
        script: the address of the one it calls ``page.js``.
        back: the address of the page to go back to.
        back_text: the words of the link to it.
    """

    style: str
    script: str
    back: str
    back_text: str


def page_html(
    layout: Layout,
    rules: Rules = DEFAULT_RULES,
    *,
    judged: Judged | None = None,
    among: Among | None = None,
    embed: bool = False,
) -> str:
    """The whole page of a layout; with ``among`` it needs the shared files beside it.

    A layout that is not legal is drawn with its faults and not played.

    Args:
        layout: the layout to show.
        rules: the rule table it is played with.
        judged: the verdict to show; None judges the layout by what it was made for, if it says so.
        among: the surroundings of the page, if it is one of many.
        embed: show only the model, the switches and the ticks, for a frame of 700 x 420 pixels in
            another page.

    Raises:
        InputError: if the layout has too many inputs to settle.
    """
    if judged is None:
        judged = judge(layout, rules=rules)
    verdict = judged.verdict
    number = numbers_of(layout, verdict.faults)
    title = title_of(layout, rules)
    return render(
        "page/page.html",
        title=title,
        among=among,
        embed=embed,
        style=drawn(_asset("page.css")),
        imports=_import_map(),
        data=script_json(page_data(layout, rules, judged)),
        start=drawn(_asset(START)),
        licence=_asset("three/LICENSE"),
        headline=[line for line in tables.headline(judged) if line != title],
        stand=judged.stand.name.lower(),
        words=judged.words(),
        way=judged.way,
        facts=tables.fact_rows(layout, judged),
        faults=tables.fault_rows(verdict, number),
        plans=drawn(plans_html(layout, number, {fault.at for fault in verdict.faults})),
        truth=tables.truth_of(judged),
        parts=tables.part_rows(layout),
        pins=tables.pin_rows(layout),
        legend=tables.legend(),
        playable=verdict.legal,
        pieces=layout.pieces,
    )


def shared_files() -> dict[str, str]:
    """The files that pages made with ``among`` share, by file name.

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


def _import_map() -> Markup:
    return script_json({"imports": _imports()})


def _imports() -> dict[str, str]:
    """The import map: every module as a ``data:`` address, which needs no network."""
    sources = {name: _asset(path) for name, path in LIBRARY.items()}
    # A module at a data: address has no folder, so its sibling is imported by name.
    sources["three"] = sources["three"].replace('"./three.core.min.js"', '"three-core"')
    sources |= {f"page/{name}": _asset(f"{name}.js") for name in MODULES}
    return {
        name: "data:text/javascript;base64," + b64encode(text.encode()).decode("ascii")
        for name, text in sources.items()
    }


def _asset(path: str) -> str:
    return files(__package__).joinpath("assets", path).read_text(encoding="utf-8")
