"""Libraries that only some exports need: loaded late, and missing where there is no wheel."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from synth.errors import InputError


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
