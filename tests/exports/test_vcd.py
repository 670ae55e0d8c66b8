"""The dump, read back by a reader that is not ours, is the trace."""

from __future__ import annotations

import json
import signal
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from vcdvcd import VCDVCD

from synth.errors import InputError
from synth.exports.vcd import all_assignments, vcd
from synth.layout import Layout, Pin
from synth.medium import Direction, Role
from synth.simulator import trace
from tests.stored import stored_layout

# Loading the reader gives broken pipes back to the system, which ends the process at the first
# write to a lost child; Python ignores them, and the tests that lose children rest on that.
signal.signal(signal.SIGPIPE, signal.SIG_IGN)

TESTS = Path(__file__).parent.parent
XOR = stored_layout("xor2")
CONFORMANCE = sorted((TESTS / "conformance").glob("mixed-*.json"))[:15]


def check_dump(layout: Layout, document: dict[str, Any]) -> None:
    dump = VCDVCD(vcd_string=vcd(layout, document))
    assert int(dump.timescale["magnitude"]) == 1
    seen = set()
    for tick, state in enumerate(document["ticks"]):

        def value(name: str, tick: int = tick) -> int:
            seen.add(name)
            (full,) = (n for n in dump.signals if n.partition("[")[0] == name)
            return int(dump[full][tick], 2)

        for group in ("inputs", "outputs"):
            for name, word in document[group].items():
                assert value(f"pins.{name}") == int(word[tick])
        for x, y, z, strength in state["wires"]:
            assert value(f"wires.wire_{x}_{y}_{z}") == strength
        on = {tuple(cell) for cell in state["on"]}
        charged = {tuple(cell) for cell in state["charged"]}
        for (x, y, z), block in layout.cells.items():
            name = f"{block.part}s.{block.part}_{x}_{y}_{z}"
            if str(block.part) in ("inverter", "buffer"):
                assert value(name) == ((x, y, z) in on)
            elif str(block.part) == "solid":
                assert value(name) == ((x, y, z) in charged)
    assert {name.partition("[")[0] for name in dump.signals} == seen
    assert dump.endtime == len(document["ticks"])


def test_dump_of_a_trace_reads_back() -> None:
    check_dump(XOR, trace(XOR, {"a": "0011", "b": "0101"}, 10))


@pytest.mark.parametrize("path", CONFORMANCE, ids=lambda path: path.stem)
def test_dumps_of_conformance_traces_read_back(path: Path) -> None:
    case = json.loads(path.read_text(encoding="utf-8"))
    check_dump(Layout.from_document(case["layout"]), case["trace"])


def test_without_a_drive_every_assignment_is_played() -> None:
    words = all_assignments(XOR)
    document = trace(XOR, words, len(words["a"]))
    hold = len(words["a"]) // 4
    for row in range(4):
        end = (row + 1) * hold - 1
        bits = tuple(words[name][end] for name in ("a", "b"))
        assert bits == (str(row >> 1), str(row & 1))
        assert document["outputs"]["q"][end] == str(int(bits[0] != bits[1]))


@pytest.mark.parametrize("count", [11, 17])
def test_too_many_inputs_want_a_drive(count: int) -> None:
    pins = tuple(Pin(f"p{n}", Role.INPUT, (0, 0, 2 * n), Direction.NX) for n in range(count))
    with pytest.raises(InputError, match="too many to play") as caught:
        all_assignments(Layout((1, 1, 2 * count), {}, pins))
    assert "--drive" in str(caught.value)


def test_the_dump_says_that_it_is_no_electronics_and_what_it_shows() -> None:
    text = vcd(replace(XOR, name=None), trace(XOR, {"a": "01", "b": "00"}, 6))
    comment = text.partition("$comment")[2].partition("$end")[0]
    assert "q = a ^ b" in comment
    assert "not circuits for electricity" in comment
    assert "one is a tick" in comment
