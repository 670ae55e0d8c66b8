"""Plots by matplotlib: SVG that keeps its text as text and is the same in every run, or PNG."""

from __future__ import annotations

import io
from collections.abc import Callable
from importlib import import_module
from typing import Any

from synth.errors import InputError
from synth.views.drawing.palette import FAINT, INK

SIZE_INCHES = (7.2, 4.8)
PIXELS_AN_INCH = 160
FONTS = ["DejaVu Sans", "Liberation Sans", "Arial", "sans-serif"]


def require_matplotlib() -> Any:
    """The library that draws.

    Raises:
        InputError: if it is not installed; says how to get it.
    """
    try:
        return import_module("matplotlib")
    except ImportError:
        raise InputError(
            "a plot needs the Python package 'matplotlib', which is not installed",
            place="--plot",
            way_out="install it: pip install matplotlib",
        ) from None


def plotted(title: str, kind: str, draw: Callable[[Any], object]) -> bytes:
    """A picture as ``svg`` or ``png``.

    Args:
        title: of the document.
        kind: the format.
        draw: draws on the figure that it is given.

    Raises:
        InputError: if matplotlib is not installed.
    """
    matplotlib = require_matplotlib()
    settings = {
        "svg.fonttype": "none",
        "svg.hashsalt": "gatefit",
        "font.family": FONTS[:1],
        "font.size": 10,
        "text.color": INK,
        "axes.edgecolor": FAINT,
        "axes.labelcolor": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "hatch.linewidth": 0.8,
        # Formulas in names must not be taken for TeX.
        "text.parse_math": False,
    }
    with matplotlib.rc_context(settings):
        figure = import_module("matplotlib.figure").Figure(
            figsize=SIZE_INCHES, layout="constrained"
        )
        draw(figure)
        stream = io.BytesIO()
        metadata = {"Date": None, "Title": title} if kind == "svg" else {}
        figure.savefig(stream, format=kind, dpi=PIXELS_AN_INCH, metadata=metadata)
    return stream.getvalue()
