"""Finds the slices that are kept with the package, for circuits that are rows of slices.

Run from the top of the project: ``python -m benchmarks.kept_slices``. Slices are two cells wide,
chained along x, with buffer joints, or wire joints where ``-wire`` ends their name; of each the
smallest is looked for, and of those the one with the least link delay. A file in
``synth/composing/kept/`` is replaced only by a smaller slice.
``--start NAME FILE`` lets a layout from elsewhere be that slice, once it is judged.
``--time-limit SECONDS`` is for each; ``--only`` names some; ``--record FILE`` keeps what came of
it, and what was recorded of others.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

from benchmarks.record import ROOT, keep
from synth.layout import Layout
from synth.layout.pins import show_size
from synth.search import solve
from synth.search.workers.settings import Settings
from synth.simulator import check
from synth.simulator.made_for import made_for
from synth.spec import Limits, Spec
from synth.spec.documents import read_spec

FOLDER = ROOT / "synth" / "composing" / "kept"

SLICES = {
    "and": "co = a & ci",
    "or": "co = a | ci",
    "and-not": "co = ~a & ci",
    "or-not": "co = ~a | ci",
    "parity": "co = a ^ ci",
    "equal": "co = (a ~^ b) & ci",
    "unequal": "co = (a ^ b) | ci",
    "greater": "co = a & ~b | ci & (a | ~b)",
    "prefix-and": "q = a & ci; co = a & ci",
    "prefix-or": "q = a | ci; co = a | ci",
    "prefix-parity": "q = a ^ ci; co = a ^ ci",
    "first-on": "q = a & ci; co = ~a & ci",
    "incrementer": "q = a ^ ci; co = a & ci",
    "decrementer": "q = a ^ ci; co = ~a & ci",
    "negation": "q = a ^ ci; co = a | ci",
    "chooser": "q = ci ? a : b; co = ci",
    "enabler": "q = a & ci; co = ci",
    "selective-inverter": "q = a ^ ci; co = ci",
    "full-adder": "q = a ^ b ^ ci; co = a & b | ci & (a | b)",
    "full-adder-quick": "q = a ^ b ^ ci; co = a & b | ci & (a | b)",
    "full-subtractor": "q = a ^ b ^ ci; co = ~a & b | ci & (~a | b)",
}
"""What each slice computes; its link is ``co`` to ``ci``. A quick one has a short link delay."""


def compared(a: int, b: int, less: int, greater: int) -> str:
    """Of a comparator from the most significant bit on: equal, less and greater so far."""
    if less and greater:
        return "---"
    less, greater = less or (not greater and a < b), greater or (not less and a > b)
    return f"{int(not (less or greater))}{int(less)}{int(greater)}"


TABLES: dict[str, tuple[tuple[str, ...], Callable[[int, int, int, int], str]]] = {
    "comparator": (("e", "lo", "go"), compared),
    "comparator-two": (("lo", "go"), lambda *bits: compared(*bits)[1:]),
}
"""Slices of inputs a, b, l and g whose links are ``lo`` to ``l`` and ``go`` to ``g``: outputs, and
what these are in each row."""

LIMITS: dict[str, dict[str, int]] = {
    "full-adder": {"delay": 10},
    "full-adder-quick": {"delay": 10, "link_delay": 3},
    "full-subtractor": {"delay": 10},
    "comparator": {"delay": 6},
    "comparator-two": {"delay": 6},
}
"""What is asked of some besides a width of 2."""

OTHERS = {"length": 6, "height": 5, "delay": 4}
"""What is asked of all others."""


WIRED = "-wire"
"""The end of the name of a slice whose pins have wire joints, but for its links."""

OTHERS_WIRED = {"length": 8, "height": 6, "delay": 8}
"""What is asked of all others with wire joints: they need more room and time."""


def asked(called: str, delay: int | None = None) -> Spec:
    """A slice as it is asked for; ``delay`` where it is another one than the table's."""
    name, joint = called.removesuffix(WIRED), "wire" if called.endswith(WIRED) else "buffer"
    others = OTHERS_WIRED if joint == "wire" else OTHERS
    limits = {"width": 2, **LIMITS.get(name, others)}
    if delay is not None:
        limits["delay"] = delay
    if name in TABLES:
        outputs, told = TABLES[name]
        rows = ["".join(map(str, bits)) + " " + told(*bits) for bits in product((0, 1), repeat=4)]
        table = {"inputs": list("ablg"), "outputs": list(outputs), "table": rows}
        links = [{"from": "go", "to": "g"}, {"from": "lo", "to": "l"}]
        pins = {pin: {"joint": joint} for pin in ("a", "b", *outputs[:-2])}
        return read_spec(
            {**table, "limits": limits, "stack": {"axis": "x"}, "chain": links, "pins": pins}
        )
    return Spec.parse(SLICES[name], stack="x", chain=[("co", "ci")], joint=joint, **limits)


def judged(name: str, layout: Layout) -> tuple[Layout, dict[str, Any]] | None:
    """A slice as it is kept, and its measures; None if it is not right."""
    spec = asked(name)
    spec = spec.replace(limits=Limits(link_delay=spec.limits.link_delay))
    verdict = check(layout, spec)
    if not verdict.passes:
        return None
    order = spec.pin_names
    pins = tuple(sorted(layout.pins, key=lambda pin: order.index(pin.name)))
    own = layout.replace(
        pins=pins, name=f"{name}-slice", made_for=made_for(spec.function, verdict.delay)
    )
    measures = {
        "size": show_size(own.size),
        "volume": own.volume,
        "link_delay": verdict.link_delay,
        "delay": verdict.delay,
        "parts": own.part_count,
    }
    return own, measures


def better(name: str, layout: Layout) -> dict[str, Any] | None:
    """Keep a slice if it is smaller than the one that is kept; the measures of the better one."""
    path = FOLDER / f"{name}.json"
    found = judged(name, layout)
    before = judged(name, Layout.load(path)) if path.exists() else None
    if before is not None and (found is None or _size(before[1]) <= _size(found[1])):
        return before[1]
    if found is None:
        return None
    found[0].save(path)
    return found[1]


def _size(measures: dict[str, Any]) -> tuple[int, ...]:
    return tuple(measures[key] for key in ("volume", "link_delay", "delay", "parts"))


def main() -> None:
    """Search, keep, print the table, record."""
    parser = argparse.ArgumentParser(description="The slices kept with the package.")
    parser.add_argument("--time-limit", type=float, default=90.0)
    parser.add_argument("--workers", type=int, default=None)
    parser.add_argument("--delay", type=int, help="the ticks to ask for")
    parser.add_argument("--only", nargs="*", default=[*SLICES, *TABLES])
    parser.add_argument("--start", nargs=2, action="append", default=[])
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rows = {}
    if options.record is not None and options.record.exists():
        held = json.loads(options.record.read_text(encoding="utf-8"))["rows"]
        rows = {row["slice"]: row for row in held}
    for name, path in options.start:
        measures = better(name, Layout.load(path))
        print(name, measures, flush=True)
    for name in options.only:
        found = solve(
            asked(name, options.delay),
            minimize=("volume", "link"),
            time_limit_s=options.time_limit,
            workers=options.workers,
        )
        measures = None if found.layout is None else better(name, found.layout)
        own = None if found.layout is None else found.layout.volume
        rows[name] = {
            "slice": name,
            "computes": SLICES.get(name.removesuffix(WIRED), "see TABLES"),
            "found": own,
            "status": str(found.status),
            "bound": found.bound,
            "seconds": round(float(found.stats["seconds"]), 1),
            "kept": measures,
        }
        print(json.dumps(rows[name]), flush=True)
    keep(options.record, solver=Settings().solver, rows=[*rows.values()])


if __name__ == "__main__":
    main()
