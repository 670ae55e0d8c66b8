"""Shrinking: a right layout of any size becomes a better one, step by step, from above.

``shrink`` takes any layout that the simulator passes. First it deletes whatever the simulator alone
shows to be unnecessary (``pruning``). Then it asks a solver about *windows*
(``synth.encoding.windows``): a seam is cut out, the cells that this breaks are freed, and the same
function is asked for in the smaller box (``draft``, ``seams``, ``picking``). Between cuts it walks
through layouts that are as good (``moves``). The simulator judges every layout before it is used
(``aim``), and every gain is kept in a journal. The best layout only gets better; nothing is ever
claimed to be the smallest.
"""

from synth.shrinking.given import kept_as_it_is, own_spec
from synth.shrinking.shrinker import Interrupted, Shrunk, shrink

__all__ = ["Interrupted", "Shrunk", "kept_as_it_is", "own_spec", "shrink"]
