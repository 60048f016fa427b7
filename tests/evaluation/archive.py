"""What an archive would cost, and where it would break first: ``python -m tests.evaluation.archive [--write]``.

A simulation of batches over archives of growing size, fed with figures that other commands here measure (their
names stand beside them). Recordings, deaths of workers and the shared disk are drawn or shared out as below; what
was never measured, a graphics processor above all, is marked so. ``--write`` puts the table into DEVELOPERS.md.
"""

from __future__ import annotations

import argparse
import heapq
import random
from dataclasses import dataclass
from pathlib import Path

from tests.evaluation.readme import put

COST = 0.17
"""Hours of two cores for an hour of recording, model base (`python -m tests.evaluation.benchmark`)."""
GB_AN_HOUR = 1.0
"""Size of a recording: 720 lines at about 2.2 Mbit/s (common practice, no source)."""
COPIES = 2.1
"""Bytes that go over the shared disk for each byte of a recording: read once, copied once, and the small files."""
INDEX_MB, INDEX_S, SEARCH_MS = 0.055, 0.012, 0.02
"""Of one lesson of five minutes: size in the index, seconds to index it, and what it adds to the slowest searches
(`python -m tests.evaluation.library`)."""
DEATHS = 1 / 500
"""Workers that die, in hours of work: a guess on the safe side, not measured."""
TASK_KB = 10
"""Memory of a Dask scheduler for one task (Dask documentation, "about a few kilobytes", from memory)."""
DISK_MB_S = 1_000
"""A shared disk on a network of ten gigabits (common practice, no source)."""
DISK_HOURS = DISK_MB_S * 3600 / 1000 / (GB_AN_HOUR * COPIES)
"""Hours of recording that the shared disk can carry in an hour."""


@dataclass(frozen=True)
class Run:
    """One archive built: hours of recording, machines of two cores, hours by the clock, builds begun twice."""

    hours: float
    machines: int
    clock: float
    lost: int


def simulate(hours: float, machines: int, seed: int = 0) -> Run:
    """Build recordings of about an hour; a death loses only a piece of the work, since stages are kept."""
    chance = random.Random(seed)
    free = [0.0] * machines
    lost = 0
    left = hours
    while left > 0:
        long = min(left, chance.lognormvariate(-0.1, 0.45))
        left -= long
        work = long * COST
        if chance.random() < work * DEATHS:
            lost += 1
            work += 0.1 * work  # finished stages and words are found again
        heapq.heapreplace(free, free[0] + work)
    # All machines share one disk.
    return Run(hours, machines, max(*free, hours / DISK_HOURS), lost)


def rows() -> list[str]:
    """Return the lines of the table."""
    lines = [
        "| hours of class | machines, two cores | by the clock | begun twice | disk busy | index | slow searches |",
        "| ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    for hours, machines in ((100, 1), (1_000, 4), (10_000, 20), (100_000, 20), (100_000, 100), (100_000, 400)):
        run = simulate(hours, machines)
        lessons = hours  # a class is about an hour, and has twelve times the moments of one of five minutes
        busy = hours / DISK_HOURS / run.clock
        index = lessons * 12 * INDEX_MB / 1000
        search = lessons * 12 * SEARCH_MS / 1000
        clock = f"{run.clock:,.0f} h" if run.clock < 72 else f"{run.clock / 24:,.0f} days"
        lines.append(
            f"| {hours:,} | {machines} | {clock} | {run.lost} | {busy:.0%} | {index:.1f} GB | {search:.1f} s |"
        )
    return lines


def main() -> None:
    """Simulate and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation.archive", description=__doc__)
    parser.add_argument("--write", action="store_true", help="put the table into DEVELOPERS.md")
    chosen = parser.parse_args()
    table = "\n".join(rows())
    print(table)
    if chosen.write:
        put(Path(__file__).parents[2] / "DEVELOPERS.md", "archive", table)


if __name__ == "__main__":
    main()
