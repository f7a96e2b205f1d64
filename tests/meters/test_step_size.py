"""Words that were shorter once: on coarser steps after a change of level, or cut off without dither."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.meters.step_size import Quantisation, Truncation
from tests.benchmarks.planted.material import KINDS
from tests.meters.memory import cut, facts, readings
from tests.signals import noise, sine

Array = NDArray[np.float64]
RATE_HZ = 44_100


def rounded(sound: Array, bits: int, dither: float = 0.0, seed: int = 3) -> Array:
    """To *bits*, with triangular dither of so many steps at the peak; all in steps of its bit depth."""
    rng = np.random.default_rng(seed)
    return np.rint(sound * 2 ** (bits - 1) + dither * (rng.random(sound.shape) - rng.random(sound.shape)))


def music(seed: int = 1, seconds: float = 6.0) -> Array:
    """Noise in beats around two chords; peaks near -3 dBFS."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    tones = sum(np.sin(2 * np.pi * hz * t) for hz in (220, 277.2, 329.6))[:, None]
    sound = noise(RATE_HZ, seconds, seed=seed) * (0.3 + np.abs(np.sin(4 * t)))[:, None] + 0.2 * tones
    return np.asarray(0.7 * sound / np.abs(sound).max())


def reported(meter: type, sound: Array, bits: int, coding: str = "pcm") -> object:
    """Value, or the reason why there is none."""
    running = meter(facts(sound, RATE_HZ, coding, bits))
    for block in cut(sound, 10_007):
        running.update(block)
    (reading,) = running.result()
    return reading.value if reading.exists else reading.why_missing


@pytest.mark.parametrize("gain_db", [-20.0, -6.1, -0.1, 1.3])
@pytest.mark.parametrize(("shorter", "stored_with"), [(16, 0.0), (16, 1.0), (18, 0.0)])
def test_changed_level(gain_db: float, shorter: int, stored_with: float) -> None:
    """By construction: a step of the shorter word is 2**(24 - shorter) steps of the longer one, times the gain."""
    step = 2 ** (24 - shorter) * 10 ** (gain_db / 20)
    stored = rounded(rounded(music(), shorter, 1.0) * step / 2**23, 24, stored_with) / 2**23
    found = reported(Quantisation, stored, 24)
    assert found == (pytest.approx(step, rel=1e-6) if step >= 8 else 1.0)


def test_in_floats_too() -> None:
    stored = rounded(music(), 16, 1.0) * (0.8 / 2**15)
    assert reported(Quantisation, stored.astype(np.float32).astype(np.float64), 32, "float") == pytest.approx(0.8 * 256)


def test_each_channel_with_its_own_gain() -> None:
    """Of two steps the finer one is reported; one whole channel makes it none."""
    integers = rounded(music(), 16, 1.0) * [0.9 * 256, 0.4 * 256]
    assert reported(Quantisation, np.rint(integers) / 2**23, 24) == pytest.approx(0.4 * 256, rel=1e-6)
    integers[:, 1] = rounded(music(2), 24)[:, 1]
    assert reported(Quantisation, np.rint(integers) / 2**23, 24) == 1.0


def test_fades_may_leave_the_steps() -> None:
    integers = rounded(music(), 16, 1.0) * 150.3
    integers[: RATE_HZ // 4] *= np.linspace(0, 1, RATE_HZ // 4)[:, None]
    assert reported(Quantisation, np.rint(integers) / 2**23, 24) == pytest.approx(150.3, rel=1e-6)


def test_half_a_file_on_steps_is_none() -> None:
    """The early part is known well; what comes later decides."""
    integers = rounded(music(), 16, 1.0) * 150.3
    integers[len(integers) // 2 :] = rounded(music(2), 24)[len(integers) // 2 :]
    assert reported(Quantisation, np.rint(integers) / 2**23, 24) == 1.0


def test_padded_samples_are_on_round_steps() -> None:
    assert reported(Quantisation, rounded(music(), 16, 1.0) / 2**15, 24) == pytest.approx(256.0, abs=0)
    assert reported(Quantisation, rounded(music(), 16, 1.0) / 2**15, 16) == 1.0


@pytest.mark.thorough(3)
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "8-bit style"])
def test_genuine_samples_have_no_common_step(kind: str) -> None:
    sound = KINDS[kind][0](np.random.default_rng(len(kind)), RATE_HZ, 5 * RATE_HZ)
    for peak in (0.7, 0.001):
        found = reported(Quantisation, rounded(peak * sound / np.abs(sound).max(), 24) / 2**23, 24)
        assert found in (1.0, "too little soft sound to tell")


def test_a_limiter_takes_the_steps_away() -> None:
    """Documented as not covered: a gain that changes all the time."""
    moving = 0.7 + 0.2 * np.sin(np.arange(6 * RATE_HZ) / 3000)[:, None]
    assert reported(Quantisation, rounded(rounded(music(), 16) / 2**15 * moving, 24) / 2**23, 24) == 1.0


@pytest.mark.parametrize(
    ("sound", "why"),
    [
        (np.zeros((0, 2)), "the file has no sound"),
        (np.full((50_000, 2), 0.25), "too little soft sound to tell"),
        (np.zeros((50_000, 2)), "too little soft sound to tell"),
    ],
)
def test_where_steps_give_no_result(sound: Array, why: str) -> None:
    assert reported(Quantisation, sound, 24) == why
    assert reported(Quantisation, np.zeros((10, 2)), 24, "float") == "too little soft sound to tell"


def faded(seconds: float = 6.0, room_dbfs: float = -140.0) -> Array:
    """A chord that fades to nothing, over a room's noise."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    chord = sum(sine(hz, RATE_HZ, seconds) for hz in (220, 277.2, 329.6)) * [0.2, 0.15]
    return chord * (1 - t / seconds)[:, None] ** 4 + noise(RATE_HZ, seconds, level_dbfs=room_dbfs)


@pytest.mark.parametrize("bits", [16, 24])
def test_truncated_samples(bits: int) -> None:
    """Rounded, and cut off downwards; 16 bits in a 24-bit file are the same."""
    for integers in (np.rint(faded() * 2**15), np.floor(faded() * 2**15)):
        found = reported(Truncation, integers / 2**15, bits)
        assert isinstance(found, float)
        assert found > 40


def test_dithered_samples() -> None:
    """Triangular dither leaves a quarter of a squared step whatever the sound (Lipshitz and others; from memory)."""
    assert reported(Truncation, rounded(faded(), 16, 1.0) / 2**15, 16) == 0.0


def test_dither_that_stops_with_the_sound() -> None:
    integers = rounded(faded(), 16, 1.0)
    integers[-RATE_HZ // 4 :] = 0
    assert reported(Truncation, integers / 2**15, 16) < 5  # type: ignore[operator]


def test_room_noise_is_dither_enough() -> None:
    assert reported(Truncation, np.rint(faded(room_dbfs=-88) * 2**15) / 2**15, 16) == 0.0


@pytest.mark.parametrize(
    ("sound", "bits", "why"),
    [
        (np.zeros((0, 2)), 16, "the file has no sound"),
        (rounded(music(), 16) / 2**15, 16, "no passage quiet enough to tell"),
        (np.zeros((50_000, 2)), 16, "no passage quiet enough to tell"),
        (rounded(faded(), 24) / 2**23, 24, "the samples are longer than 16 bits"),
    ],
)
def test_where_truncation_gives_no_result(sound: Array, bits: int, why: str) -> None:
    assert reported(Truncation, sound, bits) == why


def test_lossy_files_have_no_steps() -> None:
    running = Truncation(facts(music(), RATE_HZ, "mp3", None))
    running.update(music())
    assert running.result()[0].why_missing == "mp3 has no bit depth"
    assert readings(Quantisation, music(), RATE_HZ)["common_step"] == 1.0
