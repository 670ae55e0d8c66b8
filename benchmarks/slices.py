"""Slices of chains: the smallest, proven or with a bound, under a time limit each.

Run from the top of the project: ``python -m benchmarks.slices``. Boxes up to 6 x 2 x 5 cells,
buffer joints, chained along x; a slice whose limit on delay no construction keeps has no start from
above. The adder, at most 10 ticks, is as long and high as it comes. Each row says when which volume
was found. A search begins with the slice that is kept with the program, if there is one;
``--from-nothing`` measures without. ``--ground`` asks for slices that stand on ground, whose lowest
wires and buffers need no part below them. ``--frontier SLICE`` sets volume against link delay
instead; that of the adder has boxes up to 40 x 2 x 24. ``--record FILE`` keeps what was found; rows
of slices that were not measured stay in it. ``--layouts FOLDER`` keeps every layout.
"""

from __future__ import annotations

import argparse
import datetime
import json
import os
from collections.abc import Iterator
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import Any

from benchmarks.from_above import Gains
from benchmarks.record import command, git, keep
from synth.layout import Layout
from synth.layout.pins import show_size
from synth.medium import Joint, Rules
from synth.search import solve
from synth.search.frontier.frontier import frontier
from synth.search.workers.settings import Settings
from synth.spec import Spec
from synth.spec.targets import load_target

SLICES = (
    ("priority", 3),
    ("shifter", 3),
    ("greater-than", 3),
    ("equality", 3),
    ("full-adder", 10),
)
"""Targets, and the delay asked of each, in ticks: the least they can have; the adder's is more."""

ROOMY = ("full-adder",)
"""Slices that no box of 6 x 2 x 5 cells is known to hold: only their width has a limit."""


def asked(name: str, delay: int, *, ground: bool = False) -> Spec:
    """A target with limits and joints, on ground or without."""
    spec = load_target(f"{name}-slice").replace(ground=ground)
    pins = {
        pin: ask if spec.linked(pin) else replace(ask, joint=Joint.BUFFER)
        for pin, ask in spec.pins.items()
    }
    limits = replace(spec.limits, delay=delay)
    if name not in ROOMY:
        limits = replace(limits, length=6, height=5)
    return spec.replace(pins=pins, limits=limits)


def called(name: str, ground: bool) -> str:
    """What the layout of a slice is called."""
    return f"{name}-slice{'-on-ground' if ground else ''}"


def kept(layout: Layout | None, folder: Path | None, name: str) -> None:
    """Keep a layout, if there is one, where layouts are to be kept."""
    if layout is not None and folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
        layout.save(folder / f"{name.replace('-', '_')}_layout.json")


def frontier_of(
    name: str, time_limit_s: float, layouts: Path | None, *, ground: bool
) -> dict[str, Any]:
    """Volume against link delay: every step, and what its bound rests on."""
    spec = asked(name, dict(SLICES)[name], ground=ground)
    if name in ROOMY:
        # With room for what is made by construction: a frontier keeps to limits that are assumed.
        spec = spec.replace(limits=replace(spec.limits, length=40, height=24))
    done = frontier(spec, axes=("volume", "link"), time_limit_s=time_limit_s)
    steps = []
    for step in done.steps:
        layout = None if step.known is None else step.known.layout
        kept(layout, layouts, f"{called(name, ground)}-link-{step.first}")
        row = {
            "link_delay": [step.first, step.last],
            "standing": str(step.standing),
            "size": None if layout is None else show_size(layout.size),
            "volume": step.value,
            "bound": step.bound,
            "claim": step.claim,
        }
        print(
            f"link delay {step.first} to {step.last}: {row['standing']}, {row['size'] or '-'}, "
            f"volume {row['volume'] or '-'}, bound {row['bound'] or '-'}",
            flush=True,
        )
        steps.append(row)
    return {"frontier": name, "ground": ground, "seconds": done.stats["seconds"], "steps": steps}


def forget_kept() -> None:
    """Let searches of this process begin with no slice that is kept."""

    def none(spec: Spec, rules: Rules) -> Iterator[Layout]:
        yield from ()

    # The package has a function of the module's name.
    vars(import_module("synth.composing.compose"))["slices_of"] = none


def joined(path: Path | None, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """New rows, behind those of a record that are about something else.

    Each row says by which command it was measured, of which commit and when: the head of the record
    says it of the last run.
    """
    now = datetime.datetime.now(datetime.UTC).date().isoformat()
    own = {"date": now, "commit": git("rev-parse", "HEAD"), "command": command()}
    new = [row | {"measured": own} for row in rows]
    if path is None or not path.exists():
        return new

    def about(row: dict[str, Any]) -> tuple[Any, ...]:
        # Rows of before slices were kept were all measured without.
        without = row.get("from_nothing", True)
        return (row.get("slice"), row.get("frontier"), row.get("ground", False), without)

    replaced = {about(row) for row in new}
    head = json.loads(path.read_text(encoding="utf-8"))
    earlier = {name: head[name] for name in own}
    old = [{"measured": earlier} | row for row in head["rows"] if about(row) not in replaced]
    return old + new


def main() -> None:
    """Search, print the table, record."""
    parser = argparse.ArgumentParser(description="The smallest slices of chains.")
    parser.add_argument("--time-limit", type=float, default=150.0)
    parser.add_argument("--only", nargs="*", default=[name for name, _ in SLICES])
    parser.add_argument("--frontier", choices=[name for name, _ in SLICES])
    parser.add_argument("--ground", action="store_true")
    parser.add_argument("--from-nothing", action="store_true")
    parser.add_argument("--record", type=Path)
    parser.add_argument("--layouts", type=Path)
    options = parser.parse_args()
    load = round(os.getloadavg()[0], 1)
    if options.from_nothing:
        forget_kept()
    if options.frontier is not None:
        row = frontier_of(
            options.frontier, options.time_limit, options.layouts, ground=options.ground
        )
        row |= {"load_before": load, "from_nothing": options.from_nothing}
        rows = joined(options.record, [row])
        keep(options.record, solver=Settings().solver, rows=rows)
        return
    rows = []
    print(f"{'slice':<14}{'delay':>6}{'status':>12}{'size':>12}{'volume':>8}{'bound':>7}{'s':>8}")
    for name, delay in SLICES:
        if name not in options.only:
            continue
        watch = Gains()
        spec = asked(name, delay, ground=options.ground)
        found = solve(spec, time_limit_s=options.time_limit, reporter=watch)
        layout, verdict = found.layout, found.verdict
        kept(layout, options.layouts, called(name, options.ground))
        row = {
            "slice": name,
            "delay": delay,
            "ground": options.ground,
            "from_nothing": options.from_nothing,
            "status": str(found.status),
            "size": None if layout is None else show_size(layout.size),
            "volume": None if layout is None else layout.volume,
            "link_delay": None if verdict is None else verdict.link_delay,
            "bound": found.bound,
            "claim": found.claim or found.reason,
            "gains": watch.gains,
            "seconds": round(float(found.stats["seconds"]), 1),
            "load_before": load,
        }
        print(
            f"{name:<14}{delay:>6}{row['status']:>12}{row['size'] or '-':>12}"
            f"{row['volume'] or '-':>8}{row['bound'] or '-':>7}{row['seconds']:>8}",
            flush=True,
        )
        rows.append(row)
    keep(options.record, solver=Settings().solver, rows=joined(options.record, rows))


if __name__ == "__main__":
    main()
