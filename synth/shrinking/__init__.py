"""Shrinking: a right layout of any size becomes a better one, step by step, from above.

``shrink`` takes whatever the simulator passes. It deletes what the simulator alone lets go
(``pruning``), then asks a solver about *windows* (``synth.encoding.windows``): a seam is cut out,
what is broken is freed, the same function is asked for in the smaller box (``draft``, ``seams``,
``picking``). Between cuts it walks through layouts that are as good (``moves``). Every layout is
judged by the simulator before it is taken up (``aim``), and kept in a journal. It only ever lowers
the best: it never says that something is the smallest.
"""

from synth.shrinking.given import own_spec
from synth.shrinking.shrinker import Interrupted, Shrunk, shrink

__all__ = ["Interrupted", "Shrunk", "own_spec", "shrink"]
