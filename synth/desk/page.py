"""The page of the desk: a template, and the files that it may ask for, by name.

Modules of the page that shows a layout (``synth/views/page``) serve here as well: symbols, bodies,
camera and waveforms are the same on both.
"""

from __future__ import annotations

from importlib.resources import files

from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Direction, buffer, inverter
from synth.views.page import tables
from synth.views.page.assemble import LIBRARY, MODULES
from synth.views.page.symbols import PATTERNS, symbol
from synth.views.templating import drawn, render, script_json

_SHOWN = (SOLID, CLEAR, LEDGE, WIRE, inverter(Direction.NX), buffer(Direction.PX))
_RUNS = (Direction.PX, Direction.NX)
"""What the palette shows of each part, and which ways its wire runs."""

_SCRIPT, _STYLE = "text/javascript", "text/css"

OWN = tuple(
    sorted(
        entry.name.removesuffix(".js")
        for entry in files("synth.desk").joinpath("assets").iterdir()
        if entry.name.endswith(".js")
    )
)
"""Our own modules; ``desk/NAME`` is ``assets/NAME.js``."""

_VIEWS = "synth.views.page"

ASSETS: dict[str, tuple[str, str, str]] = {
    "page.css": (_VIEWS, "page.css", _STYLE),
    "desk.css": ("synth.desk", "desk.css", _STYLE),
    "three/three.core.min.js": (_VIEWS, "three/three.core.min.js", _SCRIPT),
    **{path: (_VIEWS, path, _SCRIPT) for path in LIBRARY.values()},
    **{f"page/{name}.js": (_VIEWS, f"{name}.js", _SCRIPT) for name in MODULES},
    **{f"desk/{name}.js": ("synth.desk", f"{name}.js", _SCRIPT) for name in OWN},
}
"""Every file of the page: the package and path it lies in, and its kind."""


def desk_html(nonce: str) -> str:
    """The page; what it shows comes by messages.

    Args:
        nonce: by which the page's policy knows its one inline script.
    """
    imports = {name: f"./assets/{path}" for name, path in LIBRARY.items()}
    imports |= {f"page/{name}": f"./assets/page/{name}.js" for name in MODULES}
    imports |= {f"desk/{name}": f"./assets/desk/{name}.js" for name in OWN}
    return render(
        "desk/desk.html",
        nonce=nonce,
        imports=script_json({"imports": imports}),
        patterns=drawn(PATTERNS),
        legend=tables.legend(),
        palette=script_json({str(block.part): symbol(block, _RUNS) for block in _SHOWN}),
    )
