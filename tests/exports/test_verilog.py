"""The netlist in Verilog does what the layout does, says Icarus Verilog (Debian: iverilog).

That simulator shares nothing with us; ``.ci/run`` installs it.
"""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from synth.errors import InputError
from synth.exports.verilog import KEYWORDS, verilog
from synth.layout import Layout, Pin
from synth.medium import LEDGE, WIRE, Direction, Part, Role
from synth.simulator import check, trace
from synth.simulator.explaining.netlist import netlist_of
from tests.simulator.build import box, enters, leaves, to

TESTS = Path(__file__).parent.parent
XOR = Layout.load(TESTS / "data" / "xor2.json")
needs_icarus = pytest.mark.skipif(shutil.which("iverilog") is None, reason="needs iverilog")


def conformance() -> list[Layout]:
    """Layouts with outputs in which no buffer holds another."""
    found = []
    for path in sorted((TESTS / "conformance").glob("*.json")):
        layout = Layout.from_document(json.loads(path.read_text(encoding="utf-8"))["layout"])
        if layout.outputs and layout.inputs and not netlist_of(layout).holding:
            found.append(layout)
    return found


LAYOUTS = [XOR, *conformance()]


def escaped(name: str) -> str:
    return f"\\{name} "


def simulate(
    cases: list[tuple[Layout, list[dict[str, int]], int]], folder: Path
) -> list[list[str]]:
    """Every layout in one run: assignments one after another, ``hold`` ticks each.

    Gives, for each layout and tick, the outputs as they stand at the end of that tick.
    """
    sources, benches = [], []
    for number, (layout, assignments, hold) in enumerate(cases):
        named = layout.replace(name=f"case{number}")
        sources.append(verilog(named))
        inputs = [pin.name for pin in layout.inputs]
        outputs = [pin.name for pin in layout.outputs]
        ports = ", ".join(f".{escaped(n)}(p{i})" for i, n in enumerate(inputs + outputs))
        lines = [f"module bench{number};"]
        lines += [f"  reg p{i};" for i in range(len(inputs))]
        lines += [f"  wire p{len(inputs) + i};" for i in range(len(outputs))]
        lines += [f"  case{number} dut ({ports});", "  initial begin"]
        shown = ", ".join(f"p{len(inputs) + i}" for i in range(len(outputs)))
        for assignment in assignments:
            lines += [f"    p{i} = {assignment[n]};" for i, n in enumerate(inputs)]
            # Zero-delay gates follow within the same time step, which #0 or $strobe waits for.
            lines.append(
                f'    repeat ({hold}) begin $strobe("{number} {"%b" * len(outputs)}", {shown});'
                " #1; end"
            )
        lines += ["  end", "endmodule"]
        benches.append("\n".join(lines))
    (folder / "all.v").write_text("\n".join(sources + benches), encoding="utf-8")
    tops = [word for n in range(len(cases)) for word in ("-s", f"bench{n}")]
    subprocess.run(
        ["iverilog", "-g2005", "-Wall", "-o", "all.vvp", *tops, "all.v"],
        cwd=folder, check=True, capture_output=True,
    )  # fmt: skip
    ended = subprocess.run(
        ["vvp", "-n", "all.vvp"], cwd=folder, check=True, capture_output=True, text=True
    )
    results: list[list[str]] = [[] for _ in cases]
    for line in ended.stdout.splitlines():
        number, values = line.split(" ", 1)
        results[int(number)].append(values)
    return results


def assignments_of(layout: Layout) -> list[dict[str, int]]:
    names = [pin.name for pin in layout.inputs]
    return [
        {name: row >> (len(names) - 1 - i) & 1 for i, name in enumerate(names)}
        for row in range(1 << len(names))
    ]


@needs_icarus
def test_every_layout_settles_at_the_values_of_the_verdict(tmp_path: Path) -> None:
    """All assignments of all conformance layouts; where the verdict knows, Verilog agrees."""
    hold = 60
    cases = [(layout, assignments_of(layout), hold) for layout in LAYOUTS]
    known = 0
    for (layout, assignments, _), lines in zip(cases, simulate(cases, tmp_path), strict=True):
        verdict = check(layout)
        assert verdict.outputs is not None
        for row in range(len(assignments)):
            values = lines[(row + 1) * hold - 1]
            for value, column in zip(values, verdict.outputs.values(), strict=True):
                if column[row] != "x":
                    assert value == column[row]
                    known += 1
    assert known > 200


@needs_icarus
def test_with_delays_of_one_tick_every_tick_agrees(tmp_path: Path) -> None:
    """Random drives, changing at every tick; compared once the start has left the gates."""
    chance = random.Random(4)
    cases = []
    for layout in LAYOUTS:
        slow = any(b.part is Part.BUFFER and b.delay > 1 for b in layout.cells.values())
        verdict = check(layout)
        if slow or verdict.delay is None or any("x" in c for c in (verdict.outputs or {}).values()):
            continue
        names = [pin.name for pin in layout.inputs]
        drive = [{name: chance.randrange(2) for name in names} for _ in range(40)]
        cases.append((layout, drive, 1))
    assert len(cases) > 10
    for (layout, drive, _), lines in zip(cases, simulate(cases, tmp_path), strict=True):
        words = {pin.name: "".join(str(now[pin.name]) for now in drive) for pin in layout.inputs}
        played = trace(layout, words, len(drive))["outputs"].values()
        own = ["".join(values) for values in zip(*played, strict=True)]
        # Verilog starts unknown, a trace dark: both forget that within the delay.
        start = 1 + (check(layout).delay or 0)
        assert lines[start:] == own[start:]


def test_names_that_the_language_reserves_are_escaped() -> None:
    pins = (
        Pin("wire", Role.INPUT, (0, 0, 1), Direction.NX),
        Pin("module", Role.OUTPUT, (0, 0, 1), Direction.PX),
    )
    layout = Layout((1, 1, 2), {(0, 0, 0): LEDGE, (0, 0, 1): WIRE}, pins, name="2 wires; or")
    text = verilog(layout)
    assert "buf g_module (\\module , \\wire );" in text
    assert "module _2_wires__or (" in text
    assert {"wire", "module", "xnor"} <= KEYWORDS


@needs_icarus
def test_reserved_names_compile(tmp_path: Path) -> None:
    pins = (
        Pin("reg", Role.INPUT, (0, 0, 1), Direction.NX),
        Pin("begin", Role.OUTPUT, (0, 0, 1), Direction.PX),
    )
    layout = Layout((1, 1, 2), {(0, 0, 0): LEDGE, (0, 0, 1): WIRE}, pins)
    (lines,) = simulate([(layout, [{"reg": 0}, {"reg": 1}], 2)], tmp_path)
    assert lines == ["0", "0", "1", "1"]


def test_what_holds_is_no_netlist_of_gates() -> None:
    layout = box(
        (2, 2, 2),
        {(0, 0, 0): LEDGE, (0, 0, 1): to("+x"), (0, 1, 0): LEDGE, (0, 1, 1): to("-y")},
        enters("a", (0, 0, 1), "-x"),
        leaves("q", (1, 0, 1), "+x"),
    )
    with pytest.raises(InputError, match="can be held"):
        verilog(layout)
    with pytest.raises(InputError, match="no output"):
        verilog(Layout((1, 1, 1), {}))


def test_the_file_says_that_it_is_no_electronics_and_what_it_computes() -> None:
    nameless = replace(XOR, name=None)
    text = verilog(nameless)
    assert text.startswith("// q = a ^ b\n")
    assert "not circuits for electricity" in text
    assert "an OR in this medium only" in text
    assert "module layout (" in text
