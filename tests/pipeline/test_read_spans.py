"""Spans of joined masters: the samples of the files in order, and silence around them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.audio.plain_pcm import PlainPcm
from delivery.chain.plan import COPIED
from delivery.meters import measure
from delivery.model.figure import Reading
from delivery.model.part import Source
from delivery.model.release import Track
from delivery.pipeline.read_spans import read_spans

RATE_HZ = 44_100
SPANS = [(-50, 20), (-10, 3_000), (900, 1_100), (950, 2_600), (2_400, 2_600), (2_490, 2_700), (2_600, 2_700)]
"""Before the first song, over one join and over two, twice in one song, past the end, and wholly after it."""


def source(file: Path, x: np.ndarray, subtype: str = "PCM_16") -> Source:
    soundfile.write(file, x, RATE_HZ, subtype=subtype)
    return Source(Track(1, file, "A"), measure(file, ("frames", "channels")))


@pytest.mark.parametrize("ending", ["wav", "flac"])
def test_spans_are_those_of_the_files_put_end_to_end(tmp_path: Path, ending: str) -> None:
    """Three songs of 1000, 500 and 1000 frames, and the samples of all three as one array."""
    x = np.random.default_rng(1).integers(-(2**15), 2**15, (2_500, 2)) / 2.0**15
    cuts = ((0, 1_000), (1_000, 1_500), (1_500, 2_500))
    sources = [source(tmp_path / f"{a}.{ending}", x[a:b]) for a, b in cuts]
    whole = np.concatenate([np.zeros((50, 2)), x, np.zeros((500, 2))])
    for (begins, ends), found in zip(SPANS, read_spans(sources, RATE_HZ, SPANS), strict=True):
        assert np.array_equal(found, whole[begins + 50 : ends + 50])


def test_a_master_copied_to_both_channels_is_read_as_two(tmp_path: Path) -> None:
    mono = source(tmp_path / "mono.wav", np.linspace(-0.5, 0.5, 256))
    assert mono.measurement
    doubled = mono.measurement.with_readings({COPIED: Reading(True), "channels": Reading(2)})
    (found,) = read_spans([Source(mono.track, doubled)], RATE_HZ, [(-4, 12)])
    assert found.shape == (16, 2)
    assert np.array_equal(found[:, 0], found[:, 1])


def test_only_the_spans_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of plain PCM no more bytes than the spans have."""
    reads: list[int] = []
    real = PlainPcm._read

    def counting(self: PlainPcm, at: int, raw: np.ndarray, start: int) -> None:
        reads.append(len(raw))
        real(self, at, raw, start)

    long = source(tmp_path / "long.wav", np.zeros((10 * RATE_HZ, 2)))
    monkeypatch.setattr(PlainPcm, "_read", counting)
    list(read_spans([long], RATE_HZ, [(RATE_HZ, RATE_HZ + 100), (9 * RATE_HZ, 9 * RATE_HZ + 50)]))
    assert sum(reads) == (100 + 50) * 2 * 2
