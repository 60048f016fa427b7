"""Progress on the terminal: one live line a stage, or plain lines where there is no terminal."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeElapsedColumn, TimeRemainingColumn

from segmenter.progress import STAGES, Watch, unwatched


@contextlib.contextmanager
def watching(*, quiet: bool, stages: Mapping[str, str] = STAGES) -> Iterator[Watch]:
    """Yield the function that work in these stages tells its progress to.

    Everything goes to the standard error stream, so that standard output stays for results.
    """
    console = Console(stderr=True)
    if quiet:
        yield unwatched
    elif console.is_terminal:
        with _bars(console, stages) as watch:
            yield watch
    else:
        yield _lines(console, stages)


@contextlib.contextmanager
def _bars(console: Console, stages: Mapping[str, str]) -> Iterator[Watch]:
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.percentage:>3.0f} %"),
        TimeElapsedColumn(),
        TextColumn("left:"),
        TimeRemainingColumn(),
        TextColumn("{task.fields[found]}"),
    )
    with Progress(*columns, console=console) as progress:
        tasks: dict[str, TaskID] = {
            stage: progress.add_task(words, total=1.0, start=False, found="") for stage, words in stages.items()
        }

        def watch(stage: str, share: float, found: str) -> None:
            task = tasks[stage]
            if progress.tasks[task].start_time is None:
                progress.start_task(task)
            progress.update(task, completed=share)
            if found:
                progress.update(task, found=found)

        yield watch


def _lines(console: Console, stages: Mapping[str, str]) -> Watch:
    last: dict[str, int] = {}

    def watch(stage: str, share: float, found: str) -> None:
        quarter = int(share * 4)
        if last.get(stage, -1) >= quarter:
            return
        last[stage] = quarter
        text = f"{stages[stage]}: {share:.0%}" + (f", {found}" if found else "")
        console.print(text, markup=False, highlight=False)

    return watch
