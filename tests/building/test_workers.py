"""Several processes place and shrink: right all the same, stopped at any moment, nobody left."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

import synth
from synth.building import build
from synth.building.annealing import Annealed
from synth.building.bursts import Burst, Bursts, placers
from synth.building.events import Improved
from synth.building.limits import BuildLimits
from synth.building.mapping import mapped
from synth.building.price import Pricing
from synth.circuits.reading.equations import parse_equations
from synth.circuits.reading.read import read_circuit
from synth.errors import InputError
from synth.layout import Layout
from synth.questions.outcome import Status
from synth.shrinking.crew import Helpers
from tests.building.test_build import CIRCUITS, Watching, adder
from tests.circuits.test_reading import C17
from tests.cli.test_ending import children_of
from tests.waiting import GUARD_S, wait_until

ROOT = Path(synth.__file__).parents[1]


def test_processes_side_by_side_build_as_well_and_are_gone_afterwards() -> None:
    watching = Watching()
    before = children_of(os.getpid())
    built = build(adder(1), rounds=700, effort=2_000, workers=2, watcher=watching)
    assert built.status is Status.FOUND
    assert built.layout is not None
    volumes = [event.volume for event in watching.events if isinstance(event, Improved)]
    assert volumes[-1] == built.layout.volume < built.routed
    assert children_of(os.getpid()) <= before


def test_a_burst_gives_the_same_in_another_process() -> None:
    """And whoever dies is replaced."""
    network = mapped(adder(1))
    price = Pricing(BuildLimits(), by_delay=False, reach=15)
    burst = Bursts(network, seed=3, price=price, rounds=25).next()
    here = burst.run()
    crew: Helpers[Burst, Annealed | None] = placers(2)  # type: ignore[assignment]
    try:
        crew.ask(1, burst)
        taken = crew.take(None)
        assert taken is not None
        place, there = taken
        assert place == 1
        assert there is not None
        assert (there.placement.columns, there.price) == (here.placement.columns, here.price)
        lost = crew._processes[0]
        lost.kill()
        lost.wait()
        assert crew.take(None) == (0, None)
        crew.ask(0, burst)
        taken = crew.take(None)
        assert taken is not None
        assert taken[0] == 0
        assert taken[1] is not None
    finally:
        crew.close()


CIRCUIT = CIRCUITS / "adder4.eqn"
PLACES = ("--time-limit", "86400")
SHRINKS = ("--rounds", "5", "--effort", "1000000000")


class _Begun:
    """A build in a process of its own, that would place or shrink all day."""

    def __init__(self, journal: Path, options: Sequence[str]) -> None:
        self.journal = journal
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", "synth.cli.main", "build", str(CIRCUIT)),
                *(*options, "--workers", "2", "--resume", str(journal), "--json"),
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            text=True,
        )
        assert self.process.stderr is not None
        awaited = "placed:" if options is SHRINKS else "routed:"
        while awaited not in self.process.stderr.readline():
            assert self.process.poll() is None
        wait_until(lambda: len(children_of(self.process.pid)) == 2, "there are no helpers")
        self.children = children_of(self.process.pid)

    def are_gone(self) -> bool:
        return not any(Path(f"/proc/{child}").is_dir() for child in self.children)


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for children in /proc")
@pytest.mark.parametrize(
    ("sent", "options"),
    [(signal.SIGINT, SHRINKS), (signal.SIGKILL, PLACES)],
    ids=["keyboard", "kill"],
)
def test_a_build_that_is_stopped_leaves_nobody_behind_and_keeps_its_best(
    sent: signal.Signals, options: Sequence[str], tmp_path: Path
) -> None:
    begun = _Begun(tmp_path / "build.jsonl", options)
    begun.process.send_signal(sent)
    out, err = begun.process.communicate(timeout=GUARD_S)
    wait_until(begun.are_gone, "a helper lives on")
    assert "Traceback" not in err
    # A line that the kill cut short has no end.
    lines = [line for line in begun.journal.read_text().splitlines(True) if line.endswith("\n")]
    kept = [Layout.from_document(json.loads(line)) for line in lines[1:]]
    again = build(read_circuit(CIRCUIT), rounds=0, resume=begun.journal)
    assert again.layout is not None
    assert again.layout.volume == kept[-1].volume
    if sent is signal.SIGINT:
        assert begun.process.returncode == 0
        assert '"status":"found"' in out.replace(" ", "")


def test_no_workers_are_refused() -> None:
    with pytest.raises(InputError, match="0 workers"):
        build(parse_equations(C17, "c17"), rounds=0, workers=0)
