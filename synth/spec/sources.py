"""A specification from whatever a user may write for one: text, a file or the name of a target."""

from __future__ import annotations

import os
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.spec.demands import with_limits
from synth.spec.documents import load_spec, parse_spec
from synth.spec.spec import Spec
from synth.spec.targets import load_target, target_names
from synth.words import listed

_OPERATORS = frozenset("~&|^?()")


def resolve_spec(argument: str, **limits: Any) -> Spec:
    """The specification that ``argument`` stands for, with ``limits`` laid over it.

    Text with ``=`` in it is a function; the name of an existing file, or one that ends in
    ``.toml``, is a file; all else is the name of a target.

    Args:
        argument: ``q = a & b``, ``my_gate.toml`` or ``and2``.
        limits: see ``synth.spec.demands.with_limits``.

    Raises:
        InputError: if it is none of these, with the nearest targets and how to write the others.
    """
    if "=" in argument:
        return parse_spec(argument, **limits)
    if os.path.isdir(argument) and argument not in target_names():
        raise InputError("is a directory", file=argument, way_out="name a file in it")
    if argument.endswith(".toml") or os.path.isfile(argument):
        return with_limits(load_spec(argument), **limits)
    if argument in target_names():
        return with_limits(load_target(argument), **limits)
    raise InputError(
        f"{fields.shown(argument)} is no function, file or target", way_out=_way_out(argument)
    )


def _way_out(argument: str) -> str:
    if _OPERATORS & set(argument):
        return f"name the output of an expression: q = {argument}"
    close = fields.near(argument, target_names())
    targets = f"did you mean the target {listed(close, 'or')}? " if close else ""
    return (
        f"{targets}write a function as 'q = a & b', or name a specification file (TOML) or a "
        "target of those that 'gatefit targets' lists"
    )
