"""How to search, and within what, where nobody says: every default in one place.

This module imports nothing, so that help can name the defaults without loading a solver.
"""

from __future__ import annotations

SOLVER = "glucose42"
"""What questions are put to: it decides hard boxes sooner than CaDiCaL does
(``benchmarks/suite.py --solvers``)."""

PROVING_SOLVER = "cadical195"
"""What questions are put to where a proof is wanted."""

PLACING_SOLVER = "cadical195"
"""What places signals in boxes and synthesises networks: shares of conflicts are made for it."""

SEED = 0
"""The order of variables and clauses as the encoder writes them."""

PREFER = "solid"
"""What cells become that only hold a part up."""

MOST_WORKERS = 4
"""Most worker processes that are started where no number is given."""

MEASURES = ("volume",)
"""What "smallest" means."""

AXES = ("floor", "delay")
"""The measures of a frontier: the smallest first for each value of the second."""

ADVISE_S = 20.0
"""Seconds to spend, after an answer of impossible, on finding which limits make it so."""

ASSUMED_SIZE = {"length": 6, "width": 4, "height": 5}
"""Longest sides, in cells, of the boxes tried where the specification names none."""

ASSUMED_DELAY = 3
"""Largest delay, in ticks, tried where the specification names none."""

ASSUMED_TIME_S = 600.0
"""Time limit where sizes or delay are assumed and none is given."""
