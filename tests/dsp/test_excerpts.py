"""An edit of a recording is found in it, at any gain, offset and coding; other music is not, however alike it is made.

Real music, where a Debian package of it is installed: pieces by one hand, in one style, against edits of themselves
and against each other. Made music for the rest: the truth is known.
"""

from __future__ import annotations

import io
import itertools
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.likeness.excerpts import Excerpt, excerpt
from delivery.meters.loudness import Loudness
from tests.music import PIECES, needs_music

Array = NDArray[np.float64]
RATE_HZ = 44_100
TITLES = [piece.stem for piece in PIECES]


def powers(sound: Array, rate_hz: int = RATE_HZ) -> tuple[float, ...]:
    meter = Loudness(SoundFacts(Path("x.wav"), "wav", "RIFF", "float", rate_hz, 2, len(sound), 32, 0))
    for at in range(0, len(sound), 65_536):
        meter.update(np.ascontiguousarray(sound[at : at + 65_536]))
    found = dict(zip((figure.name for figure in meter.gives), meter.result(), strict=True))
    return tuple(found["gating_powers"].value)


@cache
def made(seed: int, seconds: float = 150.0) -> Array:
    """Beats and notes to one click of 104 beats a minute, with chance in their level and place; no two seeds alike."""
    chance = np.random.default_rng(seed)
    sound = 0.01 * chance.standard_normal((round(seconds * RATE_HZ), 2))
    after = np.arange(RATE_HZ) / RATE_HZ
    for beat in np.arange(0, seconds - 1, 60 / 104):
        note = chance.uniform(0.02, 0.3) * np.exp(-chance.uniform(4, 14) * after)
        note *= np.sin(2 * np.pi * chance.uniform(80, 900) * after)
        start = round(beat * RATE_HZ)
        sound[start : start + RATE_HZ] += note[:, None] * chance.uniform(0.4, 1.0, 2)
    return sound


def cut(sound: Array, rate_hz: int = RATE_HZ) -> Array:
    """As a radio edit is made: the beginning gone, a verse out of the middle, an early fade; cuts between steps."""
    at = [round(seconds * rate_hz) + 1234 for seconds in (20, 70, 90)]
    end = len(sound) - round(10 * rate_hz)
    edit = np.concatenate([sound[at[0] : at[1]], sound[at[2] : end]])
    fade = np.minimum(1, np.arange(len(edit))[::-1] / (5 * rate_hz))
    return np.asarray(edit * fade[:, None])


def coded(sound: Array, kind: str) -> Array:
    """There and back; in pieces, for the Vorbis encoder keeps all it is given at once on the stack."""
    into = io.BytesIO()
    with sf.SoundFile(into, "w", RATE_HZ, 2, format=kind, compression_level=0.5) as file:
        for at in range(0, len(sound), 65_536):
            file.write(sound[at : at + 65_536])
    into.seek(0)
    return np.asarray(sf.read(into, always_2d=True)[0])


CHANGES = {
    "as it is": lambda edit: edit,
    "7 dB down": lambda edit: 10 ** (-7 / 20) * edit,
    "50 ms later": lambda edit: np.concatenate([np.zeros((2205, 2)), edit]),
    "behind 12 s of silence": lambda edit: np.concatenate([np.zeros((12 * RATE_HZ, 2)), edit]),
    "MP3": lambda edit: coded(0.7 * edit, "MP3"),
    "Vorbis": lambda edit: coded(0.7 * edit, "OGG"),
    "6 dB into saturation": lambda edit: np.tanh(2 * edit / np.abs(edit).max()),
}
GAINS_DB = {"7 dB down": -7.0, "MP3": -3.1, "Vorbis": -3.1}


@pytest.mark.thorough(3)
@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("swapped", [False, True])
def test_an_edit_is_found_with_its_places_and_gain(change: str, swapped: bool) -> None:
    """From 0:20 to 1:10 and from 1:30 on; places to the pieces of 10 s that are looked for, offsets to 0.2 s."""
    whole, edit = powers(made(1)), powers(CHANGES[change](cut(made(1))))
    found = excerpt(edit, whole) if swapped else excerpt(whole, edit)
    assert found
    assert found.share > 0.55
    later_s = 12.0 if "silence" in change else 0.0
    offsets = [each.one_s - each.other_s for each in found.stretches]
    wanted = [20.0 - later_s, 40.0 - later_s]
    assert (-np.array(offsets) if swapped else np.array(offsets)) == pytest.approx(wanted, abs=0.2)
    gain_db = -found.gain_db if swapped else found.gain_db
    if "saturation" not in change:
        assert gain_db == pytest.approx(GAINS_DB.get(change, 0.0), abs=0.5 if change in ("MP3", "Vorbis") else 0.3)


@pytest.mark.thorough(2)
@pytest.mark.parametrize("seeds", list(itertools.combinations(range(1, 6), 2)))
def test_other_songs_to_the_same_click_are_not_found(seeds: tuple[int, int]) -> None:
    assert excerpt(powers(made(seeds[0])), powers(cut(made(seeds[1])))) is None


def test_too_short_still_or_silent_is_nothing() -> None:
    assert excerpt([1.0] * 3000, [1.0] * 3000) is None
    assert excerpt([0.0] * 3000, [0.0] * 2000) is None
    assert excerpt(powers(made(1)), powers(made(1)[: 45 * RATE_HZ])) is None


def test_memory_stays_that_of_some_curves() -> None:
    """Three hours beside an hour: every piece at once would take 2 GB of correlations."""
    import tracemalloc

    chance = np.random.default_rng(3)
    long, short = (chance.exponential(0.01, count) for count in (108_000, 36_000))
    tracemalloc.start()
    assert excerpt(tuple(long), tuple(short)) is None
    assert excerpt(tuple(long), tuple(long[40_000:70_000])) is not None
    assert tracemalloc.get_traced_memory()[1] < 200e6
    tracemalloc.stop()


@cache
def piece(title: str) -> tuple[Array, int]:
    sound, rate_hz = sf.read(PIECES[TITLES.index(title)], always_2d=True)
    return sound[:, [0, -1]], rate_hz


@cache
def piece_powers(title: str) -> tuple[float, ...]:
    return powers(*piece(title))


def long_pieces() -> list[str]:
    """Six of three minutes and more."""
    return [title for title, path in zip(TITLES, PIECES, strict=True) if sf.info(path).duration > 180][:6]


@pytest.mark.thorough
@needs_music
@pytest.mark.slow
def test_edits_of_real_pieces_are_found_and_pieces_are_not_taken_for_each_other() -> None:
    titles = long_pieces()
    assert len(titles) == 6
    edits = {}
    for title in titles:
        sound, rate_hz = piece(title)
        edits[title] = powers(0.5 * cut(sound, rate_hz), rate_hz)
        piece_powers(title)  # kept; the sound is not
        piece.cache_clear()
    for number, title in enumerate(titles):
        found: Excerpt | None = excerpt(piece_powers(title), edits[title])
        assert found, title
        assert found.gain_db == pytest.approx(-6.0, abs=0.3)
        for other in (titles[number - 1], titles[number - 3]):
            assert excerpt(piece_powers(title), edits[other]) is None, (title, other)
            assert excerpt(piece_powers(title), piece_powers(other)) is None, (title, other)
