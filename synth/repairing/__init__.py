"""Repair: the fewest changed cells that make a layout right, counted by the solver.

The simulator judges every layout that comes out; the solver says that fewer changes are not enough.
"""

from synth.repairing.repaired import Interrupted, Repaired
from synth.repairing.repairer import repair

__all__ = ["Interrupted", "Repaired", "repair"]
