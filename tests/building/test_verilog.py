"""Built circuits against an independent simulator of Verilog, on the same vectors.

Each circuit is written once more, as its behaviour in Verilog (IEEE Std 1364), and run by Icarus
Verilog (Debian's ``iverilog``) in every assignment; the layout is played by the three-valued play.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from synth.building import build
from synth.circuits.reading.read import read_circuit
from synth.simulator.settling import settle

CIRCUITS = Path(__file__).parents[2] / "benchmarks" / "circuits"

BEHAVIOUR = {
    "adder4.eqn": "wire [4:0] sum = row[8:5] + row[4:1] + row[0]; assign q = {sum[3:0], sum[4]};",
    "c17.eqn": """
        wire n1 = row[4], n2 = row[3], n3 = row[2], n6 = row[1], n7 = row[0];
        wire n10, n11, n16, n19, n22, n23;
        nand (n10, n1, n3); nand (n11, n3, n6); nand (n16, n2, n11);
        nand (n19, n11, n7); nand (n22, n10, n16); nand (n23, n16, n19);
        assign q = {n22, n23};""",
    "comparator4.eqn": """
        wire [3:0] a = row[7:4], b = row[3:0];
        assign q = {a < b, a == b, a > b};""",
    "multiplier3.eqn": """
        wire [5:0] p = row[5:3] * row[2:0];
        assign q = {p[0], p[1], p[2], p[3], p[4], p[5]};""",
    "segments.blif": """
        reg [6:0] lit;
        always @* case (row)
            0: lit = 7'b1111110; 1: lit = 7'b0110000; 2: lit = 7'b1101101; 3: lit = 7'b1111001;
            4: lit = 7'b0110011; 5: lit = 7'b1011011; 6: lit = 7'b1011111; 7: lit = 7'b1110000;
            8: lit = 7'b1111111; 9: lit = 7'b1111011; default: lit = 0;
        endcase
        assign q = lit;""",
    "unit4.eqn": """
        wire [3:0] a = row[7:4], b = row[3:0];
        reg [4:0] found;
        always @* case (row[9:8])
            0: found = a + b; 1: found = {a >= b, a - b}; 2: found = a & b; 3: found = a ^ b;
        endcase
        assign q = {found[3:0], found[4]};""",
}
"""For each circuit ``q``, its outputs in their order, out of ``row``, its inputs in theirs."""

BENCH = """
module dut(input [{inputs}:0] row, output [{outputs}:0] q);
{behaviour}
endmodule
module bench;
  reg [{inputs}:0] row; wire [{outputs}:0] q; integer n;
  dut under_test(.row(row), .q(q));
  initial for (n = 0; n < {rows}; n = n + 1) begin row = n; #1 $display("%b", q); end
endmodule
"""


def simulated(name: str, inputs: int, outputs: int, folder: Path) -> list[str]:
    """What Icarus says the outputs are, a row for each assignment in counting order."""
    bench = BENCH.format(
        inputs=inputs - 1, outputs=outputs - 1, rows=1 << inputs, behaviour=BEHAVIOUR[name]
    )
    (folder / "bench.v").write_text(bench)
    command = ["iverilog", "-g2005", "-s", "bench", "-o", "bench.vvp", "bench.v"]
    subprocess.run(command, cwd=folder, check=True, capture_output=True)
    run = subprocess.run(
        ["vvp", "-n", "bench.vvp"], cwd=folder, check=True, capture_output=True, text=True
    )
    return run.stdout.split()


@pytest.mark.skipif(shutil.which("iverilog") is None, reason="needs iverilog")
@pytest.mark.parametrize("name", BEHAVIOUR)
def test_a_layout_does_what_the_simulator_of_verilog_says(name: str, tmp_path: Path) -> None:
    circuit = read_circuit(CIRCUITS / name)
    said = simulated(name, len(circuit.inputs), len(circuit.outputs), tmp_path)
    assert len(said) == 1 << len(circuit.inputs)
    layout = build(circuit, rounds=1).layout
    assert layout is not None
    assert [pin.name for pin in layout.inputs] == list(circuit.inputs)
    settled = settle(layout)
    end = len(settled.ticks) - 1
    for place, output in enumerate(circuit.outputs):
        wanted = sum(1 << row for row, bits in enumerate(said) if bits[place] == "1")
        assert settled.surely_reads(output, end) == wanted == settled.possibly_reads(output, end)


def test_every_circuit_that_is_measured_is_written_once_more() -> None:
    assert set(BEHAVIOUR) == {path.name for path in CIRCUITS.iterdir()}
