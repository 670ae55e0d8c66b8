"""What exports share: libraries that only some need, and what their files say of themselves."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from synth.errors import InputError

NO_ELECTRONICS = (
    "Layouts of an idealised block medium, not circuits for electricity.",
    "Joined wires are an OR in this medium only.",
    "ns only because the format wants a unit: one is a tick.",
)
"""What a file in a format of electronics has to say first."""


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
