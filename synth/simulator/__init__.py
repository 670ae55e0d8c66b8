"""The simulator: legality, play, settling and the verdict. Reads the rules on its own."""

from synth.simulator.checking import check, passing
from synth.simulator.legality import legality
from synth.simulator.settling import Settling, settle
from synth.simulator.tracing import trace
from synth.simulator.verdict import Fault, Verdict

__all__ = ["Fault", "Settling", "Verdict", "check", "legality", "passing", "settle", "trace"]
