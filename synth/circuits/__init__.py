"""Combinational circuits: read from files, judged and compared; knows no solver and no search."""

from synth.circuits.circuit import Circuit

__all__ = ["Circuit"]
