"""Targets: the specifications that come with the package, by name."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from synth import fields
from synth.errors import InputError
from synth.spec.documents import read_spec
from synth.spec.spec import Spec
from synth.words import listed


@cache
def target_names() -> tuple[str, ...]:
    """The names of all targets, sorted."""
    found = (entry.name for entry in _folder().iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in found if name.endswith(".toml")))


def load_target(name: str) -> Spec:
    """The specification called ``name``.

    Raises:
        InputError: if there is none, with the names most like it.
    """
    names = target_names()
    if name not in names:
        close = fields.near(name, names)
        raise InputError(
            f"no target {fields.shown(name)}",
            way_out=f"did you mean {listed(close, 'or')}?" if close else f"use {', '.join(names)}",
        )
    text = (_folder() / f"{name}.toml").read_text(encoding="utf-8")
    return read_spec(tomllib.loads(text), file=f"targets/{name}.toml")


def describe(name: str) -> str:
    """What the target called ``name`` is, in one line.

    Raises:
        InputError: if there is no such target.
    """
    return load_target(name).description


def _folder() -> Traversable:
    """Where the targets lie: inside the package when installed, beside it in a checkout."""
    installed = resources.files("synth") / "targets"
    if installed.is_dir():
        return installed
    return Path(__file__).resolve().parents[2] / "targets"
