"""The generator: the same song twice is the same file, and its figures are those of music."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from demo import finish, music, songs
from demo.album import ALBUM, RATE_HZ, Title
from demo.instruments import Array
from demo.songs import Part
from tests.demo.judged import level_above, loudness, stream
from tests.judges import needs

SHORT = replace(songs.SOUNDING_LINE, form=(Part("intro", 1), Part("chorus", 1), Part("outro", 1)))


def sha256_of(song: songs.Song, path: Path) -> str:
    finish.write(path, music.perform(song, RATE_HZ), RATE_HZ)
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_the_same_song_is_the_same_file(tmp_path: Path) -> None:
    """Same in, same out, byte for byte; another seed is another performance."""
    once = sha256_of(SHORT, tmp_path / "once.wav")
    assert sha256_of(SHORT, tmp_path / "twice.wav") == once
    assert sha256_of(replace(SHORT, seed=SHORT.seed + 1), tmp_path / "other.wav") != once


def score(song: songs.Song, rate_hz: int) -> list[tuple[float, float]]:
    """Time and level of everything the players put on the tape."""
    put: list[tuple[float, float]] = []

    class Listening(music.Desk):
        def put(self, sound: Array, at_s: float, level: float, pan: float = 0.0, room: float = 0.0) -> None:
            put.append((at_s, level))
            super().put(sound, at_s, level, pan, room)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(music, "Desk", Listening)
        music.mix(song, rate_hz)
    return put


def test_the_notes_do_not_depend_on_the_rate() -> None:
    """A song bounced at another rate is the same performance; another seed is another one."""
    once = score(SHORT, 44_100)
    assert len(once) > 50
    assert score(SHORT, 48_000) == once
    assert score(replace(SHORT, seed=1), 44_100) != once


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000])
def test_the_limiter_holds_its_ceiling_and_moves_slowly(rate_hz: int) -> None:
    """No sample passes the ceiling, quiet ones are unchanged, the gain turns less than 2 dB in a millisecond."""
    rng = np.random.default_rng(7)
    quiet = 0.5 * np.sin(2 * np.pi * 440 * np.arange(rate_hz) / rate_hz) * np.ones((2, 1))
    assert np.array_equal(finish.limited(quiet, rate_hz, -1.4), quiet)
    loud = quiet.copy()
    loud[:, rng.integers(0, rate_hz, 40)] *= 3.0
    held = finish.limited(loud, rate_hz, -1.4)
    assert np.abs(held).max() <= 10 ** (-1.4 / 20) + 1e-9
    steady = finish.limited(
        np.ones((2, rate_hz)) * np.where(np.arange(rate_hz) < rate_hz // 2, 0.1, 1.5), rate_hz, -1.4
    )
    gain_db = 20 * np.log10(steady[0] / np.where(np.arange(rate_hz) < rate_hz // 2, 0.1, 1.5))
    turn = round(rate_hz / 1000)
    assert np.abs(gain_db[turn:] - gain_db[:-turn]).max() < 2.0


@pytest.mark.thorough(1)
@needs("ffmpeg", "ffprobe", "sox")
@pytest.mark.parametrize("title", ALBUM, ids=lambda title: title.isrc)
def test_a_song_reads_like_music(title: Title, corrected: Path) -> None:
    """24/96 stereo of 35 to 60 s, -14 to -9 LUFS, under -1 dBTP, verse under chorus, sound above 24 kHz.

    Judges: ffprobe, ffmpeg, sox.
    """
    path = corrected / title.file
    facts = stream(path)
    assert (facts["sample_rate"], facts["bits_per_raw_sample"], facts["channels"]) == ("96000", "24", 2)
    assert 35 <= float(facts["duration"]) <= 60
    figures = loudness(path)
    assert -14 <= figures["integrated_lufs"] <= -9
    assert 3 < figures["range_lu"] < 15
    assert -2 < figures["true_peak_dbtp"] < -1
    parts = {name: (start_s, end_s) for name, start_s, end_s in music.sections(title.song)}
    verse, chorus = (loudness(path, *parts[name])["integrated_lufs"] for name in ("verse", "chorus"))
    assert verse < chorus - 2
    assert -45 < level_above(path, 24_000) < -25


@pytest.mark.parametrize("title", ALBUM, ids=lambda title: title.isrc)
def test_heads_and_tails(title: Title, corrected: Path) -> None:
    """About 0.2 s before the first sound and 1 s after the last, at -60 dBFS; two publishers' advice."""
    import soundfile

    sound, rate_hz = soundfile.read(corrected / title.file, always_2d=True)
    heard = np.flatnonzero(np.abs(sound).max(axis=1) > 10 ** (-60 / 20))
    assert heard[0] / rate_hz == pytest.approx(0.2, abs=0.02)
    assert 1.0 <= (len(sound) - heard[-1]) / rate_hz < 1.3
    assert np.abs(sound[: round(0.15 * rate_hz)]).max() < 2**-22  # dither alone
