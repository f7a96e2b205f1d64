"""A master that changes while it is measured is a problem, whatever its times say."""

from __future__ import annotations

import os
from collections.abc import Collection
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.ledger import file_state
from delivery.meters import measure
from delivery.meters.meter import Meter
from delivery.model.figure import Measurement
from delivery.pipeline import sources
from delivery.pipeline.sound_files import bare_tracks
from tests.signals import noise

LONG_AGO_NS = 1_600_000_000 * 10**9


@pytest.fixture
def master(tmp_path: Path) -> Path:
    path = tmp_path / "master.wav"
    soundfile.write(path, noise(48_000, 1), 48_000)
    os.utime(path, ns=(LONG_AGO_NS, LONG_AGO_NS))
    return path


def times_read(monkeypatch: pytest.MonkeyPatch, settled_ns: int) -> list[Path]:
    """Files as they are hashed; times count as settled after *settled_ns*."""
    read: list[Path] = []

    def hashed(path: Path) -> str:
        read.append(path)
        return file_state.file_sha256(path)

    monkeypatch.setattr(sources, "file_sha256", hashed)
    monkeypatch.setattr(file_state, "SETTLED_NS", settled_ns)
    return read


@pytest.mark.parametrize("settled_ns", [-1, 10**18])
@pytest.mark.parametrize("restores_times", [True, False])
def test_other_bytes_than_those_hashed_are_a_problem(
    master: Path, monkeypatch: pytest.MonkeyPatch, restores_times: bool, settled_ns: int
) -> None:
    """Of the same size, and with the modification time put back: the time of the change itself cannot be put back."""

    def changing(path: Path, also: Collection[type[Meter]] = ()) -> Measurement:
        measured = measure(path, also=also)
        soundfile.write(path, np.zeros((48_000, 2)), 48_000)
        if restores_times:
            os.utime(path, ns=(LONG_AGO_NS, LONG_AGO_NS))
        return measured

    times_read(monkeypatch, settled_ns)
    monkeypatch.setattr(sources, "measure", changing)
    (source,) = sources.take_in(bare_tracks((master,)), None, 1)
    assert source.measurement is None
    assert "other bytes than a moment ago" in source.problem


@pytest.mark.parametrize(("settled_ns", "readings"), [(-1, 1), (10**18, 2)])
def test_an_unchanged_file_is_hashed_again_only_where_its_times_prove_nothing(
    master: Path, monkeypatch: pytest.MonkeyPatch, settled_ns: int, readings: int
) -> None:
    """Times younger than a disk's steps prove nothing."""
    read = times_read(monkeypatch, settled_ns)
    (source,) = sources.take_in(bare_tracks((master,)), None, 1)
    assert not source.problem
    assert read == [master] * readings
