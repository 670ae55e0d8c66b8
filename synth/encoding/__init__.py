"""The encoding: from a question about one box to a formula, and from a model back to a layout.

``encode(Question(spec, size, delay))`` writes the formula; ``Encoding.decode(model)`` reads it.
Each rule of the medium is one method: the static ones in ``statics``, links and runs in
``shape``, what is possibly on in ``possibly``, what is surely on in ``surely`` (with ``causes``),
the goal in ``goal``. Clauses that follow from these rules, and only speed up the search, are in
``implied``.

``Question(..., free=FreeTable())`` leaves the truth table free (``free_goal``): every output
settles in every row, and variables say at which value. At the last tick only what the goal reads is
played (``Question.reads``), mostly inverters and buffers alone: which of these lead to which output
is said once for all rows (``backwards``). Most plays have no variables of their own at tick 0:
``Rails.instants`` gives the planes that make up a play at a tick.

*A model is a right layout.* What a model calls possibly on is closed under every cause and what
it calls surely on has a well-founded reason, so its sure set lies within the true one of section 5
and its possible set contains it; an inverter only turns more "possible" into less "sure". So the
outputs settle at the values that the goal asks for.

*A right layout is a model.* Its exact three-valued play satisfies every clause. Nothing is cut
off: runs of wire may be as long as the wires that fit the box allow (``givers``).

*Stacks.* The neighbour is one more play of the same layout in which every input is possibly
on, with neighbours like itself; what is possible there crosses into every play, what is sure
there does not. That covers any number of copies (the simulator's stacking check has the same
argument). It asks a little more than section 7 does: a layout that is only right *because* a
neighbour is there, or because signals come back through a neighbour's solids, is not found. So a
claim that no stackable layout exists speaks only of layouts whose copies do not need each other,
and the search says so.

*Chains.* The links are inputs in every copy. Like all inputs of the neighbour, its links are
unknown. The delay of a link is asked of plays in which the links are unknown up to the delay of the
layout and known from then on (``Question.waiting``, ``late``). Section 11 lets a slice wait until
nothing changes, which may be later. A row that has to settle in time cannot wait, and a claim says
that too.
"""

from synth.encoding.encoder import Encoding, encode
from synth.encoding.question import ACCELERATIONS, Question

ENCODING_VERSION = 1
"""Raised whenever the formula admits other layouts, so that older answers no
longer serve."""

__all__ = ["ACCELERATIONS", "ENCODING_VERSION", "Encoding", "Question", "encode"]
