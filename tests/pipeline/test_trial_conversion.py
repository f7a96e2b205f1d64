"""Trial conversions: pieces have the peaks of the whole, and where a limit is near the highest one is found."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr

from delivery.ledger.cache import MeasurementCache
from delivery.model.part import Source
from delivery.pipeline import trial_conversion
from delivery.pipeline.sound_files import bare_tracks
from delivery.pipeline.sources import quiet, take_in
from delivery.pipeline.trial_conversion import Stream, Wanted, converted_peaks, try_conversions
from tests.signals import Array

RATES = [(96_000, 44_100), (96_000, 48_000), (192_000, 44_100), (88_200, 44_100), (44_100, 48_000), (176_400, 48_000)]


def clipped_music(rate_hz: int, seconds: float, level_dbfs: float = -0.3, seed: int = 1, drive: float = 2.0) -> Array:
    """Noise that falls with frequency, loud and soft by turns, cut off hard: what conversion lifts most."""
    frames = round(seconds * rate_hz)
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal((frames, 2)), axis=0)
    spectrum /= np.sqrt(1 + (np.fft.rfftfreq(frames, 1 / rate_hz) / 2000) ** 2)[:, None]
    x = np.fft.irfft(spectrum, frames, axis=0)
    swells = 1 + 0.5 * np.sin(2 * np.pi * np.arange(frames) / rate_hz / 1.7)[:, None]
    x = np.clip(drive * swells * x / (3 * x.std()), -1, 1)
    edge = round(0.02 * rate_hz)
    x[:edge] *= np.linspace(0, 1, edge)[:, None]
    x[-edge:] *= np.linspace(1, 0, edge)[:, None]
    return np.asarray(10 ** (level_dbfs / 20) * x)


def masters(folder: Path, rate_hz: int, *sounds: Array) -> tuple[Source, ...]:
    for number, x in enumerate(sounds, start=1):
        soundfile.write(folder / f"{number}.wav", x, rate_hz, "DOUBLE")
    return take_in(bare_tracks(tuple(sorted(folder.glob("*.wav")))), None, 1)


def by_soxr(x: Array, from_hz: int, to_hz: int) -> float:
    """Highest sample, dBFS, of the whole sound converted in one call by the library itself, silence around it."""
    around = np.zeros((from_hz // 10, x.shape[1]))
    y = soxr.resample(np.concatenate([around, x, around]), from_hz, to_hz, quality="VHQ")
    return 20 * float(np.log10(np.abs(y[to_hz // 10 : -(to_hz // 10)]).max()))


@pytest.mark.thorough(3)
@pytest.mark.parametrize(("from_hz", "to_hz"), RATES)
@pytest.mark.parametrize("level_dbfs", [-0.3, 0.1])
def test_near_a_limit_the_peak_is_that_of_the_whole_conversion(
    tmp_path: Path, from_hz: int, to_hz: int, level_dbfs: float
) -> None:
    """Judged by soxr on the whole sound; pieces differ from it by 3e-10 of full scale at most."""
    x = clipped_music(from_hz, 12, level_dbfs)  # longer than one piece
    (found,) = converted_peaks(Stream(masters(tmp_path, from_hz, x), from_hz, to_hz), 0.0)
    assert found
    assert found.sample_peak_dbfs == pytest.approx(by_soxr(x, from_hz, to_hz), abs=1e-6)
    assert found.true_peak_dbtp >= found.sample_peak_dbfs - 1e-9


@pytest.mark.thorough(3)
@pytest.mark.parametrize("drive", [1.0, 3.0])
@pytest.mark.parametrize("headroom_db", [-0.02, 0.02, 0.2, 0.5, 0.8, 1.2])
def test_however_little_is_looked_at_the_side_of_the_limit_is_right(
    tmp_path: Path, drive: float, headroom_db: float
) -> None:
    """The limit lies so far above the peak of the whole conversion, or below it."""
    x = clipped_music(96_000, 5, drive=drive)
    whole_dbfs = by_soxr(x, 96_000, 44_100)
    limit_dbfs = whole_dbfs + headroom_db
    (found,) = converted_peaks(Stream(masters(tmp_path, 96_000, x), 96_000, 44_100), limit_dbfs)
    assert found
    assert (found.sample_peak_dbfs > limit_dbfs) is (whole_dbfs > limit_dbfs)
    assert found.sample_peak_dbfs <= whole_dbfs + 1e-6


def test_the_printed_time_is_that_of_the_peak(tmp_path: Path) -> None:
    x = 0.3 * clipped_music(96_000, 9)
    x[800_000:800_200] *= 3.2
    (found,) = converted_peaks(Stream(masters(tmp_path, 96_000, x), 96_000, 44_100), 0.0)
    assert found
    assert found.at_s == pytest.approx(800_100 / 96_000, abs=0.002)


def test_far_from_every_limit_little_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """At most ten places of 40 ms: a few hundred milliseconds of sound."""
    looked = []
    real = trial_conversion.steps.rated

    def counting(sound: Array, *rates_hz: int) -> Array:
        looked.append(len(sound))
        return real(sound, *rates_hz)

    monkeypatch.setattr(trial_conversion.steps, "rated", counting)
    stream = Stream(masters(tmp_path, 96_000, clipped_music(96_000, 12, -2.8)), 96_000, 44_100)
    converted_peaks(stream, 1.0)
    assert 0 < sum(looked) <= 10 * 0.08 * 96_000
    looked.clear()
    converted_peaks(stream, -1.0)
    assert sum(looked) > 5 * 96_000


def test_songs_of_one_stream_have_no_edges_where_they_meet(tmp_path: Path) -> None:
    """A tone at full scale cut in two rings at the cut by a tenth when each half is converted by itself."""
    tone = 0.99 * np.sin(2 * np.pi * 1000 * np.arange(96_000) / 96_000)[:, None] * [1.0, 1.0]
    tone[:2_000] *= np.linspace(0, 1, 2_000)[:, None]
    tone[-2_000:] *= np.linspace(1, 0, 2_000)[:, None]
    sources = masters(tmp_path, 96_000, tone[:40_008], tone[40_008:])
    together = converted_peaks(Stream(sources, 96_000, 44_100, cut=False), 0.0)
    assert all(each and each.sample_peak_dbfs < -0.08 for each in together)
    apart = [converted_peaks(Stream((source,), 96_000, 44_100), 0.0)[0] for source in sources]
    assert any(each and each.sample_peak_dbfs > 0.3 for each in apart)


def test_a_trial_is_made_once_and_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stream = Stream(masters(tmp_path, 96_000, clipped_music(96_000, 2)), 96_000, 44_100)
    with MeasurementCache(tmp_path / "cache") as cache:
        first = try_conversions([Wanted(stream, 0.0), Wanted(stream, -1.0)], cache, 1, quiet)
        monkeypatch.setattr(trial_conversion, "converted_peaks", None)
        assert try_conversions([Wanted(stream, -1.0)], cache, 1, quiet) == first
    assert list(first) == [stream.key]


def test_silence_has_no_peaks(tmp_path: Path) -> None:
    stream = Stream(masters(tmp_path, 96_000, np.zeros((96_000, 2))), 96_000, 44_100)
    assert converted_peaks(stream, 0.0) == (None,)
