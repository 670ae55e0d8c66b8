"""``import gatefit``: the same names as ``import synth``, under the name of the distribution."""

from __future__ import annotations

from typing import Any

import synth
from synth import __all__, __version__

__all__ = [*__all__, "__version__"]


def __getattr__(name: str) -> Any:
    return getattr(synth, name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
