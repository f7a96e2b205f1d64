"""Pairs of one recording on an album, and what is kept of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.ledger.cache import MeasurementCache
from delivery.model.figure import Measurement, Reading
from delivery.model.source import Source
from delivery.model.track import Track
from delivery.pipeline import likenesses as module
from delivery.pipeline.likenesses import likenesses
from tests.dsp.test_likeness import level_curve


def source(position: int, powers: list[float], audio_hash: str = "") -> Source:
    values = {
        "audio_hash": audio_hash or f"hash {position}",
        "gating_powers": tuple(powers),
        "third_octave_db": (-10.0,) * 31,
    }
    measurement = Measurement({name: Reading(value) for name, value in values.items()})
    return Source(Track(position=position, file=Path(f"{position}.wav"), title="x"), measurement)


def album() -> list[Source]:
    """Five songs: the third holds the first's audio, the fifth is a louder and later copy of the second."""
    first, second, fourth = (level_curve(seed, minutes=2) for seed in (1, 2, 4))
    copy = [4 * power for power in level_curve(2, 1_030, minutes=2)]
    curves = ((1, first, "same"), (2, second, ""), (3, first, "same"), (4, fourth, ""), (6, copy, ""))
    return [source(position, curve, audio_hash) for position, curve, audio_hash in curves]


def test_copies_are_found_among_others() -> None:
    exact, near = likenesses(album())
    assert (exact.one, exact.other, exact.exact) == (1, 3, True)
    assert (near.one, near.other, near.exact) == (2, 6, False)
    assert near.offset_s == pytest.approx(-1.03, abs=0.1)
    assert near.gain_db == pytest.approx(6.02, abs=0.1)


def test_songs_are_compared_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same audio in the same order, wherever it is on a release, is looked up; another song is not."""
    songs = album()
    with MeasurementCache(tmp_path / "ledger.sqlite3") as cache:
        found = likenesses(songs, cache)
        monkeypatch.setattr(module, "_rows", lambda _: pytest.fail("compared again"))
        assert likenesses(songs, cache) == found
        moved = [source(one.track.position + 10, [], str(one.audio_hash)) for one in songs]
        assert [(each.one, each.other) for each in likenesses(moved, cache)] == [(11, 13), (12, 16)]
        with pytest.raises(pytest.fail.Exception):
            likenesses(songs[1:], cache)


def test_one_song_is_like_no_other() -> None:
    assert likenesses(album()[:1]) == ()
    assert likenesses([]) == ()
