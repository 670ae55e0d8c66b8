"""Built circuits against an independent simulator of Verilog, on the same vectors.

Each circuit is written once more, as its behaviour in Verilog (IEEE Std 1364), and run by Icarus
Verilog (Debian's ``iverilog``) in every assignment; the layout is played by the three-valued play.
Where there are too many assignments, thousands at random take their place, in which the network is
evaluated that the simulator reads back from the layout.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from synth.building import build
from synth.circuits.judging import drawn_masks
from synth.circuits.reading.read import read_circuit
from synth.simulator.acyclic import Network, network_of
from synth.simulator.settling import settle

CIRCUITS = Path(__file__).parents[2] / "benchmarks" / "circuits"


def unit(bits: int) -> str:
    """Adds, subtracts, ands or exclusive-ors two numbers of so many bits."""
    return f"""
        wire [{bits - 1}:0] a = row[{2 * bits - 1}:{bits}], b = row[{bits - 1}:0];
        reg [{bits}:0] found;
        always @* case (row[{2 * bits + 1}:{2 * bits}])
            0: found = a + b; 1: found = {{a >= b, a - b}}; 2: found = a & b; 3: found = a ^ b;
        endcase
        assign q = {{found[{bits - 1}:0], found[{bits}]}};"""


BEHAVIOUR = {
    "adder4.eqn": "wire [4:0] sum = row[8:5] + row[4:1] + row[0]; assign q = {sum[3:0], sum[4]};",
    "adder8.eqn": "wire [8:0] sum = row[16:9] + row[8:1] + row[0]; assign q = {sum[7:0], sum[8]};",
    "c17.eqn": """
        wire n1 = row[4], n2 = row[3], n3 = row[2], n6 = row[1], n7 = row[0];
        wire n10, n11, n16, n19, n22, n23;
        nand (n10, n1, n3); nand (n11, n3, n6); nand (n16, n2, n11);
        nand (n19, n11, n7); nand (n22, n10, n16); nand (n23, n16, n19);
        assign q = {n22, n23};""",
    "comparator4.eqn": """
        wire [3:0] a = row[7:4], b = row[3:0];
        assign q = {a < b, a == b, a > b};""",
    "greater8.eqn": "assign q = row[15:8] > row[7:0];",
    "multiplier3.eqn": """
        wire [5:0] p = row[5:3] * row[2:0];
        assign q = {p[0], p[1], p[2], p[3], p[4], p[5]};""",
    "parity16.eqn": "assign q = ^row;",
    "segments.blif": """
        reg [6:0] lit;
        always @* case (row)
            0: lit = 7'b1111110; 1: lit = 7'b0110000; 2: lit = 7'b1101101; 3: lit = 7'b1111001;
            4: lit = 7'b0110011; 5: lit = 7'b1011011; 6: lit = 7'b1011111; 7: lit = 7'b1110000;
            8: lit = 7'b1111111; 9: lit = 7'b1111011; default: lit = 0;
        endcase
        assign q = lit;""",
    "unit4.eqn": unit(4),
    "unit8.eqn": unit(8),
}
"""For each circuit ``q``, its outputs in their order, out of ``row``, its inputs in theirs."""

BENCH = """
module dut(input [{inputs}:0] row, output [{outputs}:0] q);
{behaviour}
endmodule
module bench;
  reg [{inputs}:0] rows [0:{last}]; reg [{inputs}:0] row; wire [{outputs}:0] q; integer n;
  dut under_test(.row(row), .q(q));
  initial begin
    $readmemb("rows.mem", rows);
    for (n = 0; n <= {last}; n = n + 1) begin row = rows[n]; #1 $display("%b", q); end
  end
endmodule
"""


def simulated(name: str, masks: list[int], count: int, outputs: int, folder: Path) -> list[str]:
    """What Icarus says the outputs are in ``count`` assignments; a mask for each input."""
    rows = ["".join(str(mask >> row & 1) for mask in masks) for row in range(count)]
    (folder / "rows.mem").write_text("\n".join(rows))
    bench = BENCH.format(
        inputs=len(masks) - 1, outputs=outputs - 1, last=count - 1, behaviour=BEHAVIOUR[name]
    )
    (folder / "bench.v").write_text(bench)
    command = ["iverilog", "-g2005", "-s", "bench", "-o", "bench.vvp", "bench.v"]
    subprocess.run(command, cwd=folder, check=True, capture_output=True)
    run = subprocess.run(
        ["vvp", "-n", "bench.vvp"], cwd=folder, check=True, capture_output=True, text=True
    )
    return run.stdout.split()


@pytest.mark.skipif(shutil.which("iverilog") is None, reason="needs iverilog")
@pytest.mark.parametrize(
    ("name", "pins"),
    [*((name, "free") for name in BEHAVIOUR), ("adder4.eqn", "ends"), ("greater8.eqn", "ends")],
)
def test_a_layout_does_what_the_simulator_of_verilog_says(
    name: str, pins: str, tmp_path: Path
) -> None:
    circuit = read_circuit(CIRCUITS / name)
    full, masks = drawn_masks(len(circuit.inputs))
    said = simulated(name, masks, full.bit_length(), len(circuit.outputs), tmp_path)
    assert len(said) == full.bit_length()
    wanted = {
        output: sum(1 << row for row, bits in enumerate(said) if bits[place] == "1")
        for place, output in enumerate(circuit.outputs)
    }
    layout = build(circuit, rounds=1, pins=pins).layout
    assert layout is not None
    assert [pin.name for pin in layout.inputs] == list(circuit.inputs)
    if full.bit_length() < 1 << len(circuit.inputs):
        network = network_of(layout)
        assert isinstance(network, Network)
        assert network.evaluate(dict(zip(circuit.inputs, masks, strict=True)), full) == wanted
        return
    settled = settle(layout)
    end = len(settled.ticks) - 1
    for output in circuit.outputs:
        assert settled.surely_reads(output, end) == wanted[output]
        assert settled.possibly_reads(output, end) == wanted[output]


def test_every_circuit_that_is_measured_is_written_once_more() -> None:
    assert set(BEHAVIOUR) == {path.name for path in CIRCUITS.iterdir()}
