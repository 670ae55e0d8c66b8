"""Writes a circuit as AIGER in ASCII; see ``synth.circuits.reading.aiger`` for the source.

The name of the circuit is the comment at the end, where ``name_in`` finds it again.
"""

from __future__ import annotations

from synth.circuits.circuit import Circuit

COMMENT = "\nc\n"
"""What stands before the comment of a text."""


def aiger_text(circuit: Circuit) -> str:
    """The circuit, with its names in the table of symbols and its own name as a comment."""
    inputs, ands = len(circuit.inputs), len(circuit.ands)
    lines = [f"aag {inputs + ands} {inputs} 0 {len(circuit.outputs)} {ands}"]
    lines += [str(2 * (index + 1)) for index in range(inputs)]
    lines += [str(literal) for literal in circuit.outputs.values()]
    for index, (one, other) in enumerate(circuit.ands):
        lines.append(f"{2 * (inputs + 1 + index)} {max(one, other)} {min(one, other)}")
    lines += [f"i{index} {name}" for index, name in enumerate(circuit.inputs)]
    lines += [f"o{index} {name}" for index, name in enumerate(circuit.outputs)]
    lines += ["c", circuit.name]
    return "\n".join(lines) + "\n"


def name_in(data: bytes) -> str:
    """The name in the comment of a text that ``aiger_text`` wrote; empty where there is none.

    Args:
        data: the text; where it is no UTF-8, the name is not that of any circuit.
    """
    comment = data.decode(errors="replace").partition(COMMENT)[2]
    return comment.removesuffix("\n")
