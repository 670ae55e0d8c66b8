"""What exports share: libraries that only some need, and the lines that their files begin with."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from synth.errors import InputError
from synth.words import NOT_ELECTRICITY

NO_ELECTRONICS = (
    NOT_ELECTRICITY,
    "Joined wires are an OR in this medium only.",
    "ns only because the format wants a unit: one is a tick.",
)
"""The first lines of a file in a format of electronics."""


def needed(module: str, kind: str, package: str) -> Any:
    """The module of a package, or one clear error.

    Raises:
        InputError: if it is not installed; says how to get it.
    """
    try:
        return import_module(module)
    except ImportError:
        raise InputError(
            f"the export {kind!r} needs the Python package {module!r}, which is not installed",
            place="--as",
            way_out=f"install it: pip install {package}",
        ) from None
