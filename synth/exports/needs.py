"""Libraries that only some exports need, so that nobody else has to install them."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from synth.errors import InputError


def needed(module: str, kind: str) -> Any:
    """The module, or one clear error.

    Raises:
        InputError: if it is not installed; says how to get it.
    """
    try:
        return import_module(module)
    except ImportError:
        raise InputError(
            f"the export {kind!r} needs the Python package {module!r}, which is not installed",
            place="--as",
            way_out="install gatefit with its extra: pip install 'gatefit[export]'",
        ) from None
