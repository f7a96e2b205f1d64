"""Level from 5 to 16 kHz at peaks, against tones of known level."""

from __future__ import annotations

import numpy as np
import pytest

from tests.meters.memory import measured
from tests.signals import noise, sine


@pytest.mark.thorough(2)
@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 88_200, 96_000, 192_000])
def test_a_burst_counts_with_its_own_level(rate_hz: int) -> None:
    """Closed form: sines of -20 dBFS in both channels, which are added up, read -20; the file's mean is far below."""
    sound = sine(200, rate_hz, 30, level_dbfs=-6)
    sound[10 * rate_hz : 12 * rate_hz] += sine(8000, rate_hz, 2, level_dbfs=-20)
    found = measured(sound * [1.0, 1.0], rate_hz)
    assert found.value("treble_peak_dbfs") == pytest.approx(-20.0, abs=0.2)


def test_bands_outside_do_not_count_and_those_inside_add_up() -> None:
    """4 and 19 kHz are neighbours of the outermost bands; 5.0 and 15.8 kHz lie in them."""
    tones = sum(
        sine(hz, 48_000, 10, level_dbfs=db) for hz, db in ((4000, -6), (19_500, -6), (5012, -20), (15_849, -20))
    )
    found = measured(np.asarray(tones) * [1.0, 1.0], 48_000)
    assert found.value("treble_peak_dbfs") == pytest.approx(-16.99, abs=0.2)


def test_a_low_rate_has_no_such_level() -> None:
    found = measured(noise(22_050, 5), 22_050)
    assert found["treble_peak_dbfs"].why_missing == "its sample rate leaves no room up to 16 kHz"


def test_the_error_of_the_treble_is_that_of_its_bands() -> None:
    """Of 6 dB louder and softer noise in turns, one band alone; of a steady tone in it, none."""
    t = np.arange(48_000 * 12) / 48_000
    tone = sine(10_000, 48_000, 12, level_dbfs=-20) * [1.0, 1.0]
    found = measured(tone, 48_000)
    assert found.value("treble_peak_se_db") < 0.01
    waving = tone * (1 + 0.5 * np.sin(2 * np.pi * 0.11 * t) ** 9)[:, None]
    found = measured(waving, 48_000)
    band = list(found.value("third_octave_hz")).index(10_000.0)
    assert found.value("treble_peak_se_db") == pytest.approx(found.value("third_octave_99_se_db")[band], rel=0.05)
    assert found.value("treble_peak_se_db") > 0.05
    assert found["third_octave_99_se_db"].exists
    assert measured(tone[: 5 * 48_000], 48_000)["treble_peak_se_db"].why_missing == "too short to tell"
