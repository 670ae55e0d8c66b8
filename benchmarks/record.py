"""What stands beside every measured figure: machine, versions, date."""

from __future__ import annotations

import datetime
import os
import platform
from importlib.metadata import version
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
