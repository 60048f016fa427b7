"""The whole suite runs without a network (see ``tests/offline``), and no example fails for a busy machine."""

from __future__ import annotations

import os
import runpy
from pathlib import Path

from hypothesis import HealthCheck, settings

OFFLINE = Path(__file__).parent / "offline"
os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, [str(OFFLINE), os.environ.get("PYTHONPATH")]))
runpy.run_path(str(OFFLINE / "sitecustomize.py"), run_name="offline")

settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")
