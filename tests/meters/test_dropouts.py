"""Gaps in loud sound are reported; rests, decays, fades and music that is made of gaps are not.

Figures of hits and false alarms over much more material: ``python -m tests.benchmarks.detectors``.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.meters.dropouts import Dropouts
from tests.meters.memory import readings
from tests.signals import noise, sine

Array = NDArray[np.float64]
RATES = [8_000, 44_100, 96_000, 192_000]
HISS_DBFS = -75


def counts(sound: Array, rate_hz: int) -> tuple[int, int]:
    found = readings(Dropouts, sound, rate_hz)
    return found["dropout_places"], found["zero_run_places"]


def with_gap(sound: Array, rate_hz: int, length_s: float, fade_s: float, hiss: bool, at_s: float = 2.0) -> Array:
    """Nothing for *length_s*, the edges faded over *fade_s* outside of it; a hiss in it or exact zeros."""
    t = np.arange(len(sound)) / rate_hz
    outside = np.maximum(at_s - t, t - at_s - length_s)
    gain = np.clip(outside / fade_s, 0, 1) if fade_s else (outside > 0).astype(float)
    made: Array = sound * gain[:, None]
    return made + noise(rate_hz, len(sound) / rate_hz, level_dbfs=HISS_DBFS) if hiss else made


def tone(hz: float, rate_hz: int, seconds: float = 4.0, level_dbfs: float = -16) -> Array:
    return sine(hz, rate_hz, seconds, level_dbfs=level_dbfs) * [1.0, 1.0]


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("length_s", [0.006, 0.05, 0.2])
@pytest.mark.parametrize("fade_s", [0.0, 0.0005])
def test_sound_that_breaks_off_is_a_dropout_also_in_a_low_note(rate_hz: int, length_s: float, fade_s: float) -> None:
    for sound in (tone(55, rate_hz), noise(rate_hz, 4, level_dbfs=-18)):
        assert counts(with_gap(sound, rate_hz, length_s, fade_s, hiss=True), rate_hz) == (1, 0)


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("hz", [50, 60])
def test_a_bass_that_rests_is_no_dropout(rate_hz: int, hz: float) -> None:
    """Both ends faded over 4 ms, a hat on the next note: it begins at once, and the end does not break off."""
    sound = with_gap(tone(hz, rate_hz), rate_hz, 0.06, 0.004, hiss=True)
    begins = round(2.06 * rate_hz)
    sound[begins : begins + rate_hz // 50] += noise(rate_hz, 1 / 50, level_dbfs=-24)[: rate_hz // 50]
    assert counts(sound, rate_hz) == (0, 0)


@pytest.mark.parametrize("rate_hz", RATES)
def test_a_decay_into_the_next_attack_is_no_dropout(rate_hz: int) -> None:
    """A stroke dies away by 60 dB within 50 ms; the next one is as loud at once."""
    t = np.arange(4 * rate_hz) / rate_hz
    strokes = noise(rate_hz, 4, level_dbfs=-12) * 10 ** (-60 / 20 * (t % 0.08) / 0.05)[:, None]
    assert counts(strokes + noise(rate_hz, 4, level_dbfs=HISS_DBFS), rate_hz) == (0, 0)


@pytest.mark.parametrize("rate_hz", RATES[1:])
def test_an_abrupt_end_of_soft_sound_is_found_by_its_slope(rate_hz: int) -> None:
    """At -37.5 dBFS half a millisecond of fade makes a low note look faded out, not a high one: at any rate."""
    high, low = (with_gap(tone(hz, rate_hz, level_dbfs=-37.5), rate_hz, 0.02, 0.0005, hiss=True) for hz in (6_000, 55))
    assert (counts(high, rate_hz), counts(low, rate_hz)) == ((1, 0), (0, 0))


@pytest.mark.parametrize("rate_hz", RATES[1:])
def test_a_mostly_decayed_note_needs_a_higher_score(rate_hz: int) -> None:
    """A low note that fell by 22 dB within 40 ms and ends at a crest: a plucked string that is damped."""
    t = np.arange(4 * rate_hz) / rate_hz
    fallen = 10 ** (-22 / 20 * np.clip((t - 1.96) / 0.04, 0, 1) * (t < 2.01))
    loud, soft = (tone(100, rate_hz, level_dbfs=level_dbfs) for level_dbfs in (-8, -30))
    damped, held = (with_gap(one, rate_hz, 0.02, 0.0005, True, 2.0025) for one in (loud * fallen[:, None], soft))
    assert (counts(damped, rate_hz), counts(held, rate_hz)) == ((0, 0), (1, 0))


def test_sound_that_fades_in_again_is_no_dropout() -> None:
    """A hard cut, then 30 ms of silence and a fade of 30 ms: an edit."""
    rate_hz = 48_000
    sound = noise(rate_hz, 4, level_dbfs=-18)
    sound[2 * rate_hz : 2 * rate_hz + 2_880] *= np.maximum(0, np.linspace(-1, 1, 2_880))[:, None] ** 2
    assert counts(sound + noise(rate_hz, 4, level_dbfs=HISS_DBFS), rate_hz) == (0, 0)
    sound[2 * rate_hz + 1_440 : 2 * rate_hz + 2_880] = noise(rate_hz, 0.03, level_dbfs=-18)
    assert counts(sound + noise(rate_hz, 4, level_dbfs=HISS_DBFS), rate_hz) == (1, 0)


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("length_s", [0.003, 0.02, 0.08])
def test_zeros_with_faded_edges_are_an_edit(rate_hz: int, length_s: float) -> None:
    """Half a millisecond is what a transfer's own filter leaves; 4 ms are somebody's fades."""
    for sound in (tone(220, rate_hz, level_dbfs=-20), noise(rate_hz, 4, level_dbfs=-24)):
        assert counts(with_gap(sound, rate_hz, length_s, 0.004, hiss=False), rate_hz) == (0, 0)
        assert counts(with_gap(sound, rate_hz, length_s, 0.0005, hiss=False), rate_hz) == (0, 1)


def test_zeros_between_a_note_and_another_much_softer_are_a_rest() -> None:
    """Even where both end and begin abruptly: the interrupted sound continues unchanged."""
    rate_hz = 48_000
    sound = with_gap(tone(440, rate_hz, level_dbfs=-10), rate_hz, 0.02, 0.0, hiss=False)
    assert counts(sound, rate_hz) == (0, 1)
    sound[2 * rate_hz :] *= 10 ** (-25 / 20)
    assert counts(sound, rate_hz) == (0, 0)


@pytest.mark.parametrize(("length_s", "hiss", "reported"), [(0.24, True, (1, 0)), (0.27, True, (0, 0)),
                                                        (0.09, False, (0, 1)), (0.11, False, (0, 0))])  # fmt: skip
def test_longer_ones_are_rests(length_s: float, hiss: bool, reported: tuple[int, int]) -> None:
    assert counts(with_gap(noise(48_000, 4, level_dbfs=-18), 48_000, length_s, 0.0, hiss=hiss), 48_000) == reported


def test_sound_made_of_gaps_is_a_style_and_a_burst_of_them_is_a_few_places() -> None:
    """Pulse waves hold zeros in every period, less than half a second apart: twenty seconds are not one place."""
    rate_hz = 44_100
    pulses = np.where((np.arange(20 * rate_hz) * 110 / rate_hz) % 1 < 0.25, 0.2, 0.0)[:, None] * np.ones(2)
    found = readings(Dropouts, pulses, rate_hz)
    assert (found["zero_run_places"], found["zero_run_places_many"]) == (40, True)
    burst = noise(rate_hz, 20, level_dbfs=-18)
    burst[5 * rate_hz : 7 * rate_hz] *= pulses[: 2 * rate_hz] > 0
    found = readings(Dropouts, burst, rate_hz)
    assert (found["zero_run_places"], found["zero_run_places_many"]) == (4, False)
    assert all(5 <= at_s < 7 for at_s in found["zero_run_places_at_s"])
