"""The same batch on a Dask cluster: workers on many machines over one shared folder or address."""

from __future__ import annotations

import importlib
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from segmenter.errors import SettingError
from segmenter.library.batch import BUSY_WAIT_S, MOST_TRIES, STAGE, Work, through
from segmenter.library.building import Outcome, build_one
from segmenter.library.jobs import Job
from segmenter.library.record import Record, write_summary
from segmenter.progress import Watch, unwatched
from segmenter.settings import BuildSettings


def run_on_cluster(
    jobs: Sequence[Job],
    output: Path,
    settings: BuildSettings,
    address: str,
    *,
    resources: Mapping[str, float] | None = None,
    watch: Watch = unwatched,
    work: Work = build_one,
    places: str | None = None,
) -> list[Outcome]:
    """Build all recordings on the cluster at `address`; parameters and result otherwise as `run_batch`.

    Recordings and `output` must be reachable under the same path or address from every worker. Start workers with
    one thread each (``dask worker ADDRESS --nthreads 1 --resources "memory=2"``). When scheduler or network fail,
    run the same command again: what is finished stays finished.

    Parameters
    ----------
    resources : mapping or None
        What a job needs of a worker, such as ``{"gpu": 1}``; only workers started with it get jobs.

    Raises
    ------
    SettingError
        If the cluster cannot be reached, is lost on the way, or the package for it is missing.
    FolderError
        If record or summary cannot be written.
    """
    try:
        distributed: Any = importlib.import_module("distributed")  # in an extra
    except ImportError as error:
        raise SettingError(
            "a cluster needs the package distributed",
            address,
            "Install the extra: pip install 'segmenter[cluster]'",
        ) from error
    output.mkdir(parents=True, exist_ok=True)
    began, record, outcomes = time.monotonic(), Record(output), dict[int, Outcome]()
    where = places or str(output.resolve())
    settings = replace(settings, threads=settings.threads or 1)
    try:
        with distributed.Client(address, timeout=10, set_as_default=False) as client:

            def give(number: int, wait_s: float = 0.0) -> Any:
                record.started(jobs[number], 0)
                return client.submit(
                    _after,
                    wait_s,
                    work,
                    jobs[number],
                    where,
                    settings,
                    resources=dict(resources or {}),
                    retries=MOST_TRIES - 1,
                    pure=False,
                )

            numbers = {give(number): number for number in range(len(jobs))}
            coming = distributed.as_completed(list(numbers), loop=client.loop)
            for future in coming:
                number = numbers.pop(future)
                job = jobs[number]
                try:
                    outcome = future.result()
                except distributed.KilledWorker:
                    outcome = Outcome(job, "failed", "its workers died over and over, perhaps for want of memory")
                if outcome.state == "busy":
                    record.ended(outcome, last=False)
                    again = give(number, BUSY_WAIT_S)
                    numbers[again] = number
                    coming.add(again)
                    continue
                if outcome.state == "trouble":
                    outcome = replace(outcome, state="failed")
                record.ended(outcome, last=True)
                outcomes[number] = outcome
                watch(STAGE, len(outcomes) / len(jobs), through(outcomes.values(), len(jobs)))
    except (OSError, TimeoutError) as error:
        raise SettingError(
            f"the cluster cannot be reached ({error or 'no answer'})",
            address,
            "Start it, then run the same command again",
        ) from error
    ended = [outcomes[number] for number in sorted(outcomes)]
    write_summary(ended, output, time.monotonic() - began)
    return ended


def needed(written: Iterable[str]) -> dict[str, float]:
    """Read what a job needs of a worker from ``NAME=NUMBER``.

    Raises
    ------
    SettingError
        If it is not written so.
    """
    wanted: dict[str, float] = {}
    for each in written:
        name, _, amount = each.partition("=")
        try:
            wanted[name.strip()] = float(amount)
        except ValueError as error:
            raise SettingError(f"“{each}” says no amount", None, "Write it like gpu=1") from error
    return wanted


def _after(wait_s: float, work: Work, job: Job, output: str, settings: BuildSettings) -> Outcome:
    time.sleep(wait_s)
    return work(job, output, settings)
