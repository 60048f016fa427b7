"""What a build does in a process of its own, so that it can be stopped and the desk stays quick."""

from __future__ import annotations

import contextlib
import multiprocessing.connection
from dataclasses import dataclass
from pathlib import Path

from segmenter.errors import SegmenterError
from segmenter.processes import end_with_parent


@dataclass(frozen=True)
class Order:
    """What to build: a recording into a lesson folder, perhaps with a transcript made elsewhere."""

    recording: str
    folder: str
    transcript: str | None
    title: str | None
    speech_model: str


def work(order: Order, told: multiprocessing.connection.Connection) -> None:
    """Build one lesson; tell the desk how far it is, and at the end how it went.

    Sends ``("at", stage, share, found)``, then ``("done",)`` or ``("failed", text)``.
    """
    end_with_parent()
    from segmenter.pipeline import build  # noqa: PLC0415 - loads the recogniser: only here, not in the desk
    from segmenter.settings import BuildSettings  # noqa: PLC0415

    def watch(stage: str, share: float, found: str) -> None:
        told.send(("at", stage, share, found))

    try:
        build(
            Path(order.recording),
            Path(order.folder),
            BuildSettings(speech_model=order.speech_model, title=order.title),
            transcript=Path(order.transcript) if order.transcript else None,
            watch=watch,
        )
        told.send(("done",))
    except SegmenterError as error:
        place = f" ({Path(str(error.where)).name})" if error.where else ""
        advice = f". {error.advice}" if error.advice else ""
        told.send(("failed", f"{error.problem}{place}{advice}"))
    except BrokenPipeError:
        return  # the desk is gone; what is finished is kept
    except Exception as error:
        with contextlib.suppress(OSError):
            told.send(("failed", f"something went wrong that nobody thought of ({type(error).__name__}: {error})"))
