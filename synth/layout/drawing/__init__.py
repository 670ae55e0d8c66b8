"""Drawings: a layout as text that a person types, and that ``gatefit show`` prints.

```text
name      inverter
function  q = ~a
delay     1
stack     y
pins
  a  input
  q  output  joint buffer

z = 0             // the lowest layer, seen from above
a>| ## ~> |>q
```

A layer begins with its title. Its rows are seen from above: x runs to the right, y up the page, so
the last row is y = 0. Bars part the cells from the pins outside; every cell is a pair of
characters (``glyphs``). Everything else may be left out: the heading (``heading``), the ruler, the
numbers of rows, the edges of the frame. What is there is read, and must not contradict the rest.
``docs/drawing.md`` tells all of it.
"""

from synth.layout.drawing.reader import Drawing, is_drawing, read_drawing
from synth.layout.drawing.writer import drawing_text

DRAWING_ENDING = ".drawing"
"""How the name of a drawing's file ends; any file may hold one."""

__all__ = ["DRAWING_ENDING", "Drawing", "drawing_text", "is_drawing", "read_drawing"]
