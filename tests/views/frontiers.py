"""Made-up frontiers in which every standing occurs."""

from __future__ import annotations

from synth.views.text.frontier_chart import BEST_KNOWN, NONE, OPEN, SMALLEST, Chart, ChartStep

ASKED = ("boxes up to 5 x 2 x 5", "delay at most 4", "wire joints", "reach 15")

PROVEN = Chart(
    "q = a ^ b",
    ASKED,
    ("floor", "delay"),
    (
        ChartStep(0, 1, NONE, claim="no layout within 1 tick"),
        ChartStep(2, 2, SMALLEST, 8, 8, True, (4, 2, 5), 2, 23, "delay-2.json", "smallest"),
        ChartStep(3, 4, SMALLEST, 6, 6, True, (3, 2, 5), 3, 17, "delay-3.json", "smallest"),
    ),
)

GAPS = Chart(
    "q = a & $b$ _x^2",
    ASKED,
    ("parts", "volume"),
    (
        ChartStep(1, 11, NONE),
        ChartStep(12, 13, OPEN, None, 7),
        ChartStep(14, 17, BEST_KNOWN, 19, 13, True, (7, 1, 2), 2, 19),
        ChartStep(18, 29, SMALLEST, 12, 12, True, (3, 3, 2), 2, 12),
        ChartStep(30, 60, BEST_KNOWN, 12, 9, False, (3, 3, 2), 2, 12),
    ),
)

NOTHING = Chart("q = a", ASKED, ("floor", "delay"), (ChartStep(0, 0, NONE),))

UNKNOWN = Chart("q = a", ASKED, ("parts", "delay"), (ChartStep(0, 3, OPEN, None, 0),))

ALL = {"proven": PROVEN, "gaps": GAPS, "nothing": NOTHING, "unknown": UNKNOWN}
