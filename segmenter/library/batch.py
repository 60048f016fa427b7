"""Build many recordings: a worker a lesson, workers that may die, and a record of everything.

Whoever asks twice gets one lesson: a lesson folder is held by one build at a time, and what is finished is
known by what it was made of. So a batch that was killed, or that another batch helps, simply goes on.
"""

from __future__ import annotations

import heapq
import multiprocessing
import os
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from segmenter.errors import SettingError
from segmenter.library.building import Outcome, build_one
from segmenter.library.jobs import Job
from segmenter.library.record import Record, write_summary
from segmenter.processes import end_with_parent
from segmenter.progress import Watch, unwatched
from segmenter.settings import BuildSettings
from segmenter.times import counted

STAGE: Final = "lessons"
MOST_TRIES: Final = 4
"""Attempts at a recording whose worker died, or that met trouble of another kind than the recording's own."""
FIRST_WAIT_S: Final = 1.0
"""Before the second attempt; twice as long before each later one."""
BUSY_WAIT_S: Final = 5.0
"""Before looking again at a lesson that somebody else builds."""

Work = Callable[[Job, str, BuildSettings], Outcome]


@dataclass(order=True)
class _Turn:
    """A job and when it may be tried next, by the monotonic clock."""

    at: float
    number: int
    job: Job
    tries: int = 0


def run_batch(
    jobs: Sequence[Job],
    output: Path,
    settings: BuildSettings,
    *,
    workers: int = 1,
    watch: Watch = unwatched,
    work: Work = build_one,
    places: str | None = None,
) -> list[Outcome]:
    """Build all recordings on this machine; return how each went, and write the summary.

    Parameters
    ----------
    jobs : sequence of Job
        What to build.
    output : Path
        Folder for the lesson folders, the record and the summary.
    settings : BuildSettings
        Choices for every build; `threads` of 0 shares the processors among the workers.
    workers : int
        Processes side by side.
    watch : Watch
        Told the share of jobs that are through (stage ``lessons``).
    work : callable
        What a worker does; must be a function of a module.
    places : str or None
        An address for the lessons instead of `output`, which then holds record and summary only.

    Raises
    ------
    SettingError
        If there are fewer than one worker.
    FolderError
        If record or summary cannot be written.
    """
    if workers < 1:
        raise SettingError("a batch needs at least one worker", None, "Choose --workers 1 or more")
    output.mkdir(parents=True, exist_ok=True)
    threads = settings.threads or max(1, (os.cpu_count() or 1) // workers)
    began = time.monotonic()
    outcomes = _Local(jobs, output, replace(settings, threads=threads), workers, watch, work, places).run()
    write_summary(outcomes, output, time.monotonic() - began)
    return outcomes


class _Local:
    """One process a worker, so that a death concerns one job alone and is known at once."""

    def __init__(
        self,
        jobs: Sequence[Job],
        output: Path,
        settings: BuildSettings,
        workers: int,
        watch: Watch,
        work: Work,
        places: str | None,
    ) -> None:
        self.turns = [_Turn(0.0, number, job) for number, job in enumerate(jobs)]
        self.output = output
        self.settings = settings
        self.slots: list[ProcessPoolExecutor | None] = [None] * min(workers, max(1, len(jobs)))
        self.watch = watch
        self.work = work
        self.places = places or str(output)
        self.record = Record(output)
        self.outcomes: dict[int, Outcome] = {}
        self.running: dict[Future[Outcome], tuple[int, _Turn]] = {}

    def run(self) -> list[Outcome]:
        wanted = len(self.turns)
        try:
            while len(self.outcomes) < wanted:
                self._give_out()
                self._tell(wanted)
                self._take_in()
        finally:
            for slot in self.slots:
                if slot is not None:
                    slot.shutdown(wait=False, cancel_futures=True)
        self._tell(wanted)
        return [self.outcomes[number] for number in sorted(self.outcomes)]

    def _give_out(self) -> None:
        busy = {slot for slot, _ in self.running.values()}
        for slot in range(len(self.slots)):
            if slot in busy or not self.turns or self.turns[0].at > time.monotonic():
                continue
            turn = heapq.heappop(self.turns)
            self.record.started(turn.job, turn.tries)
            executor = self.slots[slot] or self._new(slot)
            try:
                future = executor.submit(self.work, turn.job, self.places, self.settings)
            except BrokenProcessPool:  # it died while it had nothing to do
                future = self._new(slot).submit(self.work, turn.job, self.places, self.settings)
            self.running[future] = (slot, turn)

    def _new(self, slot: int) -> ProcessPoolExecutor:
        # A fresh process, not a copy of this one: threads of the recogniser do not survive a fork.
        executor = ProcessPoolExecutor(
            1, mp_context=multiprocessing.get_context("spawn"), initializer=end_with_parent
        )
        self.slots[slot] = executor
        return executor

    def _take_in(self) -> None:
        if not self.running:
            time.sleep(max(0.0, min(0.2, self.turns[0].at - time.monotonic())) if self.turns else 0.0)
            return
        finished, _ = wait(self.running, timeout=0.2, return_when=FIRST_COMPLETED)
        for future in finished:
            slot, turn = self.running.pop(future)
            try:
                outcome = future.result()
            except BrokenProcessPool:
                self._died(slot, turn)
            else:
                self._ended(turn, outcome)

    def _died(self, slot: int, turn: _Turn) -> None:
        executor = self.slots[slot]
        if executor is not None:
            executor.shutdown(wait=False)
        self.slots[slot] = None
        self.record.died(turn.job, turn.tries)
        problem = (
            f"its worker died {counted(MOST_TRIES, 'time')}, perhaps for want of memory. Try it with one worker"
        )
        self._again(turn, Outcome(turn.job, "failed", problem))

    def _ended(self, turn: _Turn, outcome: Outcome) -> None:
        if outcome.state == "busy":
            self.record.ended(outcome, last=False)
            heapq.heappush(self.turns, replace(turn, at=time.monotonic() + BUSY_WAIT_S))
        elif outcome.state == "trouble":
            self._again(turn, replace(outcome, state="failed"))
        else:
            self._settle(turn, outcome)

    def _again(self, turn: _Turn, otherwise: Outcome) -> None:
        """Try once more after a while, or settle for `otherwise`."""
        tries = turn.tries + 1
        if tries >= MOST_TRIES:
            self._settle(turn, otherwise)
            return
        self.record.ended(otherwise, last=False)
        heapq.heappush(
            self.turns, replace(turn, tries=tries, at=time.monotonic() + FIRST_WAIT_S * 2 ** (tries - 1))
        )

    def _settle(self, turn: _Turn, outcome: Outcome) -> None:
        self.record.ended(outcome, last=True)
        self.outcomes[turn.number] = outcome

    def _tell(self, wanted: int) -> None:
        self.watch(STAGE, len(self.outcomes) / max(1, wanted), through(self.outcomes.values(), wanted))


def through(outcomes: Iterable[Outcome], wanted: int) -> str:
    """Say in a few words how far a batch is."""
    ended = list(outcomes)
    failed = sum(one.state == "failed" for one in ended)
    return f"{len(ended)} of {wanted}" + (f", {failed} could not be built" if failed else "")
