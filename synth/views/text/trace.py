"""A trace as text: the words of the pins one below another, or the document one tick a line."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from synth.words import WIDTH


def trace_text(document: Mapping[str, Any], *, width: int = WIDTH) -> str:
    """The words of inputs and outputs under a ruler of ticks, cut to the width of the page.

    Args:
        document: a trace document (``gatefit-trace``, version 1).
        width: columns of the page.
    """
    words = [(name, "input", word) for name, word in document["inputs"].items()]
    words += [(name, "output", word) for name, word in document["outputs"].items()]
    ticks = len(document["ticks"])
    label = max([len(name) for name, _, _ in words] + [len("tick")])
    step = max(10, (width - label - 10) // 10 * 10)
    pieces = []
    for start in range(0, ticks, step):
        stop = min(start + step, ticks)
        ruler = "".join(str(tick).ljust(5) for tick in range(start, stop, 5))
        lines = [f"{'tick'.ljust(label)}  {'':6}  {ruler}".rstrip()]
        lines += [
            f"{name.ljust(label)}  {role:6}  {word[start:stop]}" for name, role, word in words
        ]
        pieces.append("\n".join(lines))
    return "\n\n".join(pieces)


def trace_json(document: Mapping[str, Any]) -> str:
    """The document as JSON with one tick on each line, so that it can be compared by line."""
    head = {key: value for key, value in document.items() if key != "ticks"}
    lines = [f" {json.dumps(key)}: {json.dumps(value)}" for key, value in head.items()]
    ticks = ",\n".join(f"  {json.dumps(tick)}" for tick in document["ticks"])
    lines.append(f' "ticks": [\n{ticks}\n ]')
    return "{\n" + ",\n".join(lines) + "\n}\n"
