"""What rows of several headings share: families of commands, and words that a value may be."""

from __future__ import annotations

INSULATORS = ("solid", "ledge", "clear")
FACES = ("-x", "+x", "-y", "+y")
JOINTS = ("wire", "buffer")
AXES = ("x", "y", "z")

SEARCHING = ("solve", "frontier")
"""Commands that search for one function."""

OF_SPEC = (*SEARCHING, "library find", "prove", "shrink")
"""Commands that take a function and limits."""

ASKING = (*OF_SPEC, "census")
"""Commands that take limits, and what else is asked of a layout besides its function."""
