"""Pages by templates: Jinja2, which escapes whatever is put into them.

A name that the user gave is always put in as text. Only what this program drew itself goes in as
markup, and ``drawn`` marks it. A name that a template uses and is not given is an error, not an
empty text.
"""

from __future__ import annotations

import json
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("synth.views", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def render(template: str, **values: object) -> str:
    """The text of a template of ``synth/views/templates``, such as ``plan/plan.html``."""
    return _environment().get_template(template).render(**values)


def drawn(text: str) -> Markup:
    """Markup that this program made: a drawing, a style, a program."""
    return Markup(text)


def script_json(value: object) -> Markup:
    """JSON that may stand inside a script element: nothing in it can end the element."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c"))
