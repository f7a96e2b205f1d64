"""An audit of up to a million songs on a cluster, simulated song by song from measured costs.

    python -m tests.benchmarks.million [--songs 1000000] [--workers 16 64 256 1024] [--storage-mbs 1000] [--record]

Each song takes its turn at the command (one core: ledger, judging, tables), the scheduler (one core), the storage (one
link that all workers share, and a share of it that one connection reaches), and a worker (one thread, one core). No
more calls wait for results at once than `delivery.pipeline.cluster` permits. Lengths are drawn from a log-normal
distribution with a fixed seed. Costs are those that ``tests.benchmarks.cluster`` and ``tests.benchmarks.audit`` have
recorded in the guide's page; prices are assumptions to be replaced: ``--core-hour``, ``--gigabyte``.
"""

from __future__ import annotations

import argparse
import heapq
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from delivery.pipeline.cluster import AT_A_TIME, PER_THREAD
from tests.benchmarks.figures import record, tables

MEDIAN_MIN, SPREAD = 3.6, 0.35
"""Length of a song: median in minutes, and standard deviation of its logarithm. An assumption, no source."""
SEED = 22


@dataclass(frozen=True)
class Costs:
    """Measured; seconds of processor time unless the name says otherwise."""

    worker_s_per_minute: float
    command_s_per_song: float
    scheduler_s_per_call: float
    mb_per_minute: float
    connection_mbs: float
    """What one connection to the storage reaches: an assumption."""
    storage_mbs: float
    """What all of them together reach: an assumption."""


@dataclass(frozen=True)
class Outcome:
    """Of one simulated audit."""

    songs: int
    workers: int
    hours: float
    busy: dict[str, float]
    """Share of the time that each part was at work, by its name; of the workers the mean."""
    gigabytes: float

    @property
    def machine_hours(self) -> float:
        """Hours of a core that is paid for, the workers' alone."""
        return self.hours * self.workers

    @property
    def bottleneck(self) -> str:
        """The part that is busy for the largest share of the time."""
        return max(self.busy, key=lambda name: self.busy[name])


def lengths_min(songs: int) -> np.ndarray:
    """Minutes of each song."""
    drawn: np.ndarray = np.random.default_rng(SEED).lognormal(np.log(MEDIAN_MIN), SPREAD, songs)
    return drawn


def simulated(songs: int, workers: int, costs: Costs) -> Outcome:
    """Every song in turn; each part works on one thing at a time, in the order of arrival."""
    slots = [0.0] * min(AT_A_TIME, PER_THREAD * workers)
    free = [0.0] * workers
    command = scheduler = link = end = in_flight = at_work = 0.0
    minutes = lengths_min(songs)
    for length in minutes.tolist():
        slot = heapq.heappop(slots)
        command = max(slot, command) + costs.command_s_per_song
        scheduler = max(command, scheduler) + costs.scheduler_s_per_call
        begins = max(scheduler, heapq.heappop(free))
        megabytes = length * costs.mb_per_minute
        link = max(link, begins) + megabytes / costs.storage_mbs
        ends = max(link, begins + megabytes / costs.connection_mbs) + length * costs.worker_s_per_minute
        heapq.heappush(free, ends)
        heapq.heappush(slots, ends)
        in_flight += ends - max(slot, command - costs.command_s_per_song)
        at_work += ends - begins
        end = max(end, ends)
    megabytes = float(minutes.sum()) * costs.mb_per_minute
    busy = {
        "workers": float(minutes.sum()) * costs.worker_s_per_minute / (workers * end),
        "storage": megabytes / costs.storage_mbs / end,
        "scheduler": songs * costs.scheduler_s_per_call / end,
        "command": songs * costs.command_s_per_song / end,
    }
    if PER_THREAD * workers > AT_A_TIME:
        busy["calls at a time"] = min(in_flight / (len(slots) * end), at_work / (len(slots) * end))
    return Outcome(songs, workers, end / 3600, busy, megabytes / 1000)


def recorded(storage_mbs: float, connection_mbs: float) -> Costs:
    """The costs in the guide's table."""
    found = {name: float(value.replace(",", "")) for name, value, _ in tables("volume")["costs"]["rows"]}
    return Costs(
        found["measuring a minute of music, on a worker"],
        (found["everything else about a song, where the command runs"] + found["a call, where the command runs"])
        / 1000,
        found["a call, on the scheduler"] / 1000,
        found["a minute of 24/44.1 stereo, WAV and FLAC by halves"],
        connection_mbs,
        storage_mbs,
    )


def rows_of(outcomes: list[Outcome], core_hour: float, gigabyte: float) -> Iterator[list[str]]:
    for one in outcomes:
        price = (one.machine_hours * core_hour + one.gigabytes * gigabyte) / one.songs * 1000
        yield [
            f"{one.songs:,}",
            f"{one.workers:,}",
            f"{one.hours:,.1f}",
            f"{one.machine_hours:,.0f}",
            f"{one.busy['workers']:.0%}",
            f"{1000 * one.gigabytes / one.hours / 3600:,.0f}",
            f"{one.busy['scheduler']:.0%}",
            f"{one.busy['command']:.0%}",
            one.bottleneck,
            f"{price:.2f}",
        ]


HEAD = (
    *("songs", "workers", "hours", "machine hours", "workers busy", "MB/s from storage"),
    *("scheduler busy", "command busy", "bottleneck", "cost per 1,000 songs"),
)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--songs", type=int, default=1_000_000)
    parser.add_argument("--workers", type=int, nargs="*", default=[16, 64, 256, 1024])
    parser.add_argument("--storage-mbs", type=float, default=1000.0, help="MB/s of the storage for all workers")
    parser.add_argument("--connection-mbs", type=float, default=80.0, help="MB/s of one connection to it")
    parser.add_argument("--core-hour", type=float, default=0.05, help="price of a core for an hour")
    parser.add_argument("--gigabyte", type=float, default=0.0, help="price of a gigabyte that leaves the storage")
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    costs = recorded(given.storage_mbs, given.connection_mbs)
    asked = [(1_000, 16), (30_000, 16), *((given.songs, workers) for workers in given.workers)]
    outcomes = [simulated(songs, workers, costs) for songs, workers in asked]
    rows = list(rows_of(outcomes, given.core_hour, given.gigabyte))
    for row in (list(HEAD), *rows):
        print("  ".join(f"{cell:>{max(9, len(title))}}" for cell, title in zip(row, HEAD, strict=True)))
    print(f"{outcomes[-1].gigabytes / 1000:,.1f} TB leave the storage for {given.songs:,} songs")
    faster = simulated(min(given.songs, 100_000), 1024, replace(costs, storage_mbs=1e9))
    print(f"with storage that is never waited for, 1,024 workers wait for: {faster.bottleneck} {faster.busy}")
    if given.record:
        record("volume", "million", rows)


if __name__ == "__main__":
    main()
