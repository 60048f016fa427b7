"""Helper processes of this program."""

from __future__ import annotations

import multiprocessing
import multiprocessing.connection
import os
import threading


def end_with_parent() -> None:
    """End this process when the one that started it is gone: who is killed cannot stop helpers."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def waiting() -> None:
        multiprocessing.connection.wait([parent.sentinel])
        os._exit(1)

    threading.Thread(target=waiting, daemon=True).start()
