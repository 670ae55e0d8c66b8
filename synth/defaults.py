"""The defaults of every search, in one place: how to search, and within which limits.

This module imports nothing, so that help can name the defaults without loading a solver.
"""

from __future__ import annotations

SOLVER = "glucose42"
"""The solver of questions: it decides hard boxes sooner than CaDiCaL does
(``benchmarks/suite.py --solvers``)."""

PROVING_SOLVER = "cadical195"
"""The solver of questions if a proof is wanted."""

PLACING_SOLVER = "cadical195"
"""The solver that places signals and synthesises networks; shares of conflicts suit its speed."""

SEED = 0
"""The order of variables and clauses as the encoder writes them."""

PREFER = "solid"
"""The part in cells that only hold another part up."""

MOST_WORKERS = 4
"""The most worker processes that are started if no number is given."""

MEASURES = ("volume",)
"""What "smallest" means."""

AXES = ("floor", "delay")
"""The measures of a frontier: the smallest of the first for each value of the second."""

ADVISE_S = 20.0
"""Seconds to spend, after an answer of impossible, on finding which limits make it so."""

ASSUMED_SIZE = {"length": 6, "width": 4, "height": 5}
"""The longest sides, in cells, of boxes if the specification limits none."""

ASSUMED_DELAY = 3
"""The largest delay, in ticks, if the specification limits none."""

ASSUMED_TIME_S = 600.0
"""The time limit, in seconds, if sizes or delay are assumed and no time limit is given."""

STRIPS = 14
"""Strips of the picture of a play; of more ticks some are left out, evenly."""
