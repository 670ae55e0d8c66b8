"""Specifications written as TOML, so that ``read_spec`` gives an equal one back."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from synth import fields
from synth.medium_document import block_entry
from synth.spec.spec import PinDemand, Spec

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPED = {"\\": "\\\\", '"': '\\"'}


def spec_document(spec: Spec) -> dict[str, Any]:
    """The document of a specification; its function as a truth table.

    Raises:
        InputError: if its name or description is no line of printable text.
    """
    document: dict[str, Any] = {}
    if spec.name is not None:
        document["name"] = fields.line(spec.name, "name")
    if spec.description:
        document["description"] = fields.line(spec.description, "description")
    document["inputs"] = list(spec.function.inputs)
    document["outputs"] = list(spec.function.outputs)
    document["table"] = [
        f"{''.join(map(str, bits))} {outputs}".lstrip()
        for bits, outputs in zip(
            spec.function.assignments(),
            map("".join, zip(*spec.function.outputs.values(), strict=True)),
            strict=True,
        )
    ]
    if spec.ground:
        document["ground"] = True
    tables: dict[str, Any] = {
        "limits": {key: value for key, value in asdict(spec.limits).items() if value is not None},
        "stack": _stack_entry(spec),
        "chain": [{"from": link.output, "to": link.input} for link in spec.chain],
        "pins": {name: entry for name, ask in spec.pins.items() if (entry := _pin_entry(ask))},
        "cells": _cells_entry(spec),
    }
    return document | {key: entry for key, entry in tables.items() if entry}


def write_spec(spec: Spec) -> str:
    """The document of a specification as TOML text, the same in every run.

    Raises:
        InputError: if it has no document; see ``spec_document``.
    """
    document = spec_document(spec)
    chain = document.pop("chain", [])
    plain = {key: value for key, value in document.items() if not isinstance(value, dict)}
    lines = _lines(plain)
    for key, entry in document.items():
        if isinstance(entry, dict):
            lines += ["", f"[{key}]", *_lines(entry)]
    for entry in chain:
        lines += ["", "[[chain]]", *_lines(entry)]
    return "\n".join(lines) + "\n"


def _stack_entry(spec: Spec) -> dict[str, Any]:
    if spec.stack is None:
        return {}
    pitch = {} if spec.stack.pitch is None else {"pitch": spec.stack.pitch}
    return {"axis": spec.stack.axis} | pitch


def _pin_entry(ask: PinDemand) -> dict[str, Any]:
    entry: dict[str, Any] = {}
    if ask.at is not None:
        entry["at"] = list(ask.at)
    if ask.faces is not None:
        entry["faces"] = [str(face) for face in ask.faces]
    if ask.joint is not None:
        entry["joint"] = str(ask.joint)
    return entry


def _cells_entry(spec: Spec) -> dict[str, Any]:
    entry: dict[str, Any] = {}
    if spec.empty:
        entry["empty"] = [list(cell) for cell in sorted(spec.empty)]
    if spec.fixed:
        entry["fixed"] = [block_entry(cell, spec.fixed[cell]) for cell in sorted(spec.fixed)]
    return entry


def _lines(entry: Mapping[str, Any]) -> list[str]:
    return [f"{_key(key)} = {_value(value)}" for key, value in entry.items()]


def _key(key: str) -> str:
    return key if _BARE_KEY.fullmatch(key) else _value(key)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        # Printable text (``fields.line``) has no other characters that TOML wants escaped.
        return '"' + "".join(_ESCAPED.get(char, char) for char in value) + '"'
    if isinstance(value, dict):
        return "{ " + ", ".join(_lines(value)) + " }"
    return "[" + ", ".join(_value(entry) for entry in value) + "]"
