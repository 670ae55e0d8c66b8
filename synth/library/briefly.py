"""What the question of an entry asks besides the function, in a few words for a list."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from synth import fields
from synth.encoding import ENCODING_VERSION
from synth.medium import DEFAULT_RULES, LEVEL_DIRECTIONS
from synth.medium_document import rules_entry


def asked_box(document: Mapping[str, Any]) -> str:
    """The limits on size and delay that a question's document gives: ``5x2x5 in 4``."""
    limits = fields.table(fields.table(document["spec"], "spec")["limits"], "spec.limits")
    sides = "x".join(str(fields.whole(limits[name], name)) for name in _SIDES)
    return f"{sides} in {fields.whole(limits['delay'], 'delay')}"


_SIDES = ("length", "width", "height")


def asked_besides(document: Mapping[str, Any]) -> tuple[str, ...]:
    """What else a question's document asks, one phrase each; usually nothing."""
    return tuple(_besides(document))


def _besides(document: Mapping[str, Any]) -> Iterator[str]:
    spec = fields.table(document["spec"], "spec")
    for name in ("volume", "floor", "parts"):
        if name in spec["limits"]:
            yield f"{name} at most {fields.whole(spec['limits'][name], name)}"
    stack = fields.table(spec.get("stack", {}), "spec.stack")
    if "pitch" in stack:
        yield f"pitch {fields.whole(stack['pitch'], 'pitch')}"
    links = [fields.table(link, "spec.chain") for link in spec.get("chain", [])]
    if links:
        shown = (":".join(str(link[end]) for end in ("from", "to")) for link in links)
        yield f"chain {', '.join(shown)}"
    if "link_delay" in spec["limits"]:
        yield f"link delay at most {fields.whole(spec['limits']['link_delay'], 'link_delay')}"
    if spec.get("ground"):
        yield "on ground"
    linked = {name for link in links for name in (link["from"], link["to"])}
    every_pin = fields.table(spec.get("pins", {}), "spec.pins")
    pins = [ask for name, ask in every_pin.items() if name not in linked]
    # A pin's face never lies along the stacking axis (section 7) but for links.
    axis = stack.get("axis")
    every = sorted(str(face) for face in LEVEL_DIRECTIONS if face.axis != axis)
    if any("at" in pin for pin in pins):
        yield "cells of pins"
    if any(sorted(pin.get("faces", every)) != every for pin in pins):
        yield "faces of pins"
    if "cells" in spec:
        yield "cells kept"
    rules = fields.table(document["rules"], "rules")
    if dict(rules) != rules_entry(DEFAULT_RULES):
        yield "another rule table"
    if document["encoding"] != ENCODING_VERSION:
        yield f"encoding {fields.whole(document['encoding'], 'encoding')}"
