"""The whole suite runs without a network: see ``tests/offline``."""

from __future__ import annotations

import os
import runpy
from pathlib import Path

OFFLINE = Path(__file__).parent / "offline"
os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, [str(OFFLINE), os.environ.get("PYTHONPATH")]))
runpy.run_path(str(OFFLINE / "sitecustomize.py"), run_name="offline")
