"""The encoding: from a question about one box to a formula, and from a model back to a layout.

``encode(Question(spec, size, delay))`` writes the formula; ``Encoding.decode(model)`` reads it.
Each rule of the medium is one method: the static ones in ``statics``, links and runs in
``shape``, what is possibly on in ``possibly``, what is surely on in ``surely`` (with ``causes``),
the goal in ``goal``. What follows from them and is said outright is in ``implied``.

``Question(..., free=FreeTable())`` leaves the truth table free (``free_goal``): every output
settles in every row, and variables say at which value. Both rails are then played at the last tick
of every row, as they are with ``goal=False``; else only what the goal reads is
(``Question.reads``). At tick 0 plays mostly have no signals of their own: ``Rails.instants`` gives
those that make up a play at a tick.

*A model is a right layout.* What a model calls possibly on is closed under every cause and what
it calls surely on has a well-founded reason, so its sure set lies within the true one of section 5
and its possible set contains it; an inverter only turns more "possible" into less "sure". So
the outputs that the goal wants settle as it wants.

*A right layout is a model.* Its exact three-valued play satisfies every clause. Nothing is cut
off: runs of wire may be as long as the wires that fit the box allow (``givers``).

*Stacks.* The neighbour is one more play of the same layout in which every input is possibly
on, with neighbours like itself; what is possible there crosses into every play, what is sure
there does not. That is enough for every number of copies (the simulator's stacking check argues
the same). It asks a little more than section 7 does: a layout that is only right *because* a
neighbour is there, or because signals come back through a neighbour's solids, is not found. So a
claim that no stackable layout exists is a claim about layouts whose copies do not lean on each
other, and the search words it so.

*Chains.* The links are inputs in every copy, and the neighbour's are unknown with its other ones.
Their delay is asked of plays in which they are unknown up to the delay of the layout, then known
(``Question.waiting``, ``late``). Section 11 lets a slice wait until nothing changes, which may be
later; a row that is to settle in time cannot, and a claim says that too.
"""

from synth.encoding.encoder import Encoding, encode
from synth.encoding.question import ACCELERATIONS, Question

ENCODING_VERSION = 1
"""Raised whenever the formula admits other layouts, so that older answers no
longer serve."""

__all__ = ["ACCELERATIONS", "ENCODING_VERSION", "Encoding", "Question", "encode"]
