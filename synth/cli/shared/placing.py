"""How a layout lies in a builder's own world: options of what writes and reads lists of parts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from synth import fields
from synth.cli.shared.completing import files
from synth.errors import InputError
from synth.medium import Cell

MAX_ORIGIN = 1_000_000_000
"""Largest coordinate of an origin."""

_OPTIONS: tuple[tuple[str, str, dict[str, Any]], ...] = (
    (
        "--template",
        "how the line of a part reads, with {x} {y} {z} {part} {orientation} {delay} {number} in "
        "it, such as '{number}: {part} {orientation} at x={x} y={y} z={z}'.",
        {"metavar": "TEXT"},
    ),
    (
        "--names",
        "your own names of parts and orientations (TOML).",
        {"metavar": "FILE", "type": click.Path(), "shell_complete": files(".toml")},
    ),
    ("--origin", "where cell (0, 0, 0) goes.", {"metavar": "X,Y,Z"}),
    (
        "--turn",
        "turn by this many degrees, seen from above, from +x to +y.",
        {"type": click.Choice(["0", "90", "180", "270"])},
    ),
    (
        "--mirror",
        "mirror along this axis before turning.",
        {"type": click.Choice(["x", "y"])},
    ),
)


def placing_options(lead: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The options, each with ``lead`` before its meaning: ``For lines: ``."""

    def add(command: Callable[..., Any]) -> Callable[..., Any]:
        for name, meaning, attributes in reversed(_OPTIONS):
            command = click.option(name, help=lead + meaning, **attributes)(command)
        return command

    return add


def read_origin(text: str) -> Cell:
    """The cell that ``--origin`` gives.

    Raises:
        InputError: if it is none, or too far away.
    """
    try:
        x, y, z = (int(word) for word in text.split(","))
    except ValueError:
        raise InputError(
            f"cannot read {fields.shown(text)}",
            place="--origin",
            way_out="write three whole numbers: 12,0,3",
        ) from None
    if max(map(abs, (x, y, z))) > MAX_ORIGIN:
        raise InputError(
            f"{fields.shown(text)} is too far away",
            place="--origin",
            way_out=f"use numbers up to {MAX_ORIGIN:,}",
        )
    return (x, y, z)
