"""Arguments that click cannot use, told as every other refusal: place, problem, way out."""

from __future__ import annotations

import re
from typing import Any

import click

_NO_NUMBER = re.compile(r"(?P<value>.+) is not a valid (?P<kind>integer|float)(?: range)?\.")
_OUT_OF_RANGE = re.compile(r"(?P<value>.+) is not in the range .+\.")
_A_FOLDER = re.compile(r"\w+ (?P<value>'.*') is a directory\.")
"""What click says, as of its version 8."""


def usage_text(error: click.UsageError) -> str:
    """The error in one line; where no way out is known, it names the help to read."""
    hint = f"try '{error.ctx.command_path} --help'" if error.ctx else ""
    if isinstance(error, click.BadParameter) and not isinstance(error, click.MissingParameter):
        found = _of_value(error)
        if found is not None:
            return found
    said = " ".join(error.format_message().split()).rstrip(".")
    if not hint:
        return said
    return f"{said} {hint}" if said.endswith("?") else f"{said}; {hint}"


def _of_value(error: click.BadParameter) -> str | None:
    """Of a value that is no number, out of its range, or a folder; None of any other."""
    parameter = error.param
    if parameter is None or error.ctx is None:
        return None
    message = " ".join(error.message.split())
    place = max(parameter.opts, key=len)
    if isinstance(parameter, click.Argument):
        place = parameter.make_metavar(error.ctx)
    if found := _NO_NUMBER.fullmatch(message):
        whole = "whole number" if found["kind"] == "integer" else "number"
        way_out = f"use a {whole}, without a unit{_range(parameter.type, ': ')}"
        return f"{place}: {found['value']} is no {whole}; {way_out}"
    if found := _OUT_OF_RANGE.fullmatch(message):
        return f"{place}: {found['value']} is out of range; use {_range(parameter.type)}"
    if found := _A_FOLDER.fullmatch(message):
        return f"{place}: {found['value']} is a directory; name a file"
    return None


def _range(kind: click.ParamType[Any], before: str = "") -> str:
    """``1 to 64``, ``0 or more``; empty where there is none."""
    if not isinstance(kind, click.IntRange | click.FloatRange) or kind.min is None:
        return ""
    return (
        f"{before}{kind.min:,} or more"
        if kind.max is None
        else (f"{before}{kind.min:,} to {kind.max:,}")
    )
