"""Readers of circuits: BLIF, AIGER, equations, Verilog."""
