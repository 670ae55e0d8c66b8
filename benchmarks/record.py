"""What stands beside every measured figure: machine, versions, date."""

from __future__ import annotations

import datetime
import json
import os
import platform
from importlib.metadata import version
from pathlib import Path
from typing import Any


def environment() -> dict[str, Any]:
    """Versions and the size of the machine; nothing that tells which machine it was."""
    return {
        "date": datetime.datetime.now(tz=datetime.UTC).date().isoformat(),
        "gatefit": version("gatefit"),
        "python": platform.python_version(),
        "python-sat": version("python-sat"),
        "processors": os.cpu_count(),
        "architecture": platform.machine(),
    }


def keep(path: Path | None, **values: Any) -> None:
    """Write what was measured, and on what, where a file is named."""
    if path is not None:
        record = {**environment(), **values}
        path.write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8")
