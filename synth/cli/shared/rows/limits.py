"""The limits on sizes and delays. Each is written once, and becomes a row for every command."""

from __future__ import annotations

from dataclasses import replace

from synth import defaults
from synth.cli.shared.option import ASKED, Option
from synth.cli.shared.rows.common import SEARCHING

_NOT_IN_A_CENSUS = ("--parts", "--link-delay")
_NO_MEASURE_OF_A_CIRCUIT = ("--floor", "--parts", "--link-delay")


def _limit(name: str, unit: str, meaning: str) -> Option:
    assumed = {**defaults.ASSUMED_SIZE, "delay": defaults.ASSUMED_DELAY}.get(name)
    default = "" if assumed is None else f"what SPEC says, else {assumed}"
    return Option((f"--{name}",), SEARCHING, ASKED, meaning, unit, default, kind=int)


def _known_limit(limit: Option) -> Option:
    """The same for what is known already: where nothing is asked, nothing is left out."""
    return replace(limit, commands=("library find",), default="")


def _census_limit(limit: Option) -> Option:
    """The same for a census, which no specification says anything to."""
    assumed = limit.default.rpartition(" ")[2]
    return replace(limit, commands=("census",), default=assumed)


def _kept_limit(limit: Option) -> Option:
    """The same where a layout is given: what nobody asks stays as it is."""
    return replace(limit, commands=("prove", "shrink"), default="what it has now")


def _circuit_limit(limit: Option) -> Option:
    """The same for a circuit that is built."""
    return replace(limit, commands=("build",), default="none")


_LIMITS = (
    _limit("length", "CELLS", "At most this many cells along x."),
    _limit("width", "CELLS", "At most this many cells along y."),
    _limit("height", "CELLS", "At most this many cells along z."),
    _limit("volume", "CELLS", "At most this many cells in the box: length x width x height."),
    _limit("floor", "CELLS", "At most this many cells on its floor: length x width."),
    _limit("parts", "CELLS", "At most this many cells that are not empty."),
    _limit("delay", "TICKS", "The outputs are right after at most this many ticks."),
    _limit(
        "link-delay",
        "TICKS",
        "Once what a chain hands on is there, its outputs are right after at most this many ticks.",
    ),
)

LIMITS: tuple[Option, ...] = (
    *_LIMITS,
    *map(_known_limit, _LIMITS),
    *map(_kept_limit, _LIMITS),
    *(_circuit_limit(row) for row in _LIMITS if row.name not in _NO_MEASURE_OF_A_CIRCUIT),
)

LIMITS_OF_A_CENSUS = tuple(
    _census_limit(row) for row in _LIMITS if row.name not in _NOT_IN_A_CENSUS
)
