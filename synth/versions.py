"""Versions of this package and of the packages that it depends on."""

from __future__ import annotations

VERSION = "0.1.0"
"""The version of gatefit; ``synth.__version__``."""


def package_version(name: str) -> str:
    """The version of an installed distribution, or ``unknown``."""
    # Here, since every process begins with this module and hardly any asks: it takes a tenth of
    # what starting a worker takes.
    from importlib import metadata

    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return "unknown"
