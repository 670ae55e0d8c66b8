"""Golden files: renderings that are compared by character.

To look at a change and accept it: run the tests with GATEFIT_UPDATE_GOLDEN=1, then read the
difference in version control.
"""

from __future__ import annotations

import os
from pathlib import Path

FOLDER = Path(__file__).parent / "golden"


def check_golden(name: str, text: str) -> None:
    """Compare a rendering with the golden file of that name."""
    path = FOLDER / f"{name}.txt"
    if os.environ.get("GATEFIT_UPDATE_GOLDEN"):
        path.write_text(text + "\n", encoding="utf-8")
    assert text + "\n" == path.read_text(encoding="utf-8")
