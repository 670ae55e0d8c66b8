"""Windows: the question about a box in which most cells are settled beforehand.

``encode_window(Window(...))`` writes a formula in which what is fixed is evaluated away, so that
24 to 60 free cells cost little inside whatever surroundings. Static choices and their rules are
those of the whole question (``synth.encoding.statics``, ``shape``, ``causes``); what happens at
every tick is said anew, and only of what the goal looks at and the free cells can change:

1. ``known``: fixed cells and pins are constants, and so is what follows from them;
2. ``region``: which fixed parts are looked at;
3. ``graph``: who may be caused by whom, asked once;
4. ``bounds``: what is known of each signal whatever the free cells hold;
5. ``needs``: which signals the goal looks at;
6. ``planes``: the clauses.

With nothing fixed and no promises the formula has the models of the whole question. With
``promises`` it asks for less change outside, and costs as little in 2,000 cells as in 100. With
``labels`` only the signals that are there are placed and routed anew (``placing``): no assignments,
no ticks, and so several times the free cells for the same price.
A window proves nothing about smallness: its "no" is about the window alone.
"""

from synth.encoding.windows.encoder import WindowEncoding, encode_window
from synth.encoding.windows.labels import Labels
from synth.encoding.windows.promises import Promises
from synth.encoding.windows.surroundings import labels_of, pins_of, promises_of
from synth.encoding.windows.window import Window

__all__ = [
    "Labels",
    "Promises",
    "Window",
    "WindowEncoding",
    "encode_window",
    "labels_of",
    "pins_of",
    "promises_of",
]
