"""The simulation of a million songs, where its answer is known by arithmetic."""

from __future__ import annotations

from dataclasses import replace

import pytest

from delivery.pipeline.cluster import AT_A_TIME
from tests.benchmarks.million import Costs, lengths_min, simulated

FREE = Costs(1.0, 0.0, 0.0, 0.0, 1.0, 1.0)
"""Only measuring costs anything: a second a minute."""
SONGS = 4_000


@pytest.mark.parametrize("workers", [1, 16])
def test_workers_alone_share_the_minutes(workers: int) -> None:
    found = simulated(SONGS, workers, FREE)
    assert found.hours == pytest.approx(lengths_min(SONGS).sum() / workers / 3600, rel=0.01), "but for the last songs"
    assert found.bottleneck == "workers"
    assert found.machine_hours == pytest.approx(found.hours * workers)


@pytest.mark.parametrize(
    ("costs", "bottleneck", "seconds_a_song"),
    [
        (replace(FREE, command_s_per_song=2.0), "command", 2.0),
        (replace(FREE, scheduler_s_per_call=3.0), "scheduler", 3.0),
        (replace(FREE, mb_per_minute=10.0, storage_mbs=10.0, connection_mbs=1e9), "storage", None),
    ],
)
def test_one_slow_part_decides(costs: Costs, bottleneck: str, seconds_a_song: float | None) -> None:
    found = simulated(SONGS, 256, costs)
    expected_s = SONGS * seconds_a_song if seconds_a_song else lengths_min(SONGS).sum()
    assert found.hours * 3600 == pytest.approx(expected_s, rel=0.01)
    assert found.bottleneck == bottleneck


def test_more_workers_than_calls_at_a_time_have_nothing_to_do() -> None:
    most, more = (simulated(40 * AT_A_TIME, workers, FREE) for workers in (AT_A_TIME, 4 * AT_A_TIME))
    assert more.hours == pytest.approx(most.hours, rel=0.05)
    assert more.bottleneck == "calls at a time"


def test_ten_times_the_songs_take_ten_times_as_long() -> None:
    costs = Costs(1.0, 0.01, 0.005, 15.0, 80.0, 1000.0)
    assert simulated(10 * SONGS, 16, costs).hours / simulated(SONGS, 16, costs).hours == pytest.approx(10, rel=0.02)
